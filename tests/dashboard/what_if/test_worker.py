"""The page's work beside its requests: followed, stopped, told in words, and drawn."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

from dashboard.what_if import Change, Source, change_of, settings_of
from dashboard.what_if.courses import over_each_other, side_by_side
from dashboard.what_if.ribbons import ribbons
from dashboard.what_if.worker import Job, Worker
from tests.dashboard.test_supervising import wait_until
from tests.dashboard.what_if.recorded import record_cups

VOLTS = ("conversion", "sensor", "reference_volts")


@pytest.fixture(scope="module")
def source(tmp_path_factory: pytest.TempPathFactory) -> Source:
    return Source.of(record_cups(tmp_path_factory.mktemp("cups") / "cups.benchrow"))


@pytest.fixture
def worker() -> Iterator[Worker]:
    one = Worker()
    yield one
    one.close()


def volts(source: Source, typed: str) -> tuple[Change, ...]:
    setting = next(one for group in settings_of(source.text) for one in group.settings if one.path == VOLTS)
    change = change_of(setting, typed)
    assert change is not None
    return (change,)


def done(worker: Worker, name: str) -> Job:
    job = worker.job(name)
    assert job is not None
    wait_until(lambda: job.is_done, "both results")
    return job


def test_what_the_recording_shows_is_computed_once_for_many_changes(source: Source, worker: Worker) -> None:
    first = done(worker, worker.begin(source, volts(source, "3.3")))
    second = done(worker, worker.begin(source, volts(source, "3.0")))
    assert first.found is not None
    assert second.found is not None
    assert second.found.both.before is first.found.both.before
    assert first.share == second.share == 1.0
    assert first.found.channels == ("temperature",)


def test_a_job_that_is_stopped_has_no_result_and_the_next_one_has(source: Source, worker: Worker) -> None:
    name = worker.begin(source, volts(source, "3.3"))
    job = worker.job(name)
    assert job is not None
    job.stop()
    assert done(worker, name).found is None
    assert job.failure == ""
    assert done(worker, worker.begin(source, volts(source, "3.3"))).found is not None


def test_only_the_newest_are_kept(source: Source, worker: Worker) -> None:
    names = [worker.begin(source, volts(source, f"{n}.5")) for n in range(1, 6)]
    done(worker, names[-1])
    assert worker.job(names[0]) is None
    assert worker.job("no such job") is None
    assert worker.job(None) is None


def test_of_long_recordings_fewer_are_kept(
    source: Source, worker: Worker, monkeypatch: pytest.MonkeyPatch
) -> None:
    names = [worker.begin(source, volts(source, typed)) for typed in ("1.5", "2.5")]
    n_readings = sum(len(found.both.before.table) for name in names if (found := done(worker, name).found))
    assert n_readings
    monkeypatch.setattr("dashboard.what_if.worker.KEPT_READINGS", int(1.5 * n_readings))  # three sessions
    names.append(worker.begin(source, volts(source, "3.5")))
    assert done(worker, names[-1]).found is not None
    assert [worker.job(name) is not None for name in names] == [False, True, True]


def test_what_fails_is_told_in_words(tmp_path: Path, source: Source, worker: Worker) -> None:
    gone = Source(path=tmp_path / "gone.benchrow", text=source.text)
    assert "there is no recording" in done(worker, worker.begin(gone, volts(source, "3.3"))).failure
    assert "3.3 V" in done(worker, worker.begin(source, volts(source, "3300"))).failure


def test_the_time_that_is_left_goes_by_what_is_done() -> None:
    now = [100.0]
    job = Job(clock=lambda: now[0])
    assert job.words == "Waiting for what was begun before …"
    job.begin()
    assert job.told(0.01)
    assert job.words == "Computing both … 1%"
    now[0] = 104.0
    assert job.told(0.4)
    assert job.words == "Computing both … 40%, about 6 s left"
    job.told(0.3)  # never back
    assert job.share == 0.4
    now[0] = 140.0
    assert job.words == "Computing both … 40%, about 1:00 min left"
    job.stop()
    assert not job.told(0.5)
    job.end()
    now[0] = 200.0
    assert job.seconds == 40.0


def test_both_are_drawn_in_session_time_with_the_bands_that_were_held(source: Source, worker: Worker) -> None:
    found = done(worker, worker.begin(source, volts(source, "3.3"))).found
    assert found is not None
    before, after = (one.figure for one in side_by_side(found.both, "temperature", [1, 2]))
    assert before.layout.yaxis.range == after.layout.yaxis.range
    tops = [max(np.nanmax(one.y) for one in figure.data if one.mode == "lines" and one.xaxis is None)
            for figure in (before, after)]  # fmt: skip
    assert tops == pytest.approx([1.0 * tops[1] * 5 / 3.3, tops[1]], rel=1e-3)
    over = over_each_other(found.both, "temperature", [1, 2])
    dashes = [one.line.dash for one in over.figure.data if one.mode == "lines" and one.xaxis is None]
    assert dashes.count("7px,4px") == dashes.count("solid") == 4, "two benches, each curve with its outline"
    assert "Dashed: before" in over.figure.layout.meta["words"]
    assert [one.text for one in over.figure.layout.annotations] == ["high 50"], "the same limit in both"
    bands = ribbons(found.both, "temperature", [1, 2])
    assert bands is not None
    hatched = [one for one in bands.figure.data if one.fill == "toself" and one.fillpattern.shape]
    filled = [one for one in bands.figure.data if one.fill == "toself" and not one.fillpattern.shape]
    assert (len(hatched), len(filled)) == (2, 2)
    assert max(one for one in filled[0].x if one is not None) == pytest.approx(
        found.both.after.length_ns / 1e9
    )
    assert ribbons(found.both, "temperature", []) is None
