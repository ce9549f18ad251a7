"""The benches of a lesson, and the names that they and the channels use."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from bridge.core.chain import UNITS_OF, is_unit_of
from bridge.core.lesson import Bench, BenchChannel, Mark, mark_of
from bridge.lesson_calibrations import calibration_of
from bridge.lesson_keys import MAX_BENCHES
from bridge.lesson_tables import Table
from bridge.lesson_words import as_toml, nearest

Seen = dict[str, str]
"""Names that the lesson gives, and what bears each; also of faulty things, so they bring no second fault."""


@dataclass(slots=True, kw_only=True)
class Names:
    """What exists under which name."""

    conversions: Seen
    layouts: Seen
    channels: Seen
    phases: Seen = field(default_factory=dict)
    units: dict[str, str] = field(default_factory=dict)  # of each channel
    gives: dict[str, str] = field(default_factory=dict)  # the quantity of each conversion that sets its unit
    fields: dict[str, tuple[str, ...]] = field(default_factory=dict)  # of each layout
    nameless: set[str] = field(
        default_factory=set
    )  # keys of things whose name is faulty: nothing is unknown then

    def add(self, table: Table, seen: Seen, kind: str) -> str | None:
        """The table's name, noted as one that exists; a fault when another has it."""
        name = table.name("name")
        if name is None:
            self.nameless.add(kind)
        elif name in seen:
            table.wrong(
                "name", f"the name {as_toml(name)} is taken by another {kind}", f'name = "another {kind}"'
            )
        else:
            seen[name] = kind
        return name

    def refuse_unit(self, table: Table, key: str, conversion: str, unit: str) -> None:
        """Note at the key that the conversion's quantity has no such unit."""
        quantity = self.gives.get(conversion, "")
        if quantity and unit != "?" and not is_unit_of(quantity, unit):
            units = [as_toml(one) for one in UNITS_OF[quantity]]
            may = ", ".join(units[:-1]) + " or " + units[-1]
            gives = f"the conversion {as_toml(conversion)} gives {quantity}"
            wrong = f"{gives}, so the channel needs a unit of it, such as {may}"
            table.wrong(key, f"{key}: {wrong}, found {as_toml(unit)}", f"unit = {units[0]}")

    def phases_of(self, table: Table) -> tuple[str, ...]:
        """The phases that a table names at `phases`, which must exist."""
        found = table.texts("phases")
        if found == ():
            table.wrong("phases", "phases must name at least one phase, found an empty list")
        for place, name in enumerate(found or ()):
            if name not in self.phases and "phase" not in self.nameless:
                table.wrong("phases", *_nowhere("phase", name, self.phases), entry=place)
        return found or ()

    def used(self, table: Table, key: str, among: Mapping[str, object]) -> str | None:
        """The name that stands at the key, which must exist."""
        name = table.name(key)
        if name is not None and name not in among and key not in self.nameless:
            table.wrong(key, *_nowhere(key, name, among))
        return name


def _nowhere(key: str, name: str, among: Mapping[str, object]) -> tuple[str, str]:
    meant = nearest(name, among)
    hint = f" (did you mean {as_toml(meant)}?)" if meant else ""
    known = f"; there may be {', '.join(as_toml(one) for one in among)}" if among and not meant else ""
    write = (
        f"{key} = {as_toml(meant or next(iter(among), ''))}"
        if among
        else f"[[{key}]] with name = {as_toml(name)}"
    )
    return f"{key} is {as_toml(name)}, but no {key} has that name{hint}{known}", write


def benches_of(top: Table, names: Names) -> tuple[Bench, ...]:
    """Every bench without a fault, in the order of the file."""
    tables = list(top.tables("bench", called="bench"))
    if len(tables) > MAX_BENCHES:
        top.wrong(
            "bench", f"at most {MAX_BENCHES} benches may be there, found {len(tables)}", entry=MAX_BENCHES
        )
        return ()
    parts = [_Part(table) for table in tables]
    for key, what in (("number", "number"), ("name", "name"), ("board", "board")):
        _refuse_second(parts, key, what)
    _refuse_one_place(parts)
    marks = _marks(parts)
    return tuple(bench for part in parts if (bench := _bench(part, marks, names)))


class _Part:
    """A bench under way: what must differ from the other benches, read first."""

    def __init__(self, table: Table) -> None:
        self.table = table
        number = table.whole_or_none("number")
        self.number = number
        name = table.name("name")
        self.name = name or (f"Bench {number}" if number and table.are_good("name") else None)
        self.board = table.name("board")
        self.shape, self.colour = table.word("shape"), table.word("colour")
        self.row, self.place = table.whole_or_none("row"), table.whole_or_none("place")


def _refuse_second(parts: list[_Part], key: str, what: str) -> None:
    seen: dict[object, _Part] = {}
    for part in parts:
        value = getattr(part, key)
        if value is None or not part.table.are_good(key, "number"):
            continue  # a bench whose number is taken has that number's plain name too
        if value in seen:
            first = seen[value].number
            whose = f" by bench {first}" if first and key != "number" else " by another bench"
            part.table.wrong(key, f"{key}: the {what} {as_toml(value)} is taken{whose}", _other(key, parts))
        seen.setdefault(value, part)


def _other(key: str, parts: list[_Part]) -> str:
    """A line with a value that no bench has."""
    if key == "number":
        taken = {part.number for part in parts}
        return f"number = {next(n for n in range(1, MAX_BENCHES + 2) if n not in taken)}"
    return (
        'name = "Thick cover"'
        if key == "name"
        else 'board = "location:1-1.3", or no board for any that is free'
    )


def _refuse_one_place(parts: list[_Part]) -> None:
    seen: dict[tuple[int, int], _Part] = {}
    for part in parts:
        table, row, place = part.table, part.row, part.place
        if not table.are_good("row", "place"):
            continue
        if (row is None) != (place is None):
            given, lacking = ("row", "place") if place is None else ("place", "row")
            table.wrong(
                given,
                f"{given} is there and {lacking} is missing; a bench has both or neither",
                f"{lacking} = 1",
            )
        elif row is not None and place is not None:
            if (row, place) in seen:
                wrong = f"place: bench {seen[row, place].number} stands at row {row}, place {place} already"
                table.wrong("place", wrong, f"place = {place + 1 if place < MAX_BENCHES else 1}")
            seen.setdefault((row, place), part)


def _marks(parts: list[_Part]) -> dict[int, Mark]:
    """The mark of each bench: what the lesson gives first, then what is free, by the number."""
    taken: dict[Mark, int] = {}
    marks: dict[int, Mark] = {}
    # Those with the least choice choose first.
    for part in sorted(parts, key=lambda one: (one.shape is None) + (one.colour is None)):
        number, table = part.number, part.table
        if number is None or number in marks or not table.are_good("number", "shape", "colour"):
            continue
        may = [
            mark
            for mark in _by_number(number)
            if part.shape in (None, mark.shape) and part.colour in (None, mark.colour)
        ]
        mark = next((one for one in may if one not in taken), may[0])
        if mark in taken:
            key, words = "shape" if part.shape else "colour", f"{mark.shape} in {mark.colour}"
            free = next(one for one in _by_number(number) if one not in taken)
            wrong = f"{key}: bench {taken[mark]} has the mark {words} already"
            table.wrong(key, wrong, f"shape = {as_toml(free.shape)} and colour = {as_toml(free.colour)}")
        taken.setdefault(mark, number)
        marks[number] = mark
    return marks


def _by_number(number: int) -> list[Mark]:
    """Every mark, first the one that goes with the number."""
    return [mark_of((number - 1 + i) % MAX_BENCHES + 1) for i in range(MAX_BENCHES)]


def _bench(part: _Part, marks: Mapping[int, Mark], names: Names) -> Bench | None:
    table = part.table
    baud, pulse_dtr = table.whole("baud"), table.flag("pulse_dtr")
    lines_per_second = table.number_or_none("lines_per_second")
    layout = names.used(table, "layout", names.layouts)
    channels = [_bench_channel(name, one, layout, names) for name, one in table.tables_by_name("channel")]
    if part.number is None or part.name is None or part.number not in marks or not table.is_good:
        return None
    mark = marks[part.number]
    return Bench(
        number=part.number, name=part.name, shape=mark.shape, colour=mark.colour, row=part.row,
        place=part.place, board=part.board, baud=baud, layout=layout, pulse_dtr=pulse_dtr,
        lines_per_second=lines_per_second,
        channels=tuple(one for one in channels if one is not None),
    )  # fmt: skip


def _bench_channel(name: str, table: Table, layout: str | None, names: Names) -> BenchChannel | None:
    # Without channels in the lesson every printed number becomes one, under a name that is not known here.
    if names.channels and name not in names.channels and "channel" not in names.nameless:
        wrong, _ = _nowhere("channel", name, names.channels)
        meant = nearest(name, names.channels) or next(iter(names.channels))
        table.refuse(wrong, f"[bench.channel.{meant}]")
    field_name, conversion = table.name("field"), names.used(table, "conversion", names.conversions)
    fields = names.fields.get(layout or "", ())
    if field_name is not None and fields and field_name not in fields:
        table.wrong("field", *_nowhere("field", field_name, dict.fromkeys(fields)))
    if conversion is not None and not names.units.get(name, "?").strip():
        wrong = f"conversion is {as_toml(conversion)}, but the channel {as_toml(name)} has no unit"
        table.wrong("conversion", wrong, 'unit = "°C" in its [[channel]]')
    elif conversion is not None:
        names.refuse_unit(table, "conversion", conversion, names.units.get(name, "?"))
    gain, offset, baseline = table.number("gain"), table.number("offset"), table.number_or_none("baseline")
    if gain == 0 and table.are_good("gain"):
        table.wrong("gain", "gain must not be 0, found 0")
    below = table.table("calibration")
    calibration = calibration_of(below, names.units.get(name, "")) if below else None
    if not table.is_good:
        return None
    return BenchChannel(
        channel=name, field=field_name, conversion=conversion, gain=gain, offset=offset, baseline=baseline,
        calibration=calibration,
    )  # fmt: skip
