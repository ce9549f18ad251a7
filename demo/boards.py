"""The eight simulated boards: what each prints, byte by byte, when. Pure: no port, no clock.

`steps_of(board)` gives a board's whole session as steps in order of time: portions of text as a serial
adapter hands them over, and the moments when its cable is pulled and put back. Every board has a seeded
generator of its own, so that a session comes out the same each time.
"""

from __future__ import annotations

import random
from collections.abc import Generator, Iterator
from dataclasses import dataclass, field
from typing import Literal, NamedTuple

from . import wording
from .cooling import Adc, Cup, LinearSensor, Pour, Probe, digital_celsius
from .faults import LESSON_SECONDS, FaultKind, KnownFault, faults_of
from .wire import BITS_A_BYTE, heard_at, portions, with_turned_bits

ROOM_CELSIUS = 20.5
IN_WATER_SECONDS = 4.0  # time constant of a sensor in water
IN_AIR_SECONDS = 14.0  # and hanging in the air
BOOT_SECONDS = 1.5  # silent after power comes
RESET_EVERY_SECONDS = 4.0
TURNED_SHARE = 0.02
OTHER_BAUD = 4800  # what the group with the wrong baud rate tries

MINUTE = 60.0


class Step(NamedTuple):
    """Something that a board does at a session time."""

    due_seconds: float
    data: bytes
    link: Literal["", "unplug", "plug"] = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Board:
    """One group's board, its sensor, its cup and its program."""

    bench: int
    cover: str
    cup: Cup
    words: wording.Wording
    greeting: str
    baud: int
    lines_per_second: float  # records, where a record has several lines
    adc: Adc | None = None  # None: a digital sensor
    sensor: LinearSensor = field(default_factory=LinearSensor)
    formula_volts: float | None = None  # a reference that the group wrongly computes with
    starts_on_opening: bool = True


def _cup(minutes: float, poured_at: float, celsius: float, *, room: float = ROOM_CELSIUS) -> Cup:
    pour = Pour(at_seconds=poured_at, celsius=celsius)
    return Cup(time_constant_seconds=minutes * MINUTE, room_celsius=room, pours=(pour,))


TEN_BIT_5 = Adc(width_bits=10, reference_volts=5.0)
TEN_BIT_3V3 = Adc(width_bits=10, reference_volts=3.3)
TWELVE_BIT_3V3 = Adc(width_bits=12, reference_volts=3.3)
(TOPPED_UP,) = faults_of(7, "topped up too warm")

BOARDS: tuple[Board, ...] = (
    Board(
        bench=1, cover="No cover", cup=_cup(13, 18, 45.0), words=wording.raw_count, greeting="",
        baud=9600, lines_per_second=2, adc=TEN_BIT_5, starts_on_opening=False,
    ),
    Board(
        bench=2, cover="Paper", cup=_cup(19, 16, 44.6), words=wording.three_columns,
        greeting="count, volts, degC\r\n", baud=9600, lines_per_second=1, adc=TEN_BIT_5,
        sensor=LinearSensor(error_celsius=0.6),
    ),
    Board(
        bench=3, cover="Foil", cup=_cup(25, 21, 45.3), words=wording.names_first,
        greeting="\r\nFoil group, program 3\r\n", baud=9600, lines_per_second=2, adc=TEN_BIT_3V3,
        sensor=LinearSensor(offset_volts=0.5),
    ),
    Board(
        bench=4, cover="Wool", cup=_cup(46, 15, 44.8), words=wording.labels_after,
        greeting="Hello from the wool bench\r\n", baud=57600, lines_per_second=4, adc=TWELVE_BIT_3V3,
        formula_volts=5.0,
    ),
    Board(
        bench=5, cover="Bubble wrap", cup=_cup(38, 19, 45.1), words=wording.json_object,
        greeting='{"hello": "bubble wrap"}\n', baud=115200, lines_per_second=5, adc=TWELVE_BIT_3V3,
    ),
    Board(
        bench=6, cover="Two cups", cup=_cup(60, 22, 45.2), words=wording.several_lines,
        greeting="Two cups, one inside the other\r\n", baud=9600, lines_per_second=1,
    ),
    Board(
        bench=7, cover="Cork lid",
        cup=Cup(
            time_constant_seconds=33 * MINUTE, room_celsius=ROOM_CELSIUS,
            pours=(
                Pour(at_seconds=17, celsius=44.9),
                Pour(at_seconds=TOPPED_UP.from_seconds, celsius=47.6),
            ),
        ),
        words=wording.decimal_comma, greeting="count;volts;degC\r\n",
        baud=19200, lines_per_second=2, adc=TWELVE_BIT_3V3,
    ),
    Board(
        bench=8, cover="Newspaper", cup=_cup(29, 20, 44.7, room=19.5), words=wording.tabs_with_clock,
        greeting="ms\tcount\tdegC\r\n", baud=38400, lines_per_second=3, adc=TWELVE_BIT_3V3,
    ),
)  # fmt: skip


def board_of(bench: int) -> Board:
    """The board of a bench."""
    return next(board for board in BOARDS if board.bench == bench)


class _Run:
    """A board while it runs: its program's state, its sensor's temperature, the wire's beat."""

    def __init__(self, board: Board, faults: tuple[KnownFault, ...]) -> None:
        self.board = board
        self.faults = faults
        self.chance = random.Random(8000 + board.bench)  # noqa: S311 - noise, no secret
        self.probe = Probe(board.cup.room_celsius)
        self.probe_at = 0.0
        self.started_at = -30.0  # a board that is not restarted has run for a while
        self.number = 60
        self.floating_volts = 0.4
        self.phase_seconds = self.chance.random() * 0.016
        self.drift = 1 + self.chance.uniform(-0.003, 0.003)  # of the board's own clock

    def has(self, kind: FaultKind, at: float) -> bool:
        return any(fault.kind == kind and fault.is_on(at) for fault in self.faults)

    def start(self, at: float) -> float:
        """Power comes: the program begins anew. Gives the time at which it can print."""
        self.started_at, self.number = at, 0
        return at + BOOT_SECONDS

    def next_at(self, at: float) -> float:
        """When the next line is begun: the program's pause, its small jitter, now and then a slow pass."""
        slow = 0.015 if self.chance.random() < 0.05 else 0.0
        jitter = abs(self.chance.gauss(0.0, 0.0015))
        return at + self.drift / self.board.lines_per_second + jitter + slow

    def celsius(self, at: float) -> float:
        """The sensor's own temperature, after having followed its surroundings up to now."""
        while self.probe_at < at:
            step = min(0.25, at - self.probe_at)
            self.probe_at += step
            in_air = self.has("sensor lifted out", self.probe_at)
            cup = self.board.cup
            self.probe.follow(
                cup.room_celsius if in_air else cup.water_celsius(self.probe_at),
                for_seconds=step,
                time_constant_seconds=IN_AIR_SECONDS if in_air else IN_WATER_SECONDS,
            )
        return self.probe.celsius

    def pin_volts(self, at: float) -> float:
        """The voltage on the pin; on a floating one it wanders."""
        warm = self.celsius(at)
        if self.has("pin disconnected", at):
            self.floating_volts += self.chance.gauss(0.0, 0.25) + 0.15 * (1.1 - self.floating_volts)
            self.floating_volts = abs(self.floating_volts)
            return self.floating_volts
        return self.board.sensor.volts(warm, self.chance)

    def sample(self, at: float) -> wording.Sample:
        """Measure, and compute as the group's program does."""
        self.number += 1
        clock_ms = int((at - self.started_at) * 1000 / self.drift)
        room = digital_celsius(self.board.cup.room_celsius, self.chance)
        adc = self.board.adc
        if adc is None:
            celsius = digital_celsius(self.celsius(at), self.chance)
            return wording.Sample(self.number, clock_ms, 0, 0.0, celsius, room)
        count = adc.count(self.pin_volts(at))
        wrong = self.board.formula_volts if self.has("wrong reference", at) else None
        reference = wrong or adc.reference_volts
        volts = count * reference / 2**adc.width_bits
        if self.has("integer division", at):
            volts = float(count * int(reference) // 2**adc.width_bits)
        celsius = (volts - self.board.sensor.offset_volts) / self.board.sensor.volts_per_celsius
        return wording.Sample(self.number, clock_ms, count, volts, celsius, room)

    def text(self, at: float) -> bytes:
        """One line (or record) as it leaves the board."""
        text = self.board.words(self.sample(at))
        if self.has("no line end", at):
            text = text.replace("\r\n", " ")
        return text.encode("ascii")

    def sends(self, data: bytes, at: float) -> Iterator[Step]:
        """Bytes over the wire, with what happens to them there."""
        baud = self.board.baud
        if self.has("wrong baud", at):
            data = heard_at(data, sent_baud=OTHER_BAUD, read_baud=baud)
            baud = OTHER_BAUD
        if self.has("damaged bytes", at):
            data = with_turned_bits(data, share=TURNED_SHARE, chance=self.chance)
        for due, portion in portions(data, from_seconds=at, baud=baud, phase_seconds=self.phase_seconds):
            yield Step(due, portion)

    def breaks(self) -> list[tuple[float, float, FaultKind]]:
        """When the board loses its power and gets it back, in order."""
        found: list[tuple[float, float, FaultKind]] = []
        for fault in self.faults:
            if fault.kind == "unplugged":
                found.append((fault.from_seconds, fault.to_seconds, fault.kind))
            elif fault.kind == "resetting":
                n = int((fault.to_seconds - fault.from_seconds) / RESET_EVERY_SECONDS) + 1
                times = [fault.from_seconds + k * RESET_EVERY_SECONDS for k in range(n)]
                found += [(at, at, fault.kind) for at in times]
        return sorted(found)


def steps_of(
    board: Board, *, faults: tuple[KnownFault, ...] | None = None, until_seconds: float = LESSON_SECONDS
) -> Iterator[Step]:
    """A board's session from 0 on: what it prints and when its cable is pulled.

    Args:
        board: Which one.
        faults: What goes wrong; None for what the table of known faults says of its bench.
        until_seconds: No line is begun at or after this session time.

    Yields:
        Steps in order of time.
    """
    run = _Run(board, faults_of(board.bench) if faults is None else faults)
    breaks = run.breaks()
    if board.starts_on_opening:
        at = run.start(0.0)
        yield from run.sends(board.greeting.encode(), at - 0.2)
    else:
        at = 0.4
        yield from run.sends(run.text(0.15)[1:], 0.15)
    while at < until_seconds:
        if breaks and at >= breaks[0][0]:
            gone, back, kind = breaks.pop(0)
            at = yield from _broken(run, max(gone, at - 0.1), back, kind)
            continue
        if not run.has("quiet", at):
            yield from run.sends(run.text(at), at)
        at = run.next_at(at)


def _broken(run: _Run, gone: float, back: float, kind: FaultKind) -> Generator[Step, None, float]:
    """Half a line, then no power; it comes back and the program greets. Gives the next line's time."""
    text = run.text(gone)
    half = text[: len(text) // 2]
    yield from run.sends(half, gone)
    off = gone + len(half) * BITS_A_BYTE / run.board.baud + 0.02
    on = max(off, back)
    if kind == "unplugged":
        yield Step(off, b"", "unplug")
        yield Step(on, b"", "plug")
    at = run.start(on)
    # Pins swing when the power comes back: the receiver takes that for a zero byte.
    yield from run.sends(b"\0" + run.board.greeting.encode(), at - 0.2)
    return at
