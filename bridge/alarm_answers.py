"""What clients may ask of the alarms' past: the journal with its figures, and what would calm an alarm.

Each answer is prepared where the session is at work, and made by another thread: it may take half a second.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

from bridge import messages
from bridge.controls import JournalRequest, ProposalsRequest
from bridge.core.alarm_figures import AlarmFigures, AlarmName
from bridge.core.alarm_journal import JournalEntry, figures_of_journal, in_order
from bridge.core.alarm_proposals import Proposal
from bridge.core.alarm_records import AlarmRecords, ToCalm

MAX_ENTRIES_TOLD = 500  # in one answer: who wants more asks on
MAX_MESSAGE = 200  # characters of an alarm's message that a journal repeats

Making = Callable[[], bytes]


def prepared(request: JournalRequest | ProposalsRequest, records: AlarmRecords, now_ns: int) -> Making:
    """Take what the answer needs, as it stands now; the answer is made when that is called."""
    if isinstance(request, ProposalsRequest):
        return partial(_proposals, request, records.to_calm(request.bench), records.remember)
    journal = records.journal
    n_lost, n_all = journal.n_lost, journal.n_lost + len(journal.entries)
    first = max(n_lost, min(request.after, n_all))
    told = journal.entries[first - n_lost :][:MAX_ENTRIES_TOLD]
    is_last = first + len(told) == n_all
    of_figures = list(journal.entries) if is_last else None  # put in order by the other thread
    still = frozenset(records.chattering()) if is_last else frozenset[AlarmName]()
    return partial(_journal, request.id, told, first, n_lost, n_all, of_figures, still, now_ns)


def _journal(
    to: int | None,
    told: list[JournalEntry],
    first: int,
    n_lost: int,
    n_all: int,
    of_figures: list[JournalEntry] | None,
    still: frozenset[AlarmName],
    now_ns: int,
) -> bytes:
    alarms: dict[tuple[object, ...], int] = {}
    rows = [_row(one, alarms) for one in told]
    figures = None if of_figures is None else figures_of_journal(in_order(of_figures), end_ns=now_ns)
    return messages.encoded(
        {
            "kind": "journal",
            "to": to,
            "first": first,
            "n_all": n_all,
            "n_lost": n_lost,
            "entries": rows,
            "alarms": [
                dict(zip(("channel", "limit", "kind", "at", "unit", "priority", "message"), one, strict=True))
                for one in alarms
            ],
            "figures": None if figures is None else _figures_part(figures, still),
        }
    )


def _row(entry: JournalEntry, alarms: dict[tuple[object, ...], int]) -> list[object]:
    one = entry.change
    alarm = (
        one.channel, one.limit, entry.kind, one.at, entry.unit, entry.priority, entry.message[:MAX_MESSAGE],
    )  # fmt: skip
    index = alarms.setdefault(alarm, len(alarms))
    until = messages.ms(one.until_ns) if one.until_ns else None
    return [
        messages.ms(one.at_ns), one.bench, index, one.event, one.state, one.before,
        messages.number(one.value), one.who, one.reason, until,
    ]  # fmt: skip


def _figures_part(figures: AlarmFigures, still: frozenset[AlarmName]) -> messages.Message:
    """`still` chatter as they are set now."""
    return {
        "seconds": round(figures.seconds, 3),
        "calls": figures.n_calls,
        "per_period": figures.calls_per_period,
        "load": figures.load,
        "periods": list(figures.periods),
        "busy_share": figures.share_of_busy_periods,
        "flood_share": figures.share_in_flood,
        "unacknowledged": figures.n_unacknowledged,
        "standing": [
            _named(one.alarm) | {"state": one.state, "since_ms": messages.ms(one.since_ns)}
            for one in figures.standing
        ],
        "most_frequent": [_named(one.alarm) | {"calls": one.n_calls} for one in figures.most_frequent],
        "chattering": [
            _named(one.alarm)
            | {"rises": one.n_rises, "most_in_a_minute": one.most_in_a_minute, "still": one.alarm in still}
            for one in figures.chattering
        ],
    }


def _proposals(
    request: ProposalsRequest, to_calm: list[ToCalm], remember: Callable[[ToCalm, tuple[Proposal, ...]], None]
) -> bytes:
    found = [(one, one.proposals()) for one in to_calm]
    for tried in found:
        remember(*tried)
    return messages.encoded(
        {
            "kind": "proposals",
            "to": request.id,
            "bench": request.bench,
            "alarms": [_proposals_part(*one) for one in found],
        }
    )


def _proposals_part(one: ToCalm, proposals: tuple[Proposal, ...]) -> messages.Message:
    times_ns = one.signal.times_ns
    return _named(one.alarm) | {
        "id": messages.alarm_id(*one.alarm),
        "rises": one.n_rises,
        "most_in_a_minute": one.most_in_a_minute,
        "readings": len(times_ns),
        "from_ms": messages.ms(times_ns[0]) if times_ns else None,
        "proposals": [
            {"key": found.changes, "value": found.value, "words": found.words(one.unit)}
            for found in proposals
        ],
    }


def _named(alarm: AlarmName) -> dict[str, object]:
    return {"bench": alarm.bench, "channel": alarm.channel, "limit": alarm.limit}
