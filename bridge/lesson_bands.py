"""The bands of a channel: from a checked table to values, with the rules that bind several keys."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise
from typing import Any, cast

from bridge.core.bands_given import MAX_EDGES, BandsGiven, equal_edges, percent_edges
from bridge.lesson_benches import Names
from bridge.lesson_tables import Table
from bridge.lesson_words import as_toml

_WAYS = ("edges", "step", "percents")


def bands_of(table: Table, names: Names, *, low: float, high: float) -> BandsGiven | None:
    """The bands, or None when a fault was noted.

    Args:
        table: `[channel.bands]`.
        names: What exists under which name.
        low: The lower end of the channel's scale; not below `high` where a fault was noted.
        high: Its upper end.
    """
    baseline, baseline_from = table.number_or_none("baseline"), table.word("baseline_from")
    deadband, dwell, steady = (table.number(key) for key in ("deadband", "dwell_seconds", "steady_seconds"))
    phases = names.phases_of(table)
    if baseline_from == "fixed" and baseline is None and table.are_good("baseline"):
        table.lacks("baseline", "baseline is missing", "baseline = 20.0")
    edges = _edges(table, low, high)
    band_names = _names(table, edges)
    if not table.is_good:
        return None
    return BandsGiven(
        edges=edges, names=band_names, baseline=baseline,
        baseline_from=cast("Any", baseline_from), deadband=deadband, dwell_seconds=dwell,
        steady_seconds=steady, phases=phases,
    )  # fmt: skip


def phase_bands_of(
    channel: Table, bands: BandsGiven | None, names: Names, *, low: float, high: float
) -> tuple[BandsGiven, ...]:
    """Bands that hold in some phases only, without a fault.

    Args:
        channel: `[[channel]]`, with the tables in it.
        bands: Its own; None: it has none, or a fault was noted in them.
        names: What exists under which name.
        low: The lower end of the channel's scale; not below `high` where a fault was noted.
        high: Its upper end.
    """
    found: list[BandsGiven] = []
    taken: set[str] = set()
    for table in channel.tables("phase_bands", called="phase_bands"):
        if not channel.has("bands"):
            wrong = "the channel has no [channel.bands], which say where the baseline is"
            table.refuse(wrong, "[channel.bands]")
        phases = names.phases_of(table)
        if not phases and table.are_good("phases"):
            table.lacks("phases", "phases is missing: in which these bands hold", 'phases = ["run"]')
        for place, phase in enumerate(phases):
            if phase in taken or phase in phases[:place]:
                wrong = f"phases: the channel has bands for {as_toml(phase)} already"
                table.wrong("phases", wrong, entry=place)
        taken.update(phases)
        deadband, dwell = table.number_or_none("deadband"), table.number_or_none("dwell_seconds")
        edges = _edges(table, low, high)
        band_names = _names(table, edges)
        if table.is_good and bands is not None:
            found.append(replace(
                bands, edges=edges, names=band_names, phases=phases,
                deadband=bands.deadband if deadband is None else deadband,
                dwell_seconds=bands.dwell_seconds if dwell is None else dwell,
            ))  # fmt: skip
    return tuple(found)


def _names(table: Table, edges: Sequence[float]) -> tuple[str, ...]:
    """The bands' names, one more than edges; empty ones where none are given."""
    names = table.texts("names")
    if names is not None and edges and table.are_good("names") and len(names) != len(edges) + 1:
        wrong = f"names must be one more than edges, {len(edges) + 1} here, found {len(names)}"
        table.wrong("names", wrong, f"names = {_some_names(len(edges) + 1)}")
    return names or ("",) * (len(edges) + 1)


def _edges(table: Table, low: float, high: float) -> tuple[float, ...]:
    """The edges, however they are given; none when a fault was noted."""
    given = [key for key in _WAYS if table.has(key)]
    edges, percents = table.numbers("edges"), table.numbers("percents")
    step, steps = table.number_or_none("step"), table.whole_or_none("steps")
    if not given:
        table.lacks("edges", "edges is missing", "edges = [2.0, 5.0, 10.0]")
    elif len(given) > 1:
        table.wrong(
            given[1], f"{given[1]}: {given[0]} says already where the edges lie; one of them is enough"
        )
    elif table.has("steps") and given != ["step"]:
        table.wrong("steps", "steps goes together with step, which is missing", "step = 2.0")
    elif given == ["step"] and not table.has("steps"):
        table.lacks("steps", "steps is missing: how many steps there are", "steps = 5")
    if not table.are_good(*_WAYS, "steps"):
        return ()
    if given == ["step"]:
        return equal_edges(step or 1.0, steps or 1)
    key = given[0]
    numbers = percents if key == "percents" else edges
    _check_rising(table, key, numbers)
    if not table.are_good(key):
        return ()
    if key == "edges":
        return edges
    return percent_edges(percents, low, high) if low < high else ()


def _check_rising(table: Table, key: str, edges: Sequence[float]) -> None:
    if not 1 <= len(edges) <= MAX_EDGES:
        may = f"1 to {MAX_EDGES} numbers, which make 2 to {MAX_EDGES + 1} bands"
        table.wrong(key, f"{key} must hold {may}, found {len(edges)}")
    if edges and edges[0] <= 0:
        wrong = f"{key} lie above the baseline, so each is greater than 0, found {edges[0]:g}"
        table.wrong(key, wrong, entry=0)
    for place, (before, edge) in enumerate(pairwise(edges), start=1):
        if edge <= before:
            table.wrong(key, f"{key} must rise, found {edge:g} after {before:g}", entry=place)


def _some_names(n: int) -> str:
    return as_toml([f"step {i}" for i in range(1, n + 1)])
