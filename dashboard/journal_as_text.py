"""The alarm journal and its figures as lines of text: CSV, or JSON with the same names."""

from __future__ import annotations

import csv
import json
from collections.abc import Callable, Iterator
from typing import NamedTuple, TextIO

from bridge import JournalEntry, KeptFigures
from dashboard.text_cells import as_text_cell

COLUMNS = (
    "time", "bench", "channel", "alarm", "kind", "event", "state", "before", "value", "limit", "unit",
    "priority", "who", "reason", "until", "message",
)  # fmt: skip
FIGURE_COLUMNS = ("figure", "value", "unit", "bench", "channel", "alarm", "words")


def csv_writer(out: TextIO) -> Callable[[str, str | None, JournalEntry], None]:
    """Write the header; the answer writes one transition as a row.

    The names of channels and the reasons of shelves are anybody's: what a spreadsheet would run as a formula
    gets an apostrophe before it. JSON has it as it is.
    """
    write = csv.writer(out, lineterminator="\n").writerow
    write(COLUMNS)

    def write_entry(time: str, until: str | None, entry: JournalEntry) -> None:
        write([as_text_cell(one) if isinstance(one, str) else one for one in _cells(time, until, entry)])

    return write_entry


def json_writer(out: TextIO) -> Callable[[str, str | None, JournalEntry], None]:
    """The answer writes one transition as a JSON object on a line of its own."""

    def write_entry(time: str, until: str | None, entry: JournalEntry) -> None:
        _dump(dict(zip(COLUMNS, _cells(time, until, entry), strict=True)), out)

    return write_entry


def write_figures(kept: KeptFigures, out: TextIO, *, as_json: bool) -> None:
    """One figure a row; those of a single alarm name it. The words say what the number means."""
    if as_json:
        for figure in _figures(kept):
            _dump(dict(zip(FIGURE_COLUMNS, figure, strict=True)), out)
        return
    write = csv.writer(out, lineterminator="\n").writerow
    write(FIGURE_COLUMNS)
    for figure in _figures(kept):
        write([as_text_cell(one) if isinstance(one, str) else one for one in figure])


class _Figure(NamedTuple):
    figure: str
    value: float | str | None
    unit: str
    bench: int | None = None
    channel: str | None = None
    alarm: str | None = None
    words: str = ""


def _figures(kept: KeptFigures) -> Iterator[_Figure]:
    one = kept.figures
    yield _Figure("length", round(one.seconds, 3), "s")
    yield _Figure("alarms", one.n_calls, "", words="how often an alarm called for a person")
    load = {
        "acceptable": "acceptable for one person",
        "manageable": "manageable for one person",
        "too many": "too many for one person",
    }[one.load]
    yield _Figure("alarms per 10 minutes", round(one.calls_per_period, 3), "1/(10 min)", words=load)
    for i, n in enumerate(one.periods):
        yield _Figure("alarms in a period", n, "", words=f"from {10 * i} to {10 * (i + 1)} minutes")
    yield _Figure("periods with more than ten", _percent(one.share_of_busy_periods), "%")
    yield _Figure("time in a flood", _percent(one.share_in_flood), "%")
    yield _Figure("not yet acknowledged", one.n_unacknowledged, "", words="at the end")
    for priority, share in sorted(one.priorities.items()):
        yield _Figure("share of a priority", _percent(share), "%", words=priority)
    for standing in one.standing:
        words = f"{standing.state}, at the end"
        yield _Figure("standing", round(standing.seconds, 3), "s", *standing.alarm, words)
    for frequent in one.most_frequent:
        words = f"{100 * frequent.share:.0f} % of all"
        yield _Figure("most frequent", frequent.n_calls, "", *frequent.alarm, words)
    for chattering in one.chattering:
        proposals = kept.proposals.get(chattering.alarm)
        unit = kept.units.get(chattering.alarm, "")
        words = "; ".join(proposal.words(unit) for proposal in proposals or ())
        words = words or ("set otherwise since" if proposals is None else "nothing that was tried calms it")
        yield _Figure("chattering", chattering.n_rises, "", *chattering.alarm, words)


def _percent(share: float) -> float:
    return round(100 * share, 3)


def _cells(time: str, until: str | None, entry: JournalEntry) -> tuple[object, ...]:
    one = entry.change
    return (
        time, one.bench, one.channel, one.limit, entry.kind, one.event, one.state, one.before, one.value,
        one.at, entry.unit, entry.priority, one.who, one.reason, until, entry.message,
    )  # fmt: skip


def _dump(values: dict[str, object], out: TextIO) -> None:
    json.dump(values, out, ensure_ascii=False, allow_nan=False)
    out.write("\n")
