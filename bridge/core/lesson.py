"""The lesson as values: what the instructor set. Reading it from TOML is `bridge.lesson_file`'s job."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from bridge.core.alarm_given import AlarmGiven as AlarmGiven
from bridge.core.bands_given import BandsGiven as BandsGiven
from bridge.core.bands_given import bands_in
from bridge.core.calibration_given import CalibrationGiven as CalibrationGiven
from bridge.core.conversion_given import Conversion as Conversion
from bridge.core.conversion_given import ConversionStart as ConversionStart
from bridge.core.conversion_given import Divisor as Divisor

LayoutKind = Literal["columns", "pairs", "labels-after", "json", "record"]
TryBaud = Literal["ask", "itself"]
"""Whether a rate that was measured from the bytes is tried at once or when the instructor agrees."""

Shape = Literal["circle", "square", "triangle", "diamond", "cross", "bar", "ring", "star"]
# The Okabe-Ito set (2008), by its authors' names; reference/legibility lists the codes.
Colour = Literal[
    "orange", "sky blue", "bluish green", "yellow", "blue", "vermillion", "reddish purple", "black"
]


def _need(holds: bool, rule: str, found: object) -> None:
    """A value that exists is valid; the file's reader has found the fault before, in the file's own words."""
    if not holds:
        raise ValueError(f"{rule}, found {found!r}")


@dataclass(frozen=True, slots=True, kw_only=True)
class FieldSpec:
    """One named number of a line, as a layout given by hand describes it."""

    name: str
    label: str | None = None  # what the board prints beside it; None: the name itself
    unit: str = ""  # the unit it is printed in, when the text does not say
    decimals: int | None = None  # how many are printed: tells numbers without labels, in turn, apart


@dataclass(frozen=True, slots=True, kw_only=True)
class Layout:
    """How a line (or a group of lines) is read into named fields."""

    name: str
    kind: LayoutKind
    fields: tuple[FieldSpec, ...]
    separator: str = ","  # columns, and between pairs; " " stands for any run of blanks
    decimal_comma: bool = False
    thousands: str = ""  # the mark between groups of three digits: "," "." "'" or " "; "" for none
    # An example of what stands before or behind the fields and is left out; any digits for its digits.
    lead: str = ""
    tail: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Channel:
    """One quantity that every bench measures."""

    name: str
    quantity: str = ""
    unit: str = ""
    field: str | None = None  # the field that it is made from; None: the field of the same name
    conversion: str | None = None  # None: the printed value already stands in the unit
    low: float = 0.0  # ends of the gauge's scale, in the unit
    high: float = 100.0
    decimals: int = 1
    bands: BandsGiven | None = None
    phase_bands: tuple[BandsGiven, ...] = ()  # in their phases in place of `bands`, above the same baseline
    limits: tuple[AlarmGiven, ...] = ()

    def __post_init__(self) -> None:
        _need(not self.phase_bands or self.bands is not None, "phase_bands need bands", self.phase_bands)
        _need(all(one.phases for one in self.phase_bands), "phase_bands must name phases", self.phase_bands)
        _need(self.low < self.high, "low must be below high", (self.low, self.high))
        _need(0 <= self.decimals <= 6, "decimals must be from 0 to 6", self.decimals)

    def bands_in(self, phase: str) -> BandsGiven | None:
        """The bands that hold in a phase of the lesson ("": in none), None where there are none in it."""
        return bands_in(phase, self.bands, self.phase_bands)


@dataclass(frozen=True, slots=True, kw_only=True)
class BenchChannel:
    """What one bench does otherwise than the lesson's channel says."""

    channel: str
    field: str | None = None
    conversion: str | None = None
    gain: float = 1.0  # value = gain * converted + offset
    offset: float = 0.0  # in the channel's unit
    baseline: float | None = None
    calibration: CalibrationGiven | None = None  # comes last, after gain and offset

    def __post_init__(self) -> None:
        _need(self.gain != 0, "gain must not be 0", self.gain)


@dataclass(frozen=True, slots=True, kw_only=True)
class Bench:
    """A group's place."""

    number: int
    name: str
    shape: Shape
    colour: Colour
    row: int | None = None  # where the bench stands in the room, from 1; None: a plain grid
    place: int | None = None
    board: str | None = None  # USB serial number, "location:..." or a pyserial URL; None: any free board
    baud: int = 9600
    layout: str | None = None  # None: found from what the board prints
    pulse_dtr: bool = True  # opening a port restarts many boards; false leaves the line alone
    lines_per_second: float | None = None  # expected; None: as the lesson says
    channels: tuple[BenchChannel, ...] = ()

    def __post_init__(self) -> None:
        # Number and baud are held to a range where they come in: a recording or a port may bring others.
        _need((self.row is None) == (self.place is None), "row and place go together", (self.row, self.place))


@dataclass(frozen=True, slots=True, kw_only=True)
class Phase:
    """A named stretch of the lesson that the instructor starts, as "set-up" or "run"."""

    name: str
    note: str = ""
    lines_per_second: float | None = None  # expected of every board in it; None: as the lesson says


@dataclass(frozen=True, slots=True, kw_only=True)
class Lesson:
    """What the instructor set. Names are unique; every name that is used exists (the reader checks it)."""

    title: str
    note: str = ""
    lines_per_second: float | None = None  # that a board is expected to print; None: any
    try_baud: TryBaud = "ask"
    channels: tuple[Channel, ...] = ()  # none: every field that a board prints becomes a channel
    conversions: tuple[Conversion, ...] = ()
    layouts: tuple[Layout, ...] = ()
    benches: tuple[Bench, ...] = ()
    alarms: tuple[AlarmGiven, ...] = ()  # of a whole bench: on its findings
    phases: tuple[Phase, ...] = ()  # in their order; before the first is started there is none

    def bench(self, number: int) -> Bench:
        """The bench of that number, plain when the lesson does not name it."""
        return next((b for b in self.benches if b.number == number), plain_bench(number))

    def layout_of(self, bench: Bench) -> Layout | None:
        """The layout given by hand, None when it is to be found from the text."""
        return next((one for one in self.layouts if one.name == bench.layout), None)

    def phase(self, name: str) -> Phase | None:
        """The phase of that name, None when the lesson has none such."""
        return next((one for one in self.phases if one.name == name), None)

    def alarm(self, channel: str, key: str) -> AlarmGiven | None:
        """The alarm of that key: of a channel, or with channel "" of a whole bench."""
        given = self.alarms if not channel else next(
            (one.limits for one in self.channels if one.name == channel), ()
        )  # fmt: skip
        return next((one for one in given if one.key == key), None)

    def conversion(self, name: str | None) -> Conversion | None:
        """The conversion of that name, None for none."""
        return next((one for one in self.conversions if one.name == name), None)


@dataclass(frozen=True, slots=True)
class Mark:
    """Shape and colour: no two benches of the first 64 share both."""

    shape: Shape
    colour: Colour


_SHAPES: tuple[Shape, ...] = (
    "circle", "square", "triangle", "diamond", "cross", "bar", "ring", "star",
)  # fmt: skip
_COLOURS: tuple[Colour, ...] = (
    "orange", "sky blue", "bluish green", "reddish purple", "blue", "vermillion", "yellow", "black",
)  # fmt: skip


def mark_of(number: int) -> Mark:
    """The mark that a bench has when the lesson gives none."""
    i = number - 1
    return Mark(_SHAPES[i % 8], _COLOURS[(i + i // 8) % 8])


def plain_bench(number: int) -> Bench:
    """A bench that the lesson does not describe."""
    mark = mark_of(number)
    return Bench(number=number, name=f"Bench {number}", shape=mark.shape, colour=mark.colour)


OPEN_LESSON = Lesson(title="Open lesson")
"""No lesson given: every field that a board prints becomes a channel of its own name and unit."""
