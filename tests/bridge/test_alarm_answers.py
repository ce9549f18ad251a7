"""What clients are told of the alarms' past: through a real socket, and in a replay that is revised."""

from __future__ import annotations

import asyncio
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

from bridge.alarm_answers import MAX_ENTRIES_TOLD, prepared
from bridge.controls import JournalRequest, ProposalsRequest, Revise
from bridge.core.alarm_journal import Journal
from bridge.core.alarm_records import AlarmRecords, ToCalm
from bridge.core.classroom import Classroom
from bridge.recording import RecordingWriter
from bridge.replaying import ReplaySession
from bridge.settings import Settings
from tests.bridge.core.test_alarm_records import HIGH, chattering, lesson_of, rise
from tests.bridge.made_up import SECOND, checked
from tests.bridge.test_server import Room, ask, first

LESSON = """\
title = "Cups"

[[channel]]
name = "temperature"
unit = "°C"

[[channel.limit]]
kind = "high"
at = 40.0

[[layout]]
name = "one"
kind = "columns"
fields = ["temperature"]

[[bench]]
number = 1
layout = "one"
"""


def records_of_rises(n: int) -> AlarmRecords:
    records = AlarmRecords(lesson_of(HIGH))
    records.take((), [rise(second) for second in range(n)], lesson_of(HIGH))
    return records


def test_a_long_journal_comes_in_pieces_and_the_figures_with_the_last() -> None:
    room, n = Room(), 2 * MAX_ENTRIES_TOLD + 7
    room.served.hub.alarm_records = records_of_rises(n)
    with room.served, room.client() as client:
        after, pieces = 0, []
        while after < n:
            client.send(f'{{"kind":"journal","id":5,"after":{after}}}')
            pieces.append(first(client, "journal"))
            after += len(pieces[-1]["entries"])
    assert [len(one["entries"]) for one in pieces] == [MAX_ENTRIES_TOLD, MAX_ENTRIES_TOLD, 7]
    assert [row[0] for one in pieces for row in one["entries"]] == [1000 * second for second in range(n)]
    assert [one["figures"] is None for one in pieces] == [True, True, False]
    assert pieces[-1]["figures"]["calls"] == sum(second < 5 for second in range(n))  # the room's time is 5 s
    (alarm,) = pieces[0]["alarms"]
    assert (alarm["channel"], alarm["limit"], alarm["kind"], alarm["at"]) == ("t", "high", "high", 40.0)
    assert (alarm["unit"], alarm["priority"], alarm["message"]) == ("°C", "high", "Too warm")


def test_looking_at_the_journal_needs_no_passcode_and_a_session_without_one_says_so() -> None:
    room = Room()
    with room.served, room.client() as client:
        assert "keeps no journal" in ask(client, kind="journal", after=0)["words"]
        assert not ask(client, kind="proposals", bench=1)["ok"]


def test_entries_that_the_bridge_has_let_go_are_counted() -> None:
    records = AlarmRecords(lesson_of(HIGH))
    records.journal = Journal(max_entries=50)
    for second in range(120):
        records.journal.take([rise(second)], lesson_of(HIGH))
    told = checked(prepared(JournalRequest(None, 10), records, 0)())
    assert told["n_all"] == 120
    assert told["first"] == told["n_lost"] >= 70
    assert told["first"] + len(told["entries"]) == 120
    beyond = checked(prepared(JournalRequest(None, 500), records, 0)())
    assert (beyond["first"], beyond["entries"]) == (120, [])  # who knows more than there is begins anew


def test_proposals_are_of_one_bench_and_say_on_what_they_were_tried() -> None:
    room = Classroom(lesson_of(HIGH))
    records = AlarmRecords(room.lesson)
    chattering(room, records, range(60))
    assert checked(prepared(ProposalsRequest(1, 2), records, 0)())["alarms"] == []
    (one,) = checked(prepared(ProposalsRequest(1, 1), records, 0)())["alarms"]
    assert (one["id"], one["rises"], one["readings"], one["from_ms"]) == (
        "1/t/high",
        15,
        59,
        1000,
    )  # the first line of a cold start is no reading
    (chattering_one,) = checked(prepared(JournalRequest(1, 0), records, 60 * SECOND)())["figures"][
        "chattering"
    ]
    assert (chattering_one["rises"], chattering_one["still"]) == (15, True)
    deadband = one["proposals"][0]
    assert deadband["key"] == "deadband"
    assert deadband["words"].endswith("this alarm would have come once instead of 15")
    assert f"a deadband of {deadband['value']:g} °C" in deadband["words"]


def test_a_proposal_that_is_taken_over_calms_the_alarm_on_the_same_signal(tmp_path: Path) -> None:
    path = tmp_path / "kept.benchrow"
    writer = RecordingWriter(path, lesson_text=LESSON, start_utc_ns=10**18, program="test")
    writer.add_event("break", 1, 0, {"cold": False})
    for second in range(120):
        value = 40.0 + (0.3 if second % 4 < 2 else -0.3)
        writer.add_chunk(1, f"{value:.1f}\n".encode(), second * SECOND)
    writer.close()

    async def taken_over() -> tuple[dict[str, Any], str, int, list[ToCalm]]:
        given = Settings(
            mode="replay", passcode="1", data_dir=tmp_path, recording=path, playing=False, from_seconds=120
        )
        session = ReplaySession(given)
        await session.start()
        records = session.hub.alarm_records
        assert records is not None
        (one,) = checked(prepared(ProposalsRequest(1, 1), records, 0)())["alarms"]
        proposal = one["proposals"][0]
        change = (("channel", one["channel"], "limit", one["limit"], proposal["key"]), proposal["value"])
        words = await session.handle(Revise(None, (change,)))
        records = session.hub.alarm_records
        assert records is not None
        n_rises = sum(entry.change.event == "rise" for entry in records.journal.entries)
        await session.close()
        return proposal, words, n_rises, records.to_calm()

    with ThreadPoolExecutor(1) as pool:
        proposal, words, n_rises, to_calm = pool.submit(asyncio.run, taken_over()).result()
    assert proposal["words"].endswith("once instead of 30")
    assert "recomputed" in words
    assert (n_rises, to_calm) == (1, [])
