"""The pure script modules of the journal page, run in the browser that runs them."""

from __future__ import annotations

import csv
import io
from typing import Any, get_args

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bridge.core.alarm_given import AlarmKind
from bridge.core.readings import AlarmEvent
from dashboard.journal_as_text import COLUMNS
from dashboard.text_cells import as_text_cell
from tests.dashboard import test_wall_modules
from tests.dashboard.test_wall_modules import Run

pytestmark = pytest.mark.browser
run = test_wall_modules.run
START_MS = 1_790_000_000_000


def entry(number: int, **changes: Any) -> dict[str, Any]:
    return {
        "number": number, "ms": 1000 * number, "bench": 1, "channel": "temperature", "limit": "high",
        "kind": "high", "at": 40.5, "unit": "°C", "priority": "high", "message": "Too warm",
        "event": "rise", "state": "unacknowledged", "before": "normal", "value": 41.25, "who": "rule",
        "reason": "", "untilMs": None,
    } | changes  # fmt: skip


def read_back(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text, newline="")))


def test_the_file_has_the_columns_of_the_command_and_the_order_of_time(run: Run) -> None:
    shelved = entry(1, event="shelve", who="instructor", reason="stirred", untilMs=61_500, value=None)
    rows = read_back(run("journal/csv", "m.csvOf(x[0], x[1])", [[entry(2), shelved], START_MS]))
    assert tuple(rows[0]) == COLUMNS
    assert [one["event"] for one in rows] == ["shelve", "rise"]
    assert rows[0]["until"] == "2026-09-21T14:14:21.500Z"
    assert (rows[0]["value"], rows[0]["limit"], rows[1]["value"]) == ("", "40.5", "41.25")
    assert rows[1]["time"] == "2026-09-21T14:13:22.000Z"


@settings(deadline=None, max_examples=60)
@given(text=st.text(st.sampled_from("=+-@'\t\r\n\",;aä°\uff1d\uff20 1"), max_size=8))
def test_any_words_come_back_as_they_were_and_no_spreadsheet_runs_them(run: Run, text: str) -> None:
    (row,) = read_back(run("journal/csv", "m.csvOf(x, 0)", [entry(0, reason=text)]))
    assert row["reason"] == as_text_cell(text)  # by the same rule as every file that is handed out


def test_pieces_of_the_journal_are_put_together_with_what_each_alarm_is(run: Run) -> None:
    alarm = {
        "channel": "t",
        "limit": "high",
        "kind": "high",
        "at": 40,
        "unit": "°C",
        "priority": "low",
        "message": "!",
    }
    row = [5000, 3, 0, "rise", "unacknowledged", "normal", 41, "rule", "", None]
    (one,) = run("journal/entries", "m.entriesOf(x)", {"first": 7, "entries": [row], "alarms": [alarm]})
    assert one == alarm | {
        "number": 7, "ms": 5000, "bench": 3, "event": "rise", "state": "unacknowledged", "before": "normal",
        "value": 41, "who": "rule", "reason": "", "untilMs": None,
    }  # fmt: skip


def test_what_is_chosen_fits_all_of_the_choice(run: Run) -> None:
    entries = [
        entry(0), entry(1, bench=2), entry(2, kind="stale", priority="low", message=""),
        entry(3, event="shelve", reason="being Stirred", who="instructor"),
    ]  # fmt: skip
    script = """m.chosenOf(x[0], {bench: '', kind: '', priority: '', text: '', ...x[1]},
      (number) => ['', 'Paper', 'Wool'][number]).map((one) => one.number)"""

    def chosen(**choice: str) -> list[int]:
        found: list[int] = run("journal/entries", script, [entries, choice])
        return found

    assert chosen() == [0, 1, 2, 3]
    assert chosen(bench="2") == [1]
    assert chosen(kind="stale") == chosen(priority="low") == [2]
    assert chosen(text="stirred instructor") == [3]
    assert chosen(text="wool ROSE") == [1]
    assert chosen(text="nobody") == []
    assert chosen(bench="1", kind="high", text="warm") == [0, 3]


def test_the_newest_stand_on_top(run: Run) -> None:
    entries = [entry(0, ms=5), entry(1, ms=9), entry(2, ms=9, bench=2), entry(3, ms=9)]
    numbers = run("journal/entries", "m.newestFirst(x).map((one) => one.number)", entries)
    assert numbers == [2, 3, 1, 0]


def test_every_event_and_kind_has_its_words(run: Run) -> None:
    words = run("alarm-words", "x.map((event) => m.eventWords(event))", list(get_args(AlarmEvent)))
    assert len(set(words)) == len(words)
    assert not set(words) & set(get_args(AlarmEvent))
    literals = get_args(AlarmKind)
    kinds = {kind for one in literals for kind in (get_args(one) or (one,))}
    assert set(run("journal/entries", "m.KINDS")) == kinds
