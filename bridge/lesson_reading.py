"""From checked tables to the lesson's values, with the rules that bind several keys together."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any, TypeVar, cast

from bridge.core.labelled import label_of
from bridge.core.lesson import Channel, FieldSpec, Layout, Lesson
from bridge.lesson_alarms import alarms_of, limits_of, phases_of
from bridge.lesson_bands import bands_of, phase_bands_of
from bridge.lesson_benches import Names, benches_of
from bridge.lesson_conversions import conversion_of
from bridge.lesson_tables import Faults, Table
from bridge.lesson_words import as_toml

T = TypeVar("T")


def lesson_of(values: Mapping[str, object], faults: Faults) -> Lesson | None:
    """The lesson, or None when a fault was noted."""
    top = Table(values, faults, path="", at=(), called="")
    title, note = top.name("title"), top.text("note")
    lines_per_second, try_baud = top.number_or_none("lines_per_second"), top.word("try_baud")
    # In the order in which names are needed: a channel uses conversions and phases, a bench uses all.
    names = Names(conversions={}, layouts={}, channels={})
    phases = phases_of(top, names)
    alarms = alarms_of(top, names)
    conversions = _all(conversion_of(one, names) for one in top.tables("conversion", called="conversion"))
    layouts = _all(_layout(one, names) for one in top.tables("layout", called="layout"))
    channels = _all(_channel(one, names) for one in top.tables("channel", called="channel"))
    benches = benches_of(top, names)
    if faults.found or title is None:
        return None
    return Lesson(
        title=title, note=note, lines_per_second=lines_per_second, try_baud=cast("Any", try_baud),
        channels=channels, conversions=conversions, layouts=layouts, benches=benches,
        alarms=alarms, phases=phases,
    )  # fmt: skip


def _all(found: Iterable[T | None]) -> tuple[T, ...]:
    return tuple(one for one in found if one is not None)


def _layout(table: Table, names: Names) -> Layout | None:
    name = names.add(table, names.layouts, "layout")
    kind, separator, comma = table.word("kind"), table.text("separator"), table.flag("decimal_comma")
    thousands, lead, tail = table.word("thousands"), table.text("lead"), table.text("tail")
    fields = _fields(table, labelled=kind != "columns")
    if name is not None:
        names.fields[name] = tuple(one.name for one in fields)
    if table.are_good("separator") and separator == "":
        table.wrong("separator", 'separator must not be empty, found ""; any run of blanks is " "')
    sign = "," if comma else "."
    if table.are_good("thousands", "decimal_comma") and thousands == sign:
        table.wrong("thousands", f"thousands must not be the decimal sign, found {as_toml(thousands)}")
    if name is None or not table.is_good:
        return None
    return Layout(
        name=name,
        kind=cast("Any", kind),
        fields=fields,
        separator=separator,
        decimal_comma=comma,
        thousands=thousands or "",
        lead=lead,
        tail=tail,
    )


def _fields(table: Table, *, labelled: bool) -> tuple[FieldSpec, ...]:
    fields: list[FieldSpec] = []
    entries = table.entries("fields")
    if entries == []:
        table.wrong("fields", "fields must name at least one field, found an empty list")
    for place, entry in enumerate(entries or ()):
        values = {"name": entry} if isinstance(entry, str) else entry
        if not isinstance(values, dict):
            wrong = f"entry {place + 1} of fields must be a name or a table, found {as_toml(entry)}"
            table.wrong("fields", wrong, entry=place)
            continue
        one = table.entry("fields", place, values, called=f"entry {place + 1} of fields")
        name, label = one.name("name"), one.text("label") if one.has("label") else None
        unit, decimals = one.text("unit"), one.whole_or_none("decimals")
        if name is None:
            continue
        if any(name == other.name for other in fields):
            one.wrong("name", f"the name {as_toml(name)} stands twice in this layout")
        elif labelled and label != "" and any((label or name) == label_of(other) for other in fields):
            key = "label" if label else "name"
            one.wrong(key, f"the label {as_toml(label or name)} stands twice in this layout")
        fields.append(FieldSpec(name=name, label=label, unit=unit, decimals=decimals))
    return tuple(fields)


def _channel(table: Table, names: Names) -> Channel | None:
    name = names.add(table, names.channels, "channel")
    quantity, unit, field = table.text("quantity"), table.text("unit"), table.name("field")
    conversion = names.used(table, "conversion", names.conversions)
    if name is not None:
        is_told = not table.are_good("unit") or (conversion is not None and not unit.strip())  # below
        names.units[name] = "?" if is_told else unit
    if conversion is not None and unit.strip() and table.are_good("unit"):
        names.refuse_unit(table, "unit", conversion, unit)
    if conversion is not None and table.are_good("unit") and not unit.strip():
        table.wrong("unit" if table.has("unit") else "conversion", _NO_UNIT.format(conversion), 'unit = "°C"')
    low, high, decimals = table.number("low"), table.number("high"), table.whole("decimals")
    if table.are_good("low", "high") and low >= high:
        key = "low" if table.has("low") else "high"
        table.wrong(
            key,
            f"low must be below high, found low = {low:g} and high = {high:g}",
            "low = 15.0 and high = 55.0",
        )
    below = table.table("bands")
    bands = bands_of(below, names, low=low, high=high) if below else None
    phase_bands = phase_bands_of(table, bands, names, low=low, high=high)
    limits = limits_of(table, names)
    if name is None or not table.is_good:
        return None
    return Channel(
        name=name, quantity=quantity, unit=unit, field=field, conversion=conversion,
        low=low, high=high, decimals=decimals, bands=bands, phase_bands=phase_bands, limits=limits,
    )  # fmt: skip


_NO_UNIT = "unit must say what the conversion {!r} gives, found none"
