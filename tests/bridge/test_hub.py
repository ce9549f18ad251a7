from __future__ import annotations

import json
from dataclasses import replace
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from bridge import messages
from bridge.core.alarm_flood import AlarmGroup, FirstOut, FloodChange, Member
from bridge.core.call_list import CallList
from bridge.core.channels import ChannelInfo, Step
from bridge.core.classroom import PhaseStart
from bridge.core.findings import Weight
from bridge.core.lesson import AlarmGiven, Lesson, plain_bench
from bridge.core.readings import BandChange, Note, Reading
from bridge.hub import HELLO_FRESH_NS, MAX_EVENTS, STATUS_EVERY_NS, Hub
from bridge.hub_bench import MAX_CHANNELS, MAX_LINES, MAX_RIBBON
from bridge.messages import FieldShown, Replay, Status
from tests.bridge.made_up import LIMIT, SECOND, SESSION, TEMPERATURE, checked, finding, hub_of, reading, rise
from tests.dashboard.made_up_bridge import Printed

HOSTILE = '<script>alert(1)</script>\x00\x1b[2J\ud800"\\'


def hello_of(hub: Hub, *, steady_ns: int = 0) -> dict[str, Any]:
    return checked(hub.hello(10 * SECOND, steady_ns)[0])


def updates_of(hub: Hub, since: int) -> list[dict[str, Any]]:
    return [checked(text) for text in hub.updates(since, 10 * SECOND)]


def values_of(hub: Hub, since: int) -> list[list[Any]]:
    frame = updates_of(hub, since)[-1]
    assert frame["kind"] == "frame"
    values: list[list[Any]] = frame["values"]
    return values


def test_a_hello_holds_all_that_a_client_must_know() -> None:
    hub = hub_of()
    hub.take_readings([reading(21.5), reading(22.5, at_ms=2000)])
    hub.take_changes([BandChange(SECOND, 1, "temperature", 1, None), rise()])
    hub.add_marker(SECOND, "lid on", "instructor")
    hello = hello_of(hub)
    assert [one["number"] for one in hello["benches"]] == [1, 2]
    assert hello["benches"][0]["channels"][0]["edges"] == [22.0, 25.0]
    assert hello["values"] == [[1, 0, 2000, 22.5, 0.1, 0, "", 1, 22.5, 22.5]]
    assert hello["history"][0] == {"bench": 1, "channel": 0, "rows": [[1000, 21.5, 21.5], [2000, 22.5, 22.5]]}
    assert hello["alarms"][0]["id"] == "1/temperature/high"
    assert hello["alarms"][0]["advice"] == LIMIT.advice
    assert hello["markers"] == [{"t_ms": 1000, "words": "lid on", "who": "instructor"}]
    assert hello["session"]["now_ms"] == 10_000


def test_a_client_gets_the_newest_with_the_extremes_of_what_it_missed() -> None:
    hub = hub_of()
    hub.cut(0)
    one = hub.version
    hub.take_readings([reading(30.0), reading(20.0, at_ms=1001)])
    hub.cut(0)
    two = hub.version
    hub.take_readings([reading(25.0, at_ms=1002)])
    hub.cut(0)
    assert values_of(hub, two) == [[1, 0, 1002, 25.0, 0.1, 0, "", None, 25.0, 25.0]]
    assert values_of(hub, one) == [[1, 0, 1002, 25.0, 0.1, 0, "", None, 20.0, 30.0]]
    assert values_of(hub, hub.version) == []


def test_what_is_the_same_for_several_clients_is_encoded_once() -> None:
    hub = hub_of()
    hub.cut(0)
    hub.take_readings([reading(30.0)])
    hub.cut(0)
    assert hub.updates(1, 0) is hub.updates(1, 0)
    assert hub.updates(1, 0) is not hub.updates(2, 0)


def test_nothing_that_came_after_a_hello_is_missed_though_the_hello_is_used_again() -> None:
    hub = hub_of()
    hub.take_readings([reading(20.0)])
    hub.cut(0)
    first = hub.hello(SECOND, 0)
    hub.take_readings([reading(21.0)])
    hub.cut(0)
    again = hub.hello(SECOND, HELLO_FRESH_NS - 1)
    assert again[0] is first[0]
    assert values_of(hub, again[1])[0][3] == 21.0
    assert hub.hello(SECOND, HELLO_FRESH_NS)[0] is not first[0]


def test_a_hello_is_not_used_again_after_an_alarm() -> None:
    hub = hub_of()
    first = hub.hello(SECOND, 0)
    hub.take_changes([rise()])
    text, _, n_events = hub.hello(SECOND, 0)
    assert text is not first[0]
    assert n_events == hub.n_events == first[2] + 1


def test_values_that_are_no_number_go_out_as_null() -> None:
    hub = hub_of()
    hub.cut(0)
    for value in (float("nan"), float("inf"), None):
        since = hub.version
        hub.take_readings([reading(value)._replace(u=float("nan"))])
        hub.cut(0)
        assert values_of(hub, since)[0][3:5] == [None, None]
        assert values_of(hub, since)[0][8:] == [None, None]
    hello_of(hub)


def test_a_band_change_goes_out_with_the_newest_value() -> None:
    hub = hub_of()
    hub.take_readings([reading(23.0)])
    hub.cut(0)
    since = hub.version
    hub.take_changes([BandChange(SECOND, 1, "temperature", 1, 0), Note(SECOND, 1, "layout", "two columns")])
    hub.cut(0)
    assert values_of(hub, since) == [[1, 0, 1000, 23.0, 0.1, 0, "", 1, None, None]]


def test_alarms_and_markers_are_events_each_told_once() -> None:
    hub = hub_of()
    hub.take_changes([rise()])
    hub.add_marker(SECOND, "lid on", "instructor")
    events = hub.take_events()
    assert [number for number, _ in events] == [1, 2]
    assert [checked(text)["kind"] for _, text in events] == ["alarm", "marker"]
    assert hub.take_events() == []


def test_events_that_nobody_fetches_stay_within_their_bound() -> None:
    hub = hub_of()
    for _ in range(MAX_EVENTS + 10):
        hub.add_marker(SECOND, "again", "rule")
    assert len(hub.take_events()) == MAX_EVENTS


def test_an_alarm_that_is_normal_again_leaves_the_hello() -> None:
    hub = hub_of()
    hub.take_changes([rise()])
    assert hub.alarm("1/temperature/high") is not None
    hub.take_changes([rise()._replace(event="acknowledge", state="normal", before="returned unacknowledged")])
    assert hub.alarm("1/temperature/high") is None
    assert hello_of(hub)["alarms"] == []


def test_a_status_goes_out_at_most_twice_a_second_and_the_newest_wins() -> None:
    hub = hub_of(1)
    hub.cut(0)
    sent = []
    since = hub.version
    for i in range(1, 101):
        hub.set_status(1, Status(n_lines=i))
        hub.cut(i * SECOND // 100)
        sent += [one for one in updates_of(hub, since) if one["kind"] == "status"]
        since = hub.version
    assert len(sent) <= SECOND // STATUS_EVERY_NS + 1
    hub.cut(10 * SECOND)
    assert updates_of(hub, since)[0]["status"]["n_lines"] == 100


def test_a_bench_is_described_again_when_its_channels_grow_and_before_their_values() -> None:
    hub = hub_of(1)
    hub.cut(0)
    since = hub.version
    hub.set_bench(plain_bench(1), (TEMPERATURE, ChannelInfo(name="raw")))
    hub.take_readings([Reading(SECOND, 1, "raw", 512.0, "", None, "good", "", 1, SECOND)])
    hub.cut(0)
    told = updates_of(hub, since)
    assert [one["kind"] for one in told] == ["bench", "frame"]
    assert told[1]["values"][0][:2] == [1, 1]


def test_the_same_description_again_is_no_news() -> None:
    hub = hub_of(1)
    hub.cut(0)
    since = hub.version
    hub.set_bench(plain_bench(1), (TEMPERATURE,))
    hub.cut(0)
    assert hub.version == since


def test_a_channel_keeps_its_past_when_others_come_before_it() -> None:
    hub = hub_of(1)
    hub.take_readings([reading(21.0)])
    hub.set_bench(plain_bench(1), (ChannelInfo(name="raw"), TEMPERATURE))
    hello = hello_of(hub)
    assert hello["values"][0][:4] == [1, 1, 1000, 21.0]
    assert hello["history"][1]["rows"] == [[1000, 21.0, 21.0]]


def test_a_revision_describes_the_lesson_with_all_benches() -> None:
    hub = hub_of()
    hub.cut(0)
    since = hub.version
    hub.set_lesson(Lesson(title="Other cups"))
    hub.cut(0)
    told = updates_of(hub, since)
    assert [one["kind"] for one in told] == ["lesson", "frame"]
    assert told[0]["lesson"]["title"] == "Other cups"
    assert len(told[0]["benches"]) == 2


def test_a_replay_tells_where_it_stands_and_how_fast_time_goes() -> None:
    hub = hub_of()
    hub.cut(0)
    since = hub.version
    hub.set_replay(Replay(playing=True, speed=4.0, position_ms=10, length_ms=1000, loop=False))
    hub.cut(0)
    told = updates_of(hub, since)
    assert told[0]["replay"]["position_ms"] == 10
    assert told[-1]["speed"] == 4.0
    hub.set_replay(Replay(playing=False, speed=4.0, position_ms=10, length_ms=1000, loop=False))
    hub.cut(0)
    assert updates_of(hub, since)[-1]["speed"] == 0.0


def test_a_reset_forgets_what_came_from_boards_and_makes_all_start_over() -> None:
    hub = hub_of()
    hub.take_readings([reading(21.0)])
    hub.take_changes([rise(), BandChange(SECOND, 1, "temperature", 1, 0)])
    hub.add_marker(SECOND, "lid on", "instructor")
    epoch = hub.epoch
    hub.reset()
    assert hub.epoch == epoch + 1
    hello = hello_of(hub)
    assert (hello["values"], hello["alarms"], hello["markers"]) == ([], [], [])
    assert hello["history"] == [{"bench": b, "channel": 0, "rows": []} for b in (1, 2)]
    assert hub.take_events() == []


def test_a_bench_that_left_the_lesson_leaves_the_hello() -> None:
    hub = hub_of()
    hub.take_changes([rise()])
    hub.remove_bench(1)
    assert [one["number"] for one in hello_of(hub)["benches"]] == [2]
    assert hello_of(hub)["alarms"] == []


def test_readings_of_a_bench_that_nobody_described_do_no_harm() -> None:
    hub = hub_of(1)
    hub.take_readings([reading(21.0, bench=9)])
    hub.take_changes([rise(bench=9)])
    hub.take_lines(9, [])
    hub.set_status(9, Status())
    assert hello_of(hub)["values"] == []


def test_a_board_that_prints_ever_new_names_stays_within_the_bound() -> None:
    hub = hub_of(1)
    names = [f"name {i}" for i in range(MAX_CHANNELS + 50)]
    hub.take_readings([Reading(SECOND, 1, name, 1.0, "", None, "good", "", 1, SECOND) for name in names])
    hub.set_bench(plain_bench(1), [ChannelInfo(name=name) for name in names], main=len(names) - 1)
    bench = hello_of(hub)["benches"][0]
    assert len(bench["channels"]) == MAX_CHANNELS
    assert bench["main"] < MAX_CHANNELS


def test_a_follower_gets_the_newest_lines_once_with_fields_and_steps() -> None:
    hub = hub_of(1)
    lines = [(Printed(i, f"Temp: {i}", i * SECOND, ""), "read") for i in range(1, MAX_LINES + 21)]
    hub.take_lines(1, lines)
    hub.set_steps(
        1,
        [FieldShown("Temp", "21.5", 21.5, "°C"), FieldShown("raw", "nan", float("nan"), "")],
        [Step(channel="temperature", words="volts", formula="512 × 5 / 1024", number=2.5, unit="V")],
    )
    text, seen = hub.lines(1, 0)
    assert text is not None
    told = checked(text)
    assert [line[0] for line in told["lines"]] == list(range(21, MAX_LINES + 21))
    assert told["fields"] == [["Temp", "21.5", 21.5, "°C"], ["raw", "nan", None, ""]]
    assert told["steps"][0]["number"] == 2.5
    assert hub.lines(1, seen) == (None, seen)
    hub.take_lines(1, [(Printed(99, "next", 0, "cut"), "set aside")])
    text, _ = hub.lines(1, seen)
    assert text is not None
    assert checked(text)["lines"] == [[99, 0, "next", "cut", "set aside"]]


def test_a_bench_is_followed_as_long_as_somebody_looks_at_it() -> None:
    hub = hub_of()
    hub.follow(None, 1)
    hub.follow(None, 1)
    hub.follow(1, 2)
    assert hub.followed == {1, 2}
    hub.follow(1, None)
    assert hub.followed == {2}


def test_an_endless_line_is_cut_for_the_screen() -> None:
    hub = hub_of(1)
    hub.take_lines(1, [(Printed(1, "a" * 100_000, 0, "over-long"), "set aside")])
    text, _ = hub.lines(1, 0)
    assert text is not None
    assert len(text) < 2_000


def test_a_history_answer_holds_rows_ribbon_and_alarms_of_its_stretch() -> None:
    hub = hub_of()
    hub.take_readings([reading(20.0 + i, at_ms=1000 * i) for i in range(10)])
    hub.take_changes([BandChange(t * SECOND, 1, "temperature", t, None) for t in (1, 3, 5, 8)])
    hub.take_changes([rise(at_ms=2000), rise(at_ms=4000), rise(bench=2, at_ms=4000)])
    text = hub.history(1, 0, 4 * SECOND, 6 * SECOND, 100, to=7)
    assert text is not None
    answer = checked(text)
    assert answer["to"] == 7
    assert answer["rows"] == [[4000, 24.0, 24.0], [5000, 25.0, 25.0], [6000, 26.0, 26.0]]
    assert answer["ribbon"] == [[3000, 3], [5000, 5]]
    assert [one["t_ms"] for one in answer["alarms"]] == [4000]
    assert hub.history(1, 1, 0, SECOND, 100, to=None) is None
    assert hub.history(9, 0, 0, SECOND, 100, to=None) is None


def test_a_ribbon_stays_within_its_bound() -> None:
    hub = hub_of(1)
    hub.take_changes([BandChange(t, 1, "temperature", t % 3, None) for t in range(MAX_RIBBON + 100)])
    text = hub.history(1, 0, 0, SECOND, 2, to=None)
    assert text is not None
    assert len(checked(text)["ribbon"]) == MAX_RIBBON


def test_hostile_text_goes_out_as_valid_ascii_json_and_comes_back_as_it_was() -> None:
    hub = hub_of(1)
    hub.take_lines(1, [(Printed(1, HOSTILE, 0, HOSTILE), HOSTILE)])
    hub.add_marker(SECOND, HOSTILE, "instructor")
    hub.take_readings([reading(20.0, reason=HOSTILE)])
    hub.set_bench(plain_bench(1), (TEMPERATURE, ChannelInfo(name=HOSTILE, unit=HOSTILE)))
    text, _ = hub.lines(1, 0)
    assert text is not None
    text.decode("ascii")
    assert json.loads(text)["lines"] == [[1, 0, HOSTILE, HOSTILE, HOSTILE]]
    assert hello_of(hub)["benches"][0]["channels"][1]["name"] == HOSTILE


def test_a_large_class_gets_a_hello_within_its_bound() -> None:
    hub = Hub(SESSION, Lesson(title="many"))
    names = [f"channel {i}" for i in range(20)]
    for bench in range(1, 25):
        hub.set_bench(plain_bench(bench), [ChannelInfo(name=name) for name in names])
        hub.take_readings(
            Reading(t * SECOND, bench, name, t / 7, "", None, "good", "", 1, t * SECOND)
            for t in range(100)
            for name in names
        )
    assert len(hub.hello(100 * SECOND, 0)[0]) < 600_000


@settings(deadline=None)
@given(st.floats(allow_nan=True, allow_infinity=True))
def test_no_number_makes_a_message_that_is_not_json(value: float) -> None:
    hub = hub_of(1)
    hub.take_readings([reading(value), reading(0.0, at_ms=1001), reading(value, at_ms=1002)])
    hub.take_changes([rise()._replace(value=value)])
    hello_of(hub)
    assert messages.number(value) in {None, value}


def test_findings_stand_until_they_go_and_a_late_client_gets_those_that_stand() -> None:
    hub = hub_of()
    hub.cut(0)
    since = hub.version
    hub.take_changes(
        [finding("stuck"), finding("top rail"), finding("stuck", event="changed", words=HOSTILE)]
    )
    hub.cut(STATUS_EVERY_NS)
    (told,) = [one for one in updates_of(hub, since) if one["kind"] == "findings"]
    assert [(one["kind"], one["words"]) for one in told["findings"]] == [
        ("stuck", HOSTILE),
        ("top rail", "It stands still"),
    ]
    assert hello_of(hub)["findings"] == [[1, told["findings"]]]
    hub.take_changes([finding("stuck", event="gone"), finding("top rail", event="gone")])
    hub.cut(2 * STATUS_EVERY_NS)
    (told,) = [one for one in updates_of(hub, hub.version - 1) if one["kind"] == "findings"]
    assert told["findings"] == []
    assert hello_of(hub, steady_ns=2 * HELLO_FRESH_NS)["findings"] == []


def test_faults_stand_before_hints_and_older_ones_before_newer() -> None:
    hub = hub_of()
    changes = [finding("mains hum"), finding("stuck"), finding("top rail")]
    told_of: dict[str, tuple[Weight, int]] = {
        "mains hum": ("hint", 1),
        "stuck": ("fault", 9),
        "top rail": ("fault", 3),
    }
    for change in changes:
        weight, seconds = told_of[change.finding.kind]
        told = replace(change.finding, weight=weight, since_ns=seconds * SECOND)
        hub.take_changes([change._replace(finding=told)])
    assert [one["kind"] for one in hello_of(hub)["findings"][0][1]] == ["top rail", "stuck", "mains hum"]


def test_findings_go_out_at_most_twice_a_second() -> None:
    hub = hub_of()
    hub.take_changes([finding("stuck")])
    hub.cut(0)
    since = hub.version
    hub.take_changes([finding("top rail")])
    hub.cut(STATUS_EVERY_NS - 1)
    assert [one["kind"] for one in updates_of(hub, since)] == ["frame"]
    hub.cut(STATUS_EVERY_NS)
    assert [one["kind"] for one in updates_of(hub, since)] == ["findings", "frame"]


def test_details_are_told_once_to_each_who_has_not_seen_them() -> None:
    hub = hub_of()
    text = {"kind": "steady", "bench": 1, "channels": []}
    hub.set_detail(1, text)
    (told,), seen = hub.details(1, 0, frozenset(("steady",)))
    assert checked(told) == text
    assert hub.details(1, seen, frozenset(("steady",))) == ([], seen)
    hub.set_detail(1, dict(text))  # the same again is no news
    assert hub.details(1, seen, frozenset(("steady",))) == ([], seen)
    assert hub.details(1, 0, frozenset(("worth",)))[0] == []
    assert hub.details(7, 0, frozenset(("steady",))) == ([], 0)


def test_a_survey_lasts_as_long_as_somebody_looks() -> None:
    hub = hub_of()
    assert not hub.is_surveyed
    hub.survey(before=False, after=True)
    hub.survey(before=True, after=True)
    hub.survey(before=False, after=True)
    hub.survey(before=True, after=False)
    assert hub.is_surveyed
    hub.survey(before=True, after=False)
    assert not hub.is_surveyed


def test_what_is_set_aside_bears_its_reason_and_end_until_it_is_back() -> None:
    hub = hub_of()
    hub.take_changes([rise()])
    shelved = rise(at_ms=2000)._replace(
        event="shelve", state="shelved", before="unacknowledged", who="instructor", reason="being stirred",
        until_ns=60 * SECOND,
    )  # fmt: skip
    gone = rise(at_ms=3000)._replace(event="return", state="shelved", before="shelved")
    hub.take_changes([shelved, gone])
    alarm = hub.alarm("1/temperature/high")
    assert alarm is not None
    assert (alarm.state, alarm.reason, alarm.until_ns) == ("shelved", "being stirred", 60 * SECOND)
    hub.take_changes([rise(at_ms=60_000)._replace(event="unshelve", state="normal", before="shelved")])
    assert hub.alarm("1/temperature/high") is None


def test_an_alarm_is_found_by_its_name_whatever_its_state() -> None:
    hub = hub_of()
    assert hub.alarm_named("2/temperature/high") == (2, "temperature", "high")
    assert hub.alarm_named("2/temperature/low") is None
    hub.set_lesson(replace(hub.lesson, alarms=(AlarmGiven(kind="finding", name="help"),)))
    assert hub.alarm_named("2//help") == (2, "", "help")


def test_the_history_of_a_channel_has_the_alarms_of_its_bench_too() -> None:
    hub = hub_of()
    help_wanted = rise(at_ms=2000)._replace(channel="", limit="help")
    hub.take_changes([rise(), help_wanted, rise(bench=2)._replace(channel="", limit="help")])
    answer = hub.history(1, 0, 0, 9 * SECOND, 10, to=1)
    assert answer is not None
    assert [one["id"] for one in checked(answer)["alarms"]] == ["1/temperature/high", "1//help"]


def test_the_first_of_several_alarms_is_marked_where_it_stands_and_in_the_journal() -> None:
    hub = hub_of()
    hub.take_changes([rise(), rise(bench=2, at_ms=1500)])
    hub.take_events()
    hub.take_first_out(FirstOut(6 * SECOND, (rise(),), (rise(bench=2, at_ms=1500),)))
    (told,) = [checked(text)["alarm"] for _, text in hub.take_events()]
    assert (told["id"], told["first_out"]) == ("1/temperature/high", True)
    hub.cut(0)
    assert {one["id"]: one["first_out"] for one in hello_of(hub)["alarms"]} == {
        "1/temperature/high": True, "2/temperature/high": False,
    }  # fmt: skip
    acknowledged = rise(at_ms=7000)._replace(
        event="acknowledge", state="acknowledged", before="unacknowledged", who="instructor"
    )
    hub.take_changes([acknowledged])
    alarm = hub.alarm("1/temperature/high")
    assert alarm is not None
    assert alarm.first_out
    answer = hub.history(1, 0, 0, 9 * SECOND, 10, to=1)
    assert answer is not None
    assert [one["first_out"] for one in checked(answer)["alarms"]] == [True, True]


def test_a_flood_is_told_once_while_nothing_of_it_changes() -> None:
    hub = hub_of()
    member = Member(1, "temperature", "high", 2, SECOND, 2 * SECOND)
    groups = [AlarmGroup("bench", "", "", (1,), (member,))]
    hub.cut(0)
    since = hub.version
    hub.set_flood([FloodChange(SECOND, "begins", 2)], groups)
    hub.cut(1)
    flood = checked(hub.updates(since, SECOND)[0])["flood"]
    assert (flood["on"], flood["since_ms"], flood["n_calls"]) == (True, 1000, 2)
    assert flood["groups"][0]["alarms"] == [{"id": "1/temperature/high", "n_calls": 2}]
    since = hub.version
    hub.set_flood([], groups)
    hub.cut(2)
    assert [checked(text)["kind"] for text in hub.updates(since, SECOND)] == ["frame"]
    hub.set_flood([FloodChange(9 * SECOND, "ends", 2)], groups)
    hub.cut(3)
    flood = hello_of(hub, steady_ns=SECOND)["flood"]
    assert (flood["on"], flood["since_ms"]) == (False, 1000)


def test_the_phases_that_were_started_are_told_to_all() -> None:
    hub = hub_of()
    hub.cut(0)
    since = hub.version
    hub.set_phases([PhaseStart(0, "", "rule"), PhaseStart(SECOND, "run", "instructor")])
    hub.cut(1)
    told = checked(hub.updates(since, SECOND)[0])["phases"]
    assert told[-1] == {"t_ms": 1000, "phase": "run", "who": "instructor"}
    assert hello_of(hub, steady_ns=SECOND)["phases"] == told


def test_the_list_of_calls_is_told_at_most_twice_a_second_and_its_newest_wins() -> None:
    hub = hub_of()
    hub.cut(0)
    since = hub.version

    def told_at(steady_ns: int, list_of: CallList) -> list[int]:
        nonlocal since
        hub.set_calls(list_of)
        hub.cut(steady_ns)
        messages, since = [checked(text) for text in hub.updates(since, SECOND)], hub.version
        return [one["calls"]["n_more"] for one in messages if one["kind"] == "calls"]

    assert told_at(0, CallList(n_more=1)) == [1]
    assert told_at(SECOND // 10, CallList(n_more=2)) == []
    assert told_at(SECOND // 5, CallList(n_more=3)) == []
    assert hello_of(hub, steady_ns=SECOND)["calls"]["n_more"] == 3
    assert told_at(SECOND // 2, CallList(n_more=3)) == [3]
    assert told_at(SECOND * 2, CallList(n_more=3)) == []


def test_a_replay_that_moves_brings_the_calls_of_that_instant() -> None:
    hub, ahead = hub_of(), hub_of()
    hub.set_calls(CallList(n_more=1))
    ahead.set_calls(CallList(n_more=2))
    hub.take_over(ahead)
    assert hello_of(hub)["calls"]["n_more"] == 2
    hub.reset()
    assert hello_of(hub, steady_ns=SECOND)["calls"]["n_more"] == 0
