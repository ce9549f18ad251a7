from __future__ import annotations

import pytest

from bridge.core.alarm_given import AlarmGiven
from bridge.core.alarm_set import BenchAlarms
from bridge.core.findings import Finding, FindingChange, FindingKind, Weight
from bridge.core.readings import AlarmChange, Change
from bridge.core.watch import ChannelWatch

SECOND = 1_000_000_000


def watch_of(*alarms: AlarmGiven) -> ChannelWatch:
    return ChannelWatch(1, "temperature", bands=None, baseline=None, limits=alarms)


def told(changes: list[Change]) -> list[tuple[float, str, str]]:
    """Time in seconds, event, state after it."""
    alarms = [one for one in changes if isinstance(one, AlarmChange)]
    assert len(alarms) == len(changes)
    return [(one.at_ns / SECOND, one.event, one.state) for one in alarms]


def test_high_high_stands_above_high_and_each_tells_itself() -> None:
    watch = watch_of(AlarmGiven(kind="high", at=40.0), AlarmGiven(kind="high-high", at=45.0, priority="high"))
    assert [c.limit for c in watch.take(41.0, 0) if isinstance(c, AlarmChange)] == ["high"]
    assert [c.limit for c in watch.take(46.0, 1) if isinstance(c, AlarmChange)] == ["high-high"]
    assert [c.limit for c in watch.take(39.0, 2) if isinstance(c, AlarmChange)] == ["high", "high-high"]


def test_a_value_grows_stale_at_the_very_instant_and_returns_with_the_next() -> None:
    watch = watch_of(AlarmGiven(kind="stale", at=5.0))
    watch.take(20.0, 2 * SECOND)
    assert watch.tick(7 * SECOND - 1) == []
    assert told(watch.tick(60 * SECOND)) == [(7.0, "rise", "unacknowledged")]
    assert told(watch.take(20.0, 61 * SECOND)) == [(61.0, "return", "returned unacknowledged")]


def test_a_stale_alarm_tells_the_age_it_was_raised_at() -> None:
    watch = watch_of(AlarmGiven(kind="stale", at=5.0, on_delay_seconds=1.0))
    watch.take(20.0, 2 * SECOND)
    (rise,) = watch.tick(60 * SECOND)
    assert isinstance(rise, AlarmChange)
    assert (rise.at_ns / SECOND, rise.value, rise.at) == (8.0, 5.0, 5.0)


def test_a_board_that_gave_nothing_yet_has_no_stale_value() -> None:
    assert watch_of(AlarmGiven(kind="stale", at=5.0)).tick(1000 * SECOND) == []


def test_a_lost_port_lets_the_value_grow_stale() -> None:
    watch = watch_of(AlarmGiven(kind="stale", at=5.0))
    watch.take(20.0, SECOND)
    watch.lose(2 * SECOND)
    assert told(watch.tick(10 * SECOND)) == [(6.0, "rise", "unacknowledged")]


def test_one_value_in_between_does_not_end_a_stale_alarm_that_waits_for_its_off_delay() -> None:
    watch = watch_of(AlarmGiven(kind="stale", at=2.0, off_delay_seconds=3.0))
    watch.take(20.0, 0)
    watch.tick(10 * SECOND)
    assert watch.take(20.0, 10 * SECOND) == []
    assert watch.tick(20 * SECOND) == [], "it was stale again before the delay had run out"
    found = [change for i in range(5) for change in watch.take(20.0, (20 + i) * SECOND)]
    assert told(found) == [(23.0, "return", "returned unacknowledged")]


def test_bad_readings_raise_and_a_good_one_returns() -> None:
    watch = watch_of(AlarmGiven(kind="bad quality", on_delay_seconds=2.0, off_delay_seconds=1.0))
    watch.take(20.0, 0)
    assert watch.miss(1 * SECOND) == []
    assert watch.take(20.0, 2 * SECOND) == [], "one bad reading is not enough"
    watch.miss(3 * SECOND)
    watch.miss(4 * SECOND)
    assert told(watch.miss(9 * SECOND)) == [(5.0, "rise", "unacknowledged")]
    watch.take(20.0, 10 * SECOND)
    assert told(watch.tick(20 * SECOND)) == [(11.0, "return", "returned unacknowledged")]


@pytest.mark.parametrize(("quality", "n"), [("bad", 0), ("uncertain", 1)])
def test_uncertain_readings_count_where_the_alarm_says_so(quality: str, n: int) -> None:
    alarm = AlarmGiven(kind="bad quality", quality="uncertain" if quality == "uncertain" else "bad")
    assert len(watch_of(alarm).miss(0, "uncertain")) == n


DEVIATION = AlarmGiven(kind="deviation", at=1.1, deadband=0.3, on_delay_seconds=2.0)


def test_a_bench_that_strays_from_the_class_is_told_with_the_difference() -> None:
    watch = watch_of(DEVIATION)
    values = [22.1, 23.2, 23.3, 23.3, 23.3, 23.0, 22.9]
    found: list[Change] = []
    for k, value in enumerate(values):
        watch.take(value, k * SECOND - SECOND // 2)
        found += watch.compare(value, 22.1, 8, k * SECOND)
    assert told(found) == [(4.0, "rise", "unacknowledged"), (6.0, "return", "returned unacknowledged")]
    assert isinstance(found[0], AlarmChange)
    assert found[0].value == 1.2


def test_a_bench_below_the_class_strays_as_well() -> None:
    assert len(watch_of(AlarmGiven(kind="deviation", at=1.0)).compare(20.0, 22.0, 3, SECOND)) == 1
    above = AlarmGiven(kind="deviation", at=1.0, side="above")
    assert watch_of(above).compare(20.0, 22.0, 3, SECOND) == []


def test_without_a_class_to_compare_with_a_delay_ends_and_an_alarm_stands() -> None:
    watch = watch_of(DEVIATION)
    watch.compare(30.0, 22.0, 8, 1 * SECOND)
    watch.compare(30.0, 22.0, 2, 2 * SECOND)
    assert watch.tick(10 * SECOND) == []
    watch.compare(30.0, 22.0, 8, 11 * SECOND)
    assert len(watch.compare(None, 22.0, 8, 14 * SECOND)) == 1
    assert watch.alarm("deviation") == "unacknowledged"


def finding(kind: FindingKind, *, weight: Weight = "fault", channel: str = "") -> Finding:
    return Finding(kind=kind, weight=weight, channel=channel, since_ns=0, words="w", evidence="e", remedy="r")


def test_findings_raise_the_alarm_of_their_bench_until_the_last_is_gone() -> None:
    alarms = BenchAlarms(4, [AlarmGiven(kind="finding", priority="high")])
    wrong_baud, stuck = finding("wrong baud"), finding("stuck", channel="temperature")
    found = alarms.take_findings(
        [
            FindingChange(1 * SECOND, 4, "found", wrong_baud),
            FindingChange(2 * SECOND, 4, "found", stuck),
            FindingChange(3 * SECOND, 4, "gone", wrong_baud),
            FindingChange(4 * SECOND, 4, "gone", stuck),
        ]
    )
    assert told(found) == [(1.0, "rise", "unacknowledged"), (4.0, "return", "returned unacknowledged")]


def test_a_further_finding_calls_again_when_the_first_was_seen() -> None:
    alarms = BenchAlarms(4, [AlarmGiven(kind="finding")])
    alarms.take_findings([FindingChange(1 * SECOND, 4, "found", finding("wrong baud"))])
    alarms.acknowledge("finding", 2 * SECOND, "instructor")
    again = alarms.take_findings([FindingChange(3 * SECOND, 4, "changed", finding("wrong baud"))])
    assert again == [], "other words for the same finding are no further reason"
    found = alarms.take_findings([FindingChange(4 * SECOND, 4, "found", finding("stuck"))])
    assert told(found) == [(4.0, "re-alarm", "unacknowledged")]


def test_a_finding_in_the_place_of_another_leaves_the_alarm_standing() -> None:
    alarms = BenchAlarms(4, [AlarmGiven(kind="finding")])
    alarms.take_findings([FindingChange(1 * SECOND, 4, "found", finding("no text"))])
    alarms.acknowledge("finding", 2 * SECOND, "instructor")
    found = alarms.take_findings(
        [
            FindingChange(3 * SECOND, 4, "gone", finding("no text")),
            FindingChange(3 * SECOND, 4, "found", finding("wrong baud")),
        ]
    )
    assert told(found) == [(3.0, "re-alarm", "unacknowledged")]


def test_an_alarm_is_for_the_findings_that_it_names() -> None:
    chosen = AlarmGiven(kind="finding", findings=("wrong baud",), name="baud")
    hints = AlarmGiven(kind="finding", weight="hint", name="any", on_delay_seconds=5.0)
    plain = AlarmGiven(kind="finding")
    alarms = BenchAlarms(4, [chosen, hints, plain, AlarmGiven(kind="high", at=1.0)])
    assert alarms.take_findings([FindingChange(0, 4, "found", finding("too coarse", weight="hint"))]) == []
    assert [c.limit for c in alarms.tick(9 * SECOND) if isinstance(c, AlarmChange)] == ["any"]
    raised = alarms.take_findings([FindingChange(10 * SECOND, 4, "found", finding("wrong baud"))])
    assert [c.limit for c in raised if isinstance(c, AlarmChange)] == ["baud", "finding"]
