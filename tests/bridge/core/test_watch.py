from __future__ import annotations

from dataclasses import replace

from hypothesis import given
from hypothesis import strategies as st

from bridge.core.lesson import AlarmGiven, BandsGiven
from bridge.core.readings import AlarmChange, BandChange, Change
from bridge.core.watch import ChannelWatch

BANDS = BandsGiven(baseline=20.0, edges=(2.0, 5.0), names=("", "", ""), deadband=0.5)
LIMITS = (
    AlarmGiven(kind="high", at=24.0, deadband=0.5, on_delay_seconds=2e-9, off_delay_seconds=3e-9),
    AlarmGiven(kind="low", at=19.0, deadband=0.25),
)


def new_watch() -> ChannelWatch:
    return ChannelWatch(3, "temperature", bands=BANDS, baseline=None, limits=LIMITS)


VALUES = st.lists(
    st.sampled_from([18.5, 19.0, 19.25, 19.3, 21.4, 21.5, 22.0, 23.5, 23.6, 24.0, 24.1, 25.0]), max_size=60
)


def all_looked_at(values: list[float]) -> list[Change]:
    watch = new_watch()
    found = [change for i, value in enumerate(values) for change in watch.take(value, i)]
    return found + watch.tick(len(values) + 10)


@given(values=VALUES)
def test_values_inside_the_quiet_span_change_nothing(values: list[float]) -> None:
    watch, found = new_watch(), []
    for i, value in enumerate(values):
        if watch.due_ns <= i or not watch.low <= value < watch.high:
            found += watch.take(value, i)
        else:
            watch.value = value
    assert found + watch.tick(len(values) + 10) == all_looked_at(values)


@given(values=VALUES, ticks=st.sets(st.integers(0, 60)))
def test_the_changes_do_not_depend_on_when_time_is_told(values: list[float], ticks: set[int]) -> None:
    watch, found = new_watch(), []
    for i, value in enumerate(values):
        found += watch.take(value, i)
        if i in ticks:
            found += watch.tick(i)
    assert found + watch.tick(len(values) + 10) == all_looked_at(values)


def test_a_bench_has_its_own_baseline() -> None:
    watch = ChannelWatch(3, "temperature", bands=BANDS, baseline=10.0, limits=())
    assert watch.edges == (12.0, 15.0)
    watch.take(13.0, 0)
    assert watch.band == 1


def test_bands_wait_for_a_baseline_that_is_captured() -> None:
    given = BandsGiven(edges=(2.0, 5.0), names=("", "", ""), baseline_from="captured", deadband=0.5)
    watch = ChannelWatch(3, "temperature", bands=given, baseline=None, limits=())
    assert watch.take(23.0, 0) == []
    assert (watch.band, watch.edges) == (None, ())
    assert watch.set_baseline(20.1, 5) == [BandChange(5, 3, "temperature", 1, None)]
    assert watch.edges == (22.1, 25.1)
    assert watch.set_baseline(20.1, 6) == []
    assert watch.set_baseline(17.0, 7) == [BandChange(7, 3, "temperature", 2, 1)]
    assert watch.set_baseline(None, 8) == [BandChange(8, 3, "temperature", None, 2)]


def test_a_revised_lesson_keeps_the_baseline_that_was_captured_and_the_times_in_the_bands() -> None:
    given = BandsGiven(edges=(2.0, 5.0), names=("", "", ""), baseline_from="captured")
    older = ChannelWatch(3, "temperature", bands=given, baseline=None, limits=())
    older.set_baseline(20.0, 0)
    older.take(23.0, 10)
    newer = ChannelWatch(3, "temperature", bands=given, baseline=None, limits=())
    newer.resume_from(older)
    assert newer.edges == (22.0, 25.0)
    newer.take(20.5, 30)
    assert newer.tally is not None
    assert [round(one.seconds * 1e9) for one in newer.tally.totals(35)] == [5, 20, 0]
    assert newer.tally.n_changes == 1


def test_a_dwell_that_ends_without_a_value_takes_effect_at_its_instant() -> None:
    given = BandsGiven(baseline=20.0, edges=(2.0,), names=("", ""), dwell_seconds=3e-8)
    watch = ChannelWatch(3, "temperature", bands=given, baseline=None, limits=())
    watch.take(21.0, 0)
    watch.take(23.0, 5)
    assert watch.due_ns == 30
    assert watch.tick(100) == [BandChange(30, 3, "temperature", 1, 0)]


RUN_BANDS = BandsGiven(baseline=20.0, edges=(4.0,), names=("cold", "warm"), phases=("run",))


def in_phases(limits: tuple[AlarmGiven, ...] = ()) -> ChannelWatch:
    return ChannelWatch(3, "t", bands=BANDS, baseline=None, limits=limits, phase_bands=(RUN_BANDS,))


def test_a_phase_switches_the_bands_and_back_and_each_keeps_its_times() -> None:
    watch = in_phases()
    watch.take(23.0, 0)
    assert (watch.band, watch.edge_names) == (1, ("", "", ""))
    changes = watch.enter_phase("run", 10, "instructor")
    assert changes == [BandChange(10, 3, "t", None, 1), BandChange(10, 3, "t", 0, None)]
    assert (watch.edges, watch.edge_names) == ((24.0,), ("cold", "warm"))
    watch.take(25.0, 15)
    changes = watch.enter_phase("", 30, "instructor")
    assert changes == [BandChange(30, 3, "t", None, 1), BandChange(30, 3, "t", 2, None)]
    now, of_run = watch.band_times(40)
    assert (now.is_on, now.phases, [round(one.seconds * 1e9) for one in now.totals]) == (
        True,
        (),
        [0, 10, 10],
    )
    assert (of_run.is_on, of_run.phases) == (False, ("run",))
    assert [round(one.seconds * 1e9) for one in of_run.totals] == [5, 15]
    assert (of_run.n_changes, of_run.n_avoided) == (1, 0)


def test_a_rate_limit_of_a_phase_is_watched_in_it_alone() -> None:
    second = 1_000_000_000
    calm, quick = (
        AlarmGiven(kind="rate of change", at=at, window_seconds=4.0, phases=(phase,), name=phase)
        for phase, at in (("run", 5.0), ("pour", 500.0))
    )
    watch, found = in_phases((calm, quick)), []
    watch.enter_phase("pour", 0)
    for i in range(160):
        if i == 80:
            found += watch.enter_phase("run", i * second // 4)
        found += watch.take(20.0 + i / 8, i * second // 4)  # 30 a minute
    told = [(one.limit, one.event, one.state) for one in found if isinstance(one, AlarmChange)]
    assert told == [
        ("run", "rise", "suppressed"),  # written down, but nobody is called
        ("run", "unsuppress", "unacknowledged"),
        ("pour", "suppress", "suppressed"),
    ]
    assert (watch.alarm("run"), watch.alarm("pour")) == ("unacknowledged", "suppressed")


def test_a_revised_deadband_keeps_the_captured_baseline_and_the_times() -> None:
    given = BandsGiven(edges=(2.0, 5.0), names=("", "", ""), baseline_from="captured")
    older = ChannelWatch(3, "t", bands=given, baseline=None, limits=())
    older.set_baseline(20.0, 0)
    older.take(23.0, 10)
    newer = ChannelWatch(3, "t", bands=replace(given, deadband=0.5), baseline=None, limits=())
    newer.resume_from(older)
    newer.take(26.0, 30)
    (times,) = newer.band_times(35)
    assert [round(one.seconds * 1e9) for one in times.totals] == [0, 20, 5]
    assert (times.begun_ns, times.n_edge_changes, times.n_avoided) == (10, 1, 0)
