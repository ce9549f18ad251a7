"""The recording that is shipped: what `python -m demo.make` made."""

from __future__ import annotations

import pytest

from bridge.core.call_list import CallList
from bridge.core.classroom import Classroom
from bridge.core.pipeline import BenchPipeline
from bridge.core.readings import AlarmChange, BandChange, Change, Reading
from bridge.lesson_file import lesson_from_text, lesson_text
from bridge.recorded import Chunk, Event, Recorded
from bridge.table import outcomes_of
from demo.boards import BOARDS, Board
from demo.faults import DEEDS, DEMO_START_SECONDS, FAULTS, LESSON_SECONDS, KnownFault
from demo.make import LESSON, RECORDING

from .signs import SIGNS

TICK_NS = 250_000_000
SETTLED_SECONDS = 60  # poured, and the sensor as warm as the water


class Session:
    """The whole recording through the pipelines."""

    def __init__(self) -> None:
        self.chunks: dict[int, list[Chunk]] = {board.bench: [] for board in BOARDS}
        self.readings: dict[int, list[Reading]] = {board.bench: [] for board in BOARDS}
        self.alarms: list[AlarmChange] = []
        self.bands: list[BandChange] = []
        self.refused: list[Event] = []  # acknowledgements of alarms that did not wait for one
        with Recorded(RECORDING) as recorded:
            self.lessons = recorded.lessons
            self.markers = recorded.markers
            self.events = recorded.events
            self.length_seconds = recorded.length_ns / 1e9
            self.damage = recorded.damage
            self._play(recorded)

    def _play(self, recorded: Recorded) -> None:
        lesson = lesson_from_text(self.lessons[0][1])
        pipelines = {board.bench: BenchPipeline(lesson, board.bench, cold=True) for board in BOARDS}
        tick_due_ns = 0
        for item in recorded.items():
            if item.at_ns >= tick_due_ns:
                tick_due_ns = item.at_ns + TICK_NS
                for pipeline in pipelines.values():
                    self._keep(pipeline.tick(item.at_ns).changes)
            if isinstance(item, Chunk):
                outcome = pipelines[item.bench].feed(item.data, item.at_ns)
                self.chunks[item.bench].append(item)
                self.readings[item.bench] += outcome.readings
                self._keep(outcome.changes)
            elif isinstance(item, Event) and item.bench is not None:
                pipeline = pipelines[item.bench]
                if item.kind == "break":
                    self._keep(pipeline.break_off(item.at_ns, cold=item.detail["cold"]).changes)
                elif item.kind == "acknowledge":
                    detail = item.detail
                    outcome = pipeline.acknowledge(
                        detail["channel"], detail["limit"], item.at_ns, detail["who"]
                    )
                    if not outcome.changes:
                        self.refused.append(item)
                    self._keep(outcome.changes)

    def _keep(self, changes: list[Change]) -> None:
        self.alarms += [one for one in changes if isinstance(one, AlarmChange)]
        self.bands += [one for one in changes if isinstance(one, BandChange)]

    def text_between(self, bench: int, start: float, end: float) -> bytes:
        return b"".join(one.data for one in self.chunks[bench] if start <= one.at_ns / 1e9 < end)

    def states_at(self, seconds: float) -> dict[tuple[int, str], str]:
        return {
            (one.bench, one.limit): one.state for one in self.alarms if one.at_ns / 1e9 <= seconds
        }  # fmt: skip


@pytest.fixture(scope="module")
def session() -> Session:
    return Session()


def test_it_is_smaller_than_3_mb() -> None:
    assert RECORDING.stat().st_size < 3_000_000


def test_it_is_whole_and_twenty_minutes_long(session: Session) -> None:
    assert session.damage == ""
    assert session.length_seconds == pytest.approx(LESSON_SECONDS, abs=2)


def test_all_eight_benches_are_heard_from_start_to_end(session: Session) -> None:
    for chunks in session.chunks.values():
        assert chunks[0].at_ns < 2e9
        assert chunks[-1].at_ns / 1e9 > LESSON_SECONDS - 2


def test_its_lesson_is_the_lesson_file(session: Session) -> None:
    assert session.lessons == [(0, lesson_text(LESSON))]


@pytest.mark.parametrize("fault", FAULTS, ids=lambda fault: f"{fault.bench} {fault.kind}")
def test_every_known_fault_is_in_it_at_its_time(session: Session, fault: KnownFault) -> None:
    start = fault.from_seconds
    assert SIGNS[fault.kind](session.text_between(fault.bench, start, fault.to_seconds))


def test_the_unplugged_board_is_lost_and_found_within_a_few_seconds(session: Session) -> None:
    (fault,) = (one for one in FAULTS if one.kind == "unplugged")
    links = [one for one in session.events if one.kind == "link" and one.bench == fault.bench]
    assert [one.detail["state"] for one in links] == ["open", "lost", "open"]
    assert links[1].at_ns / 1e9 == pytest.approx(fault.from_seconds, abs=1)
    assert 0 <= links[2].at_ns / 1e9 - fault.to_seconds < 6
    breaks = [one for one in session.events if one.kind == "break"]
    assert [one.bench for one in breaks] == [fault.bench, fault.bench]


SAID_IN = {"acknowledge": "limit", "phase": "phase", "ask": "want", "attend": "call"}


def test_what_people_did_stands_in_it_at_its_time(session: Session) -> None:
    done = [(one.at_ns / 1e9, "marker", one.words) for one in session.markers]
    done += [
        (one.at_ns / 1e9, one.kind, one.detail[SAID_IN[one.kind]])
        for one in session.events
        if one.kind in SAID_IN
    ]
    done.sort()
    assert [one[1:] for one in done] == [(deed.kind, deed.words) for deed in DEEDS]
    assert [one[0] for one in done] == pytest.approx([deed.at_seconds for deed in DEEDS], abs=1)
    assert session.refused == []


def test_what_was_attended_called_before() -> None:
    lists: list[CallList] = []
    with Recorded(RECORDING) as recorded:
        room = Classroom(lesson_from_text(recorded.lessons[0][1]))
        for _ in outcomes_of(recorded.items(), lesson=None, end_ns=recorded.length_ns, room=room):
            if not lists or lists[-1] != room.calls:
                lists.append(room.calls)
    calls = [call for one in lists for call in one.calls]
    attended = {deed.words for deed in DEEDS if deed.kind == "attend"}
    asked = {f"ask/{deed.bench}" for deed in DEEDS if (deed.kind, deed.words) == ("ask", "help")}
    assert {one.id for one in calls if one.kind == "ask"} == asked
    assert {one.id for one in calls if one.attended} == attended - asked  # an ask ends by it
    assert [one.bench for one in lists[-1].done] == [deed.bench for deed in DEEDS if deed.words == "done"]
    assert lists[-1].asked == ()


@pytest.mark.parametrize("board", BOARDS, ids=lambda board: board.cover)
def test_a_good_bench_reads_what_the_physics_says(session: Session, board: Board) -> None:
    step = board.adc.step_volts / 0.010 if board.adc else 1 / 16
    faults = [one for one in FAULTS if one.bench == board.bench and one.kind not in ONLY_PRINTED]
    readings = [
        one
        for one in session.readings[board.bench]
        if one.channel == "temperature"
        and one.at_ns / 1e9 > SETTLED_SECONDS
        # After a fault the sensor needs a while to be as warm as the water again.
        and not any(fault.from_seconds - 1 <= one.at_ns / 1e9 < fault.to_seconds + 30 for fault in faults)
    ]
    assert len(readings) > 700 * board.lines_per_second
    for one in readings:
        assert one.value is not None
        assert one.quality == "good"
        # The count's step, the noise (five standard deviations) and the sensor's small lag.
        true = board.cup.water_celsius(one.at_ns / 1e9)
        assert one.value == pytest.approx(true, abs=step + 0.4)


ONLY_PRINTED = {"integer division", "wrong reference"}  # the reading from the count stays right


def test_where_the_demo_opens_there_is_something_to_be_seen(session: Session) -> None:
    standing = {one for one, state in session.states_at(DEMO_START_SECONDS).items() if state != "normal"}
    assert standing == {(6, "low")}
    held = {one.bench: one.band for one in session.bands if one.at_ns / 1e9 <= DEMO_START_SECONDS}
    assert len(set(held.values())) >= 4
    soon = session.states_at(DEMO_START_SECONDS + 30)
    assert soon[7, "high"] == "unacknowledged"


def test_an_edge_is_not_crossed_back_and_forth_while_a_cup_cools(session: Session) -> None:
    for bench in (1, 2, 4, 8):  # their sensors stay in the water all the time
        bands = [
            one.band for one in session.bands if one.bench == bench and one.at_ns / 1e9 > SETTLED_SECONDS
        ]
        assert bands == sorted(bands, key=lambda band: -(band or 0))
        assert len(bands) == len(set(bands))


def test_no_alarm_is_left_over_at_the_end(session: Session) -> None:
    assert set(session.states_at(LESSON_SECONDS).values()) == {"normal"}
