"""Every key of a lesson file: what it means, what it takes, what holds without it."""

from __future__ import annotations

from typing import get_args

from bridge.core.lesson import Colour, LayoutKind, Shape, TryBaud
from bridge.core.printed import THOUSANDS
from bridge.lesson_alarm_keys import ALARM_KEYS, BAND_KEYS, LIMIT_KEYS, MAX_LINES_PER_SECOND, PHASE_KEYS
from bridge.lesson_calibration_keys import CALIBRATION_KEYS
from bridge.lesson_conversion_keys import CONVERSION_KEYS
from bridge.lesson_key import REQUIRED as REQUIRED
from bridge.lesson_key import Key as Key
from bridge.lesson_words import as_toml

MAX_BENCHES = 64  # as many as there are marks
MAX_DECIMALS = 6


KEYS: tuple[Key, ...] = (
    Key(path="title", kind="name", default=REQUIRED, meaning="What the lesson is called on every page.",
        example='title = "Which cover keeps the cup warm?"'),
    Key(path="note", kind="text", default="",
        meaning="Anything that the class or the next instructor should know.",
        example='note = "Warm tap water, about 45 °C"'),
    Key(path="lines_per_second", kind="number", default=None, above=0, most=MAX_LINES_PER_SECOND,
        meaning="How many lines a board should print in a second; a bench may have its own.",
        example="lines_per_second = 10.0", absent="no rate is expected"),
    Key(path="try_baud", kind="word", default="ask", words=get_args(TryBaud), example='try_baud = "itself"',
        meaning="When the bytes show that a board sends at another rate: ask before it is tried, or try it "
        "at once."),
    Key(path="channel", kind="tables", default=None, example="[[channel]]",
        meaning="One quantity that every bench measures; one table for each.",
        absent="every number that a board prints becomes a channel"),
    Key(path="channel.name", kind="name", default=REQUIRED, meaning="The channel's name; each only once.",
        example='name = "temperature"'),
    Key(path="channel.quantity", kind="text", default="",
        meaning="The quantity in words, for axes and tables.", example='quantity = "temperature"'),
    Key(path="channel.unit", kind="text", default="", example='unit = "°C"',
        meaning="The unit of the value; needed where a conversion is used."),
    Key(path="channel.field", kind="name", default=None,
        meaning="The printed number that the channel is made from.", example='field = "raw"',
        absent="the field that has the channel's name"),
    Key(path="channel.conversion", kind="name", default=None,
        meaning="The conversion from that number to the unit.", example='conversion = "sensor"',
        absent="the printed number already stands in the unit"),
    Key(path="channel.low", kind="number", default=0.0, meaning="Low end of the gauge's scale, in the unit.",
        example="low = 15.0"),
    Key(path="channel.high", kind="number", default=100.0, example="high = 55.0",
        meaning="High end of the gauge's scale, in the unit; above low."),
    Key(path="channel.decimals", kind="whole number", default=1, least=0, most=MAX_DECIMALS,
        meaning="Digits after the decimal sign on the screens.", example="decimals = 1"),
    *BAND_KEYS,
    *LIMIT_KEYS,
    *CONVERSION_KEYS,
    Key(path="layout", kind="tables", default=None, example="[[layout]]",
        meaning="How a line is read into named fields; one table for each wording.",
        absent="found from what the board prints"),
    Key(path="layout.name", kind="name", default=REQUIRED,
        meaning="The name that benches use; each only once.", example='name = "labelled"'),
    Key(path="layout.kind", kind="word", default=REQUIRED, words=get_args(LayoutKind),
        example='kind = "pairs"',
        meaning="Columns by a separator, `label: value` pairs, values with the label behind, one JSON "
        "object a line, or several lines that make one record."),
    Key(path="layout.fields", kind="fields", default=REQUIRED,
        example='fields = ["raw", { name = "temperature", label = "Temp" }]',
        meaning="The fields in their order: a name, or a table with the keys below."),
    Key(path="layout.fields.name", kind="name", default=REQUIRED,
        meaning="The field's name; each only once in a layout.", example='{ name = "temperature" }'),
    Key(path="layout.fields.label", kind="text", default=None,
        meaning='What the board prints beside the number; "" for a number without a label.',
        example='{ name = "temperature", label = "Temp" }', absent="the name itself"),
    Key(path="layout.fields.unit", kind="text", default="",
        meaning="The unit it is printed in, where the text does not say.",
        example='{ name = "temperature", unit = "°C" }'),
    Key(path="layout.fields.decimals", kind="whole number", default=None, least=0, most=9,
        meaning="How many decimals are printed: tells numbers without labels, one a line in turn, apart.",
        example='{ name = "volts", label = "", decimals = 2 }', absent="any number of them"),
    Key(path="layout.separator", kind="text", default=",", example='separator = ";"',
        meaning='What stands between columns or pairs; " " is any run of blanks.'),
    Key(path="layout.decimal_comma", kind="true or false", default=False, example="decimal_comma = true",
        meaning="The board prints 21,5 for 21.5."),
    Key(path="layout.thousands", kind="word", default="", words=("", *THOUSANDS), example='thousands = ","',
        meaning="The mark between groups of three digits."),
    Key(path="layout.lead", kind="text", default="", example='lead = "[12:30:05]"',
        meaning="An example of what stands before the fields and is left out; its digits stand for any."),
    Key(path="layout.tail", kind="text", default="", example='tail = "]"',
        meaning="The same for what stands behind the last field."),
    Key(path="bench", kind="tables", default=None, example="[[bench]]",
        meaning=f"A group's place; one table for each, at most {MAX_BENCHES}.",
        absent="benches are numbered as boards turn up"),
    Key(path="bench.number", kind="whole number", default=REQUIRED, least=1, most=MAX_BENCHES,
        example="number = 1", meaning="The bench's number; each only once."),
    Key(path="bench.name", kind="name", default=None, meaning="What is on its card; each only once.",
        example='name = "No cover"', absent='"Bench" and the number'),
    Key(path="bench.shape", kind="word", default=None, words=get_args(Shape), example='shape = "circle"',
        meaning="Shape of its mark; no two benches share shape and colour.", absent="chosen by the number"),
    Key(path="bench.colour", kind="word", default=None, words=get_args(Colour), example='colour = "orange"',
        meaning="Colour of its mark.", absent="chosen by the number"),
    Key(path="bench.row", kind="whole number", default=None, least=1, most=MAX_BENCHES, example="row = 1",
        meaning="The row in the room, counted from the front; together with place.", absent="a plain grid"),
    Key(path="bench.place", kind="whole number", default=None, least=1, most=MAX_BENCHES, example="place = 1",
        meaning="The place in that row, counted from the left; one bench to a place.", absent="a plain grid"),
    Key(path="bench.board", kind="name", default=None, example='board = "location:1-1.2"',
        meaning="Its board: USB serial number, `location:` and where it is plugged in, or the port's name"
        " or URL.", absent="any board that is free"),
    Key(path="bench.baud", kind="whole number", default=9600, least=300, most=4_000_000,
        example="baud = 9600", meaning="Bits per second, as in the board's program."),
    Key(path="bench.layout", kind="name", default=None, example='layout = "labelled"',
        meaning="How its lines are read.", absent="found from what the board prints"),
    Key(path="bench.pulse_dtr", kind="true or false", default=True, example="pulse_dtr = false",
        meaning="Opening the port restarts many boards; false leaves them running."),
    Key(path="bench.lines_per_second", kind="number", default=None, above=0, most=MAX_LINES_PER_SECOND,
        meaning="How many lines its board should print in a second.", example="lines_per_second = 10.0",
        absent="as the top of the file says"),
    Key(path="bench.channel", kind="tables by name", default=None, example="[bench.channel.temperature]",
        meaning="What this bench does otherwise; one table for each channel.", absent="as the channel says"),
    Key(path="bench.channel.*.field", kind="name", default=None, meaning="The printed number, on this bench.",
        example='field = "raw"', absent="as the channel says"),
    Key(path="bench.channel.*.conversion", kind="name", default=None,
        meaning="The conversion, on this bench.", example='conversion = "sensor"',
        absent="as the channel says"),
    Key(path="bench.channel.*.gain", kind="number", default=1.0, example="gain = 1.02",
        meaning="Value = gain × converted + offset; never 0."),
    Key(path="bench.channel.*.offset", kind="number", default=0.0, example="offset = -0.4",
        meaning="The same formula's offset, in the unit."),
    Key(path="bench.channel.*.baseline", kind="number", default=None, example="baseline = 20.5",
        meaning="This bench's own baseline, in the unit.", absent="as the channel's bands say"),
    *CALIBRATION_KEYS,
    *ALARM_KEYS,
    *PHASE_KEYS,
)  # fmt: skip

KEY_OF: dict[str, Key] = {key.path: key for key in KEYS}


def names_in(table: str) -> tuple[str, ...]:
    """The keys that may stand in the table of that path."""
    return tuple(key.name for key in KEYS if key.table == table)


def header_of(table: str) -> str:
    """How a table is opened in the file: `[[channel]]`, `[channel.bands]`, `[bench.channel.NAME]`."""
    if table == "layout.fields":
        return "fields"
    many = (table in KEY_OF) and KEY_OF[table].kind == "tables"
    return f"[[{table}]]" if many else f"[{table.replace('*', 'NAME')}]"


def keys_as_markdown() -> str:
    """The whole table for the README: one part for each table of the file."""
    parts = []
    for table in dict.fromkeys(key.table for key in KEYS):
        rows = [_row(key) for key in KEYS if key.table == table]
        head = "At the top of the file" if not table else _heading(table)
        parts.append(
            "\n".join(
                (f"**{head}**", "", "| key | takes | without it | meaning |", "|---|---|---|---|", *rows)
            )
        )
    return "\n\n".join(parts) + "\n"


def _heading(table: str) -> str:
    return "A table inside `fields`" if table == "layout.fields" else f"`{header_of(table)}`"


def _row(key: Key) -> str:
    if key.default is REQUIRED:
        without = "it must be there"
    elif key.default is None:
        without = key.absent
    else:
        without = "nothing" if key.default == "" else f"`{as_toml(key.default)}`"
    takes = (
        " or ".join(f"`{as_toml(word)}`" for word in key.words)
        or " ".join((key.kind, key.range_words)).strip()
    )
    return f"| `{key.name}` | {takes} | {without} | {key.meaning} Example: `{key.example}` |"
