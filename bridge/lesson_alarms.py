"""A channel's limits, a bench's alarms and a lesson's phases: from checked tables to values."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, cast, get_args

from bridge.core.alarm_given import AlarmGiven
from bridge.core.findings import FindingKind
from bridge.core.lesson import Phase
from bridge.lesson_benches import Names
from bridge.lesson_tables import Table
from bridge.lesson_words import as_toml, nearest

_RISING = ("low-low", "low", "high", "high-high")  # the limits of a value, as they lie
_ONLY_OF: Mapping[str, tuple[str, ...]] = {  # keys that only some kinds have
    "at": (*_RISING, "rate of change", "deviation", "stale"),
    "deadband": (*_RISING, "rate of change", "deviation"),
    "side": ("rate of change", "deviation"),
    "window_seconds": ("rate of change",),
    "least_benches": ("deviation",),
    "quality": ("bad quality",),
}
_ABOVE_ZERO = ("rate of change", "deviation", "stale")
_FINDINGS: tuple[str, ...] = get_args(FindingKind)


def phases_of(top: Table, names: Names) -> tuple[Phase, ...]:
    """The lesson's phases without a fault, in the order of the file."""
    found = []
    for table in top.tables("phase", called="phase"):
        name = names.add(table, names.phases, "phase")
        note, lines_per_second = table.text("note"), table.number_or_none("lines_per_second")
        if name is not None and table.is_good:
            found.append(Phase(name=name, note=note, lines_per_second=lines_per_second))
    return tuple(found)


def alarms_of(top: Table, names: Names) -> tuple[AlarmGiven, ...]:
    """The alarms on the findings of a bench."""
    found: dict[str, AlarmGiven] = {}
    for table in top.tables("alarm", called="alarm"):
        name, weight = table.name("name"), table.word("weight")
        findings = table.texts("findings") or ()
        for place, one in enumerate(findings):
            if one not in _FINDINGS:
                meant = nearest(one, _FINDINGS)
                hint = f" (did you mean {as_toml(meant)}?)" if meant else ""
                wrong = f"findings: there is no finding {as_toml(one)}{hint}"
                table.wrong("findings", wrong, f"findings = [{as_toml(meant or 'no bytes')}]", entry=place)
        common = _common(table, names)
        key = name or "finding"
        if key in found:
            wrong = f"name: there is an alarm {as_toml(key)} already; give each a name of its own"
            _at_name(table, wrong, 'name = "wrong baud"')
        if table.is_good:
            found[key] = AlarmGiven(
                kind="finding", name=name or "", findings=cast("Any", findings), weight=cast("Any", weight),
                **common,
            )  # fmt: skip
    return tuple(found.values())


def limits_of(channel: Table, names: Names) -> tuple[AlarmGiven, ...]:
    """The limits of a channel."""
    found: dict[str, AlarmGiven] = {}
    for table in channel.tables("limit", called="limit"):
        kind, name, at = table.word("kind"), table.name("name"), table.number_or_none("at")
        deadband, side, quality = table.number("deadband"), table.word("side"), table.word("quality")
        window, least_benches = table.number("window_seconds"), table.whole("least_benches")
        common = _common(table, names)
        if kind is not None:
            _check_kind(table, kind, at, deadband)
            _check_place(table, kind, at, found.values())
            _check_key(table, kind, name, found)
        if kind is not None and table.is_good:
            one = AlarmGiven(
                kind=cast("Any", kind), name=name or "", at=at or 0.0, deadband=deadband,
                side=cast("Any", side), quality=cast("Any", quality), window_seconds=window,
                least_benches=least_benches, **common,
            )  # fmt: skip
            found[one.key] = one
    return tuple(found.values())


def _common(table: Table, names: Names) -> dict[str, Any]:
    """The keys that every alarm has."""
    return {
        "on_delay_seconds": table.number("on_delay_seconds"),
        "off_delay_seconds": table.number("off_delay_seconds"),
        "priority": table.word("priority"),
        "latching": table.flag("latching"),
        "needs_acknowledgement": table.flag("needs_acknowledgement"),
        "phases": names.phases_of(table),
        "message": table.text("message"),
        "advice": table.text("advice"),
    }


def _check_kind(table: Table, kind: str, at: float | None, deadband: float) -> None:
    for key, kinds in _ONLY_OF.items():
        if table.has(key) and kind not in kinds:
            only = " or ".join(kinds)
            table.wrong(key, f"{key} belongs to a limit of kind {only}, not {kind}", f"no {key}")
    if not table.are_good("at"):
        return
    if at is None:
        if kind in _ONLY_OF["at"]:
            table.lacks("at", "at is missing", "at = 48.0")
        return
    if kind in _ABOVE_ZERO and at <= 0:
        table.wrong("at", f"at must be above 0 for {kind}, found {at:g}", "at = 5.0")
    elif kind in _ONLY_OF["side"] and table.are_good("deadband") and deadband >= at:
        wrong = f"deadband must be less than at, {at:g} here, found {deadband:g}"
        table.wrong("deadband", wrong, f"deadband = {at / 2:g}")


def _check_place(table: Table, kind: str, at: float | None, others: Any) -> None:
    """A low limit lies below a high one, and so on."""
    if kind not in _RISING or at is None:
        return
    for other in others:
        if other.kind not in _RISING or other.kind == kind:
            continue
        one, two = sorted(((kind, at), (other.kind, other.at)), key=lambda of: _RISING.index(of[0]))
        if one[1] >= two[1]:
            wrong = f"at: the {one[0]} limit must be below the {two[0]} one"
            table.wrong("at", f"{wrong}, found {one[0]} {one[1]:g} and {two[0]} {two[1]:g}")
            return


def _check_key(table: Table, kind: str, name: str | None, found: Mapping[str, AlarmGiven]) -> None:
    key = name or kind
    if key not in found:
        return
    if name is None:
        wrong = f"kind: the channel has a {kind} limit already; give one of them a name"
        table.wrong("kind", wrong, f'kind = "{kind}" and name = "another {kind}"')
    else:
        wrong = f"name: the channel has a limit {as_toml(name)} already; each key stands for one alarm"
        table.wrong("name", wrong, f"name = {as_toml('another ' + name)}")


def _at_name(table: Table, wrong: str, write: str) -> None:
    if table.has("name"):
        table.wrong("name", wrong, write)
    else:
        table.lacks("name", wrong, write)
