"""Wordings as groups write them, and what must come of each.

Each is a text with places for numbers; `STREAMS` has what can't be made from a text and numbers alone.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

COUNTS = (512, 513, 509, 515, 511, 514, 508, 512)
VOLTS = (2.5, 2.505, 2.485, 2.515, 2.495, 2.51, 2.48, 2.5)
DEGREES = (25.0, 25.05, 24.85, 25.15, 24.95, 25.1, 24.8, 25.0)
PERCENT = (45.3, 45.1, 44.9, 45.6, 45.2, 45.0, 44.7, 45.1)
MILLIS = (1000, 2001, 3001, 4002, 5003, 6003, 7004, 8004)


class Seen(NamedTuple):
    """One wording and what it must be read as."""

    words: str  # how a person would say it
    form: str  # one line, `str.format` with the row's numbers
    columns: Sequence[Sequence[float]]
    names: tuple[str, ...]
    units: tuple[str, ...] = ()  # () for none
    kind: str = "columns"
    comma: bool = False  # its decimal points become commas


C, V, T, H, M = COUNTS, VOLTS, DEGREES, PERCENT, MILLIS

LINES = (
    Seen("a bare count", "{}", [C], ("value",)),
    Seen("a number with its unit", "{:.1f} C", [T], ("value",), ("°C",)),
    Seen("a glued unit", "{:.1f}C", [T], ("value",), ("°C",)),
    Seen(
        "three glued units",
        "{:.1f}C,{}mV,{:.0f}%",
        [T, C, H],
        ("column 1", "column 2", "column 3"),
        ("°C", "mV", "%"),
    ),
    Seen("commas", "{},{:.3f},{:.2f}", [C, V, T], ("column 1", "column 2", "column 3")),
    Seen("commas with blanks", "{}, {:.3f}, {:.2f}", [C, V, T], ("column 1", "column 2", "column 3")),
    Seen("semicolons", "{};{:.3f};{:.2f}", [C, V, T], ("column 1", "column 2", "column 3")),
    Seen(
        "semicolons, decimal comma",
        "{};{:.3f};{:.2f}",
        [C, V, T],
        ("column 1", "column 2", "column 3"),
        comma=True,
    ),
    Seen("tabs", "{}\t{}\t{:.2f}", [M, C, T], ("column 1", "column 2", "column 3")),
    Seen("bars", "{} | {:.3f} | {:.2f}", [C, V, T], ("column 1", "column 2", "column 3")),
    Seen("blanks", "{} {:.3f}  {:.2f}", [C, V, T], ("column 1", "column 2", "column 3")),
    Seen(
        "blanks, decimal comma",
        "{:.2f} {:.2f} {:.1f}",
        [T, V, H],
        ("column 1", "column 2", "column 3"),
        comma=True,
    ),
    Seen("commas with blanks, decimal comma", "{:.2f}, {:.1f}", [T, H], ("column 1", "column 2"), comma=True),
    Seen("colons", "{}:{:.2f}:{:.1f}", [C, V, T], ("column 1", "column 2", "column 3")),
    Seen("strokes", "{}/{:.2f}", [C, V], ("column 1", "column 2")),
    Seen("a separator at the end", "{},{:.2f},", [C, V], ("column 1", "column 2")),
    Seen("a printed pair", "({}, {:.2f})", [C, V], ("column 1", "column 2")),
    Seen("a printed list", "[{}, {:.2f}]", [C, V], ("column 1", "column 2")),
    Seen("a word before columns", "DATA,{},{:.2f}", [C, T], ("column 1", "column 2")),
    Seen(
        "a title before columns",
        "Reading: {}, {:.2f} V, {:.1f} C",
        [C, V, T],
        ("column 1", "column 2", "column 3"),
        ("", "V", "°C"),
    ),
    Seen("volts in brackets", "{} ({:.2f} V)", [C, V], ("column 1", "column 2"), ("", "V")),
    Seen("label and value", "Temp: {:.2f} C", [T], ("Temp",), ("°C",), "pairs"),
    Seen("no blank anywhere", "Temp:{:.2f}", [T], ("Temp",), (), "pairs"),
    Seen(
        "key and value",
        "raw={}, volts={:.3f}, temp={:.1f}",
        [C, V, T],
        ("raw", "volts", "temp"),
        ("", "V", ""),
        "pairs",
    ),
    Seen(
        "key and value between blanks",
        "raw={} u={:.3f}V t={:.1f}C",
        [C, V, T],
        ("raw", "u", "t"),
        ("", "V", "°C"),
        "pairs",
    ),
    Seen(
        "labels and decimal comma",
        "Temp: {:.2f} C; Hum: {:.1f} %",
        [T, H],
        ("Temp", "Hum"),
        ("°C", "%"),
        "pairs",
        True,
    ),
    Seen(
        "labels, commas and decimal comma",
        "Temp: {:.2f} C, Hum: {:.1f} %",
        [T, H],
        ("Temp", "Hum"),
        ("°C", "%"),
        "pairs",
        True,
    ),
    Seen("labels that touch", "Temp:{:.1f}Hum:{:.1f}", [T, H], ("Temp", "Hum"), (), "pairs"),
    Seen(
        "labels of two words",
        "Water temp: {:.2f} C, Room hum: {:.1f} %",
        [T, H],
        ("Water temp", "Room hum"),
        ("°C", "%"),
        "pairs",
    ),
    Seen("bars between labels", "T: {:.1f} C | H: {:.1f} %", [T, H], ("T", "H"), ("°C", "%"), "pairs"),
    Seen("tabs between labels", "T: {:.1f}\tH: {:.1f}", [T, H], ("T", "H"), (), "pairs"),
    Seen("an arrow", "Temp -> {:.1f}", [T], ("Temp",), (), "pairs"),
    Seen("words without signs", "T {:.1f} H {:.1f}", [T, H], ("T", "H"), (), "pairs"),
    Seen(
        "a sentence",
        "The temperature is {:.1f} degrees and the humidity is {:.0f} %",
        [T, H],
        ("temperature", "humidity"),
        ("°", "%"),
        "pairs",
    ),
    Seen("labels of pins", "A0: {} A1: {}", [C, M], ("A0", "A1"), (), "pairs"),
    Seen("a label and commas for columns", "temp,{:.2f}", [T], ("temp",), (), "pairs"),
    Seen("a star for the degree", "Temp = {:.1f} *C", [T], ("Temp",), ("°C",), "pairs"),
    Seen("a full stop", "Temp: {:.1f} C.", [T], ("Temp",), ("°C",), "pairs"),
    Seen("a word behind", "Temp: {:.1f} C OK", [T], ("Temp",), ("°C",), "pairs"),
    Seen("a word among the pairs", "LED: on, Temp: {:.1f}", [T], ("Temp",), (), "pairs"),
    Seen("a clock text before labels", "12:30:05 Temp: {:.1f}", [T], ("Temp",), (), "pairs"),
    Seen("a date before columns", "2024-05-01 12:30:05,{},{:.2f}", [C, T], ("column 1", "column 2")),
    Seen("a number in brackets before labels", "[123] T={:.1f}", [T], ("T",), (), "pairs"),
    Seen("a prompt before labels", "> T: {:.1f}", [T], ("T",), (), "pairs"),
    Seen(
        "milliseconds before labels", "{} T: {:.1f} H: {:.1f}", [M, T, H], ("number", "T", "H"), (), "pairs"
    ),
    Seen(
        "labels behind",
        "{} raw {:.3f} volts {:.1f} temp",
        [C, V, T],
        ("raw", "volts", "temp"),
        ("", "V", ""),
        "labels-after",
    ),
    Seen("units behind", "{:.2f} V {:.1f} %", [V, H], ("column 1", "column 2"), ("V", "%")),
    Seen("a JSON object", '{{"raw": {}, "t": {:.2f}}}', [C, T], ("raw", "t"), (), "json"),
    Seen(
        "a JSON object in another", '{{"n": {}, "air": {{"t": {:.2f}}}}}', [C, T], ("n", "air.t"), (), "json"
    ),
    Seen("a word before a JSON object", 'data: {{"t": {:.2f}}}', [T], ("t",), (), "json"),
    Seen(
        "tabs everywhere", "Temp:\t{:.1f}\t°C\tHum:\t{:.0f}\t%", [T, H], ("Temp", "Hum"), ("°C", "%"), "pairs"
    ),
    Seen(
        "volts in brackets behind a label",
        "Raw={} ({:.2f}V) Temp={:.1f}C",
        [C, V, T],
        ("Raw", "Temp"),
        ("", "°C"),
        "pairs",
    ),
    Seen("degrees in words", "temperature = {:.2f} degrees C", [T], ("temperature",), ("°C",), "pairs"),
    Seen("a logger's lead", "I (1234) main: temp={:.1f} hum={:.0f}", [T, H], ("temp", "hum"), (), "pairs"),
    Seen(
        "a word and bars",
        "raw {} | {:.2f} V | {:.1f} °C",
        [C, V, T],
        ("column 1", "column 2", "column 3"),
        ("", "V", "°C"),
    ),
    Seen("numbers in quotes", '"{:.2f}","{:.1f}"', [T, H], ("column 1", "column 2")),
    Seen(
        "two units of one quantity",
        "Temp: {:.1f} C / {:.1f} F",
        [T, H],
        ("column 1", "column 2"),
        ("°C", "°F"),
    ),
    Seen("thousands and points", "P: {:,.1f} hPa", [tuple(c * 2.0 for c in C)], ("P",), ("hPa",), "pairs"),
)


class Stream(NamedTuple):
    """Whole lines and the rows that must come of them."""

    words: str
    lines: Sequence[str]
    rows: Sequence[Sequence[float]]
    names: tuple[str, ...] = ()
    doubt: str = ""  # a piece of the doubt that is told; nothing is read then
    fault: str = ""  # a piece of the fault that is told; nothing is read then


def _turns(*columns: Sequence[str], between: Sequence[str] = ()) -> list[str]:
    return [text for row in zip(*columns, strict=True) for text in (*between, *row)]


_C, _V, _T = [f"{c}" for c in C], [f"{v:.2f}" for v in V], [f"{t:.1f}" for t in T]
_ROWS = [(float(c), float(v), float(t)) for c, v, t in zip(_C, _V, _T, strict=True)]

STREAMS = (
    Stream(
        "a greeting, a heading, then columns",
        ["cup logger v2 ready", "raw,volts,temp (C)", *(",".join(r) for r in zip(_C, _V, _T, strict=True))],
        _ROWS, ("raw", "volts", "temp"),
    ),
    Stream(
        "a heading behind a number sign",
        ["# raw; volts; temp", *(";".join(r) for r in zip(_C, _V, _T, strict=True))],
        _ROWS, ("raw", "volts", "temp"),
    ),
    Stream(
        "a boot log with numbers",
        ["rst:0x1 (POWERON_RESET),boot:0x13", "configsip: 0, SPIWP:0xee", "mode:DIO, clock div:1",
         "load:0x3fff0030,len:1184", "load:0x40078000,len:13132", "load:0x40080400,len:3036",
         "entry 0x400805e4",
         *(f"raw: {c}, t: {t}" for c, t in zip(_C, _T, strict=True))],
        [(row[0], row[2]) for row in _ROWS], ("raw", "t"),
    ),
    Stream(
        "labels on lines of their own values",
        _turns([f"raw: {c}" for c in C], [f"volts: {v:.2f}" for v in V], [f"temp: {t:.1f} C" for t in T]),
        _ROWS, ("raw", "volts", "temp"),
    ),
    Stream(
        "records with a line of strokes between",
        _turns([f"raw: {c}" for c in C], [f"temp: {t:.1f} C" for t in T], between=["--------"]),
        [(row[0], row[2]) for row in _ROWS], ("raw", "temp"),
    ),
    Stream(
        "a label on the line above each value",
        [text for c, t in zip(_C, _T, strict=True) for text in ("Raw:", c, "Temperature:", t)],
        [(row[0], row[2]) for row in _ROWS], ("Raw", "Temperature"),
    ),
    Stream(
        "values with units, a line each",
        _turns([f"{v:.2f} V" for v in V], [f"{t:.1f} C" for t in T]),
        [row[1:] for row in _ROWS], ("V", "C"),
    ),
    Stream(
        "values with labels behind, a line each",
        _turns([f"{c} raw" for c in C], [f"{t:.1f} temp" for t in T]),
        [(row[0], row[2]) for row in _ROWS], ("raw", "temp"),
    ),
    Stream(
        "bare values in turn, strokes between",
        _turns(_C, _V, _T, between=["---"]), _ROWS, ("line 1", "line 2", "line 3"),
    ),
    Stream("bare values in turn", _turns(_C, _V, _T), (), doubt="Every 3 lines"),
    Stream("a comma that may be a decimal sign, twice", ["45,00,55,1", "44,88,55,0", "44,75,54,8"] * 3, (),
           doubt="two ways"),
    Stream("a whole part that never changes", ["23,51", "23,48", "23,47", "23,50", "23,49"] * 4, (),
           doubt="two ways"),
    Stream("thousands or decimals", ["R: 1,013 ohm", "R: 1,014 ohm", "R: 1,012 ohm"] * 7, (),
           doubt="two ways"),
    Stream(
        "thousands, seen when the number passes one",
        ["R: 1,013 ohm", "R: 998 ohm", "R: 1,002 ohm", "R: 989 ohm"],
        [(1013,), (998,), (1002,), (989,)], ("R",),
    ),
    Stream("thousands by apostrophes", ["1'013", "1'015", "998"], [(1013,), (1015,), (998,)], ("value",)),
    Stream("points between thousands, decimal comma", ["1.013,5 hPa", "1.012,9 hPa", "998,7 hPa"],
           [(1013.5,), (1012.9,), (998.7,)], ("value",)),
    Stream("three decimals and a whole number", ["2.505,513", "2.500,512", "2.485,509"],
           [(2.505, 513), (2.5, 512), (2.485, 509)], ("column 1", "column 2")),
    Stream("a point, a comma and one unit", ["1.013,5 hPa", "1.012,9 hPa", "1.012,7 hPa"], (),
           doubt="two ways"),
    Stream("a bare number with blanks between thousands", ["1 013,5", "1 012,9", "998,7"],
           [(1013.5,), (1012.9,), (998.7,)], ("value",)),
    Stream("a blank that may stand between thousands", ["1 213,5", "1 212,9", "1 215,2"] * 3, (),
           doubt="two ways"),
    Stream("a running number and a decimal comma", ["1 213,5", "2 212,9", "3 215,2"],
           [(1, 213.5), (2, 212.9), (3, 215.2)], ("column 1", "column 2")),
    Stream("blanks between thousands", ["P: 1 013,5 hPa", "P: 1 012,9 hPa", "P: 998,7 hPa"],
           [(1013.5,), (1012.9,), (998.7,)], ("P",)),
    Stream("a decimal comma alone", ["23,98", "24,03", "24,07", "24,02", "23,97", "23,95", "24,01"],
           [(23.98,), (24.03,), (24.07,), (24.02,), (23.97,), (23.95,), (24.01,)], ("value",)),
    Stream("a running number before a whole one", ["1,45", "2,45", "3,44"], [(1, 45), (2, 45), (3, 44)],
           ("column 1", "column 2")),
    Stream("two whole numbers", [f"{c + i},{498 + i % 5}" for i, c in enumerate(C * 2)],
           [(c + i, 498 + i % 5) for i, c in enumerate(C * 2)], ("column 1", "column 2")),
    Stream("two numbers without a separator", ["2.5125.1", "2.5225.2", "2.5125.0", "2.5024.9"], (),
           fault="run together"),
    Stream("nothing but words", ["hello", "sensor not found", "retrying"] * 5, ()),
)  # fmt: skip
