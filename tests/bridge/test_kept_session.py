"""A recording in one go gives what its readings and its findings give one after the other."""

from __future__ import annotations

import pandas as pd
import pytest

from bridge import (
    findings_of_recording,
    layouts_of_recording,
    read_recording,
    read_session,
    readings_of_recording,
)
from dashboard.shipped import demo_folder

DEMO = demo_folder() / "recording.benchrow"


def test_one_go_gives_the_same_readings_and_findings_and_tells_how_far_it_has_come() -> None:
    shares: list[float] = []
    found = read_session(DEMO, progress=shares.append)
    pd.testing.assert_frame_equal(found.table, read_recording(DEMO))
    assert list(found.findings) == findings_of_recording(DEMO)
    assert list(found.layouts) == layouts_of_recording(DEMO)
    assert list(found.reasons) == [one.reason for one in readings_of_recording(DEMO)]
    assert found.lesson.bench(3).name == "Foil"
    assert found.title == found.lesson.title != ""
    assert (shares[0], shares[-1]) == (0.0, 1.0)
    assert shares == sorted(shares)
    assert len(shares) > 100


def test_what_the_progress_raises_ends_the_reading() -> None:
    class LetGoError(Exception):
        pass

    def let_go(share: float) -> None:
        if share > 0.02:
            raise LetGoError

    with pytest.raises(LetGoError):
        read_session(DEMO, progress=let_go)
