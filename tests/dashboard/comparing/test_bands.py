"""Time in bands, as they were held."""

from __future__ import annotations

import pytest

from dashboard.comparing.bands import Stay, stays_within, time_in_bands

STAYS = (Stay(0, 0.0, 10.0), Stay(2, 10.0, 25.0), Stay(0, 40.0, 45.0))


def test_time_in_bands_is_that_in_which_there_was_a_band() -> None:
    found = time_in_bands(STAYS, 3)
    assert [one.seconds for one in found] == [15.0, 0.0, 15.0]
    assert [one.share for one in found] == pytest.approx([0.5, 0.0, 0.5])
    assert time_in_bands((), 3) == ()


def test_a_window_cuts_the_stays_in_the_time_since_the_event() -> None:
    assert stays_within(STAYS, -5.0, 25.0, zero_at=10.0) == (Stay(0, -5.0, 0.0), Stay(2, 0.0, 15.0))
    assert stays_within(STAYS) == STAYS
