"""A bench as the pipeline has it: bytes are framed and read by a layout, and all is told to its health."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from bridge.core.exact import Values
from bridge.core.findings import FindingChange
from bridge.core.framing import Framer, Line
from bridge.core.health import BenchHealth, ChannelSeen
from bridge.core.layouts import LayoutReader, reader_for
from bridge.core.lesson import FieldSpec, Layout
from bridge.core.roles import Role

SECOND = 1_000_000_000
Step = tuple[float, bytes]


def seen(
    name: str,
    index: int,
    role: Role = "",
    *,
    unit: str = "",
    bits: int = 0,
    rails: tuple[float | None, float | None] | None = None,
    step: float = 1.0,
) -> ChannelSeen:
    """A field with the usual rails of its kind."""
    if rails is None:
        rails = (0.0, 2.0**bits - 1) if role == "count" and bits else (None, None)
    low, high = rails
    return ChannelSeen(
        name=name, index=index, unit=unit, role=role, width_bits=bits, low_rail=low, high_rail=high, step=step
    )


def count(name: str = "raw", index: int = 0, *, bits: int = 10) -> ChannelSeen:
    return seen(name, index, "count", bits=bits)


def volts(name: str = "volts", index: int = 1, *, reference: float = 5.0, step: float = 0.001) -> ChannelSeen:
    return seen(name, index, "volts", unit="V", rails=(0.0, reference), step=step)


def celsius(name: str = "celsius", index: int = 0, *, step: float = 0.01) -> ChannelSeen:
    return seen(name, index, "value", unit="°C", step=step)


def columns(n: int, separator: str = ",") -> Layout:
    """A layout of so many columns."""
    names = tuple(FieldSpec(name=f"column {i + 1}") for i in range(n))
    return Layout(name="columns", kind="columns", fields=names, separator=separator)


@dataclass
class Watched:
    """What was told about a bench."""

    changes: list[FindingChange] = field(default_factory=list)

    @property
    def kinds(self) -> list[tuple[str, str]]:
        """Kind and channel of everything that was found, in order."""
        return [(one.finding.kind, one.finding.channel) for one in self.changes if one.event == "found"]

    @property
    def events(self) -> list[tuple[float, str, str, str]]:
        return [(one.at_ns / 1e9, one.event, one.finding.kind, one.finding.channel) for one in self.changes]

    def at(self, event: str, kind: str) -> float:
        """When the first such thing happened, in s."""
        return next(at for at, what, which, _ in self.events if (what, which) == (event, kind))


class HealthBench:
    """Does what the pipeline does between a port and the health of a board."""

    def __init__(
        self,
        channels: Sequence[ChannelSeen],
        layout: Layout,
        *,
        baud: int = 9600,
        lines_per_second: float | None = None,
        bench: int = 1,
        cold: bool = False,
    ) -> None:
        self.health = BenchHealth(bench=bench, baud=baud, lines_per_second=lines_per_second)
        self.reader: LayoutReader = reader_for(layout)
        self.health.describe(channels, names=self.reader.names)
        self.watched = Watched()
        self._framer = Framer(cold=cold)

    def open(self, at: float) -> None:
        self.told(self.health.opened(round(at * SECOND)))

    def close(self, at: float) -> None:
        at_ns = round(at * SECOND)
        lines = self._framer.break_off(at_ns)
        self.told(self.health.take([], [(line, "set aside") for line in lines], [], []))
        self.told(self.health.closed(at_ns))

    def tick(self, at: float) -> None:
        self.told(self.health.tick(round(at * SECOND)))

    def feed(self, *steps: Step) -> None:
        """Chunks in one call."""
        chunks = [(data, round(at * SECOND)) for at, data in steps]
        fates: list[tuple[Line, str]] = []
        row_lines: list[Line] = []
        rows: list[Values] = []
        for data, at_ns in chunks:
            for line in self._framer.feed(data, at_ns):
                row = None if line.flaws else self.reader.values(line.text)
                if row is not None:
                    rows.append(row)
                    row_lines.append(line)
                    fates.append((line, "read"))
                elif not line.flaws and self.reader.partial:
                    fates.append((line, "read"))
                else:
                    is_words = not line.flaws and not any(char.isdigit() for char in line.text)
                    fates.append((line, "text" if is_words else "set aside"))
        self.told(self.health.take(chunks, fates, row_lines, rows))

    def told(self, changes: Iterable[FindingChange]) -> None:
        self.watched.changes += changes


def watch(
    steps: Iterable[Step],
    channels: Sequence[ChannelSeen],
    *,
    layout: Layout | None = None,
    until: float | None = None,
    opened: float | None = 0.0,
    baud: int = 9600,
    lines_per_second: float | None = None,
) -> Watched:
    """One call for each chunk, the port open from `opened` on; time goes on up to `until`."""
    n_fields = max((one.index for one in channels), default=0) + 1
    bench = HealthBench(channels, layout or columns(n_fields), baud=baud, lines_per_second=lines_per_second)
    if opened is not None:
        bench.open(opened)
    last = 0.0
    for step in steps:
        bench.feed(step)
        last = step[0]
    bench.tick(last + 1.0 if until is None else until)
    return bench.watched


def lines(texts: Iterable[str], *, every: float = 0.25, start: float = 0.0, end: str = "\r\n") -> list[Step]:
    """A board that prints these lines evenly."""
    return [(start + i * every, (text + end).encode()) for i, text in enumerate(texts)]
