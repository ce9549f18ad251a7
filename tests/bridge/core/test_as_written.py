from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from bridge.core.as_written import sum_as_written
from bridge.core.bands import HeldBand
from bridge.core.lesson import AlarmGiven, BandsGiven
from bridge.core.watch import ChannelWatch

tenths = st.integers(0, 1000)


@given(a=tenths, b=tenths)
def test_tenths_add_as_they_are_written(a: int, b: int) -> None:
    assert sum_as_written(a / 10, b / 10) == (a + b) / 10
    assert sum_as_written(a / 10, -b / 10) == (a - b) / 10


@given(baseline=tenths, edge=st.integers(1, 300), deadband=st.integers(0, 20))
def test_a_printed_value_on_the_edge_is_in_the_band_above(baseline: int, edge: int, deadband: int) -> None:
    bands = BandsGiven(baseline=baseline / 10, edges=(edge / 10,), names=("", ""), deadband=deadband / 10)
    watch = ChannelWatch(1, "t", bands=bands, baseline=None, limits=())
    watch.take((baseline + edge) / 10, 0)
    assert watch.band == 1
    held = HeldBand(watch.edges, deadband=deadband / 10)
    held.take((baseline + edge) / 10)
    assert held.take((baseline + edge - deadband) / 10) == 1
    assert held.take((baseline + edge - deadband - 1) / 10) == 0


@given(at=tenths, deadband=st.integers(1, 50), is_high=st.booleans())
def test_an_alarm_returns_at_exactly_its_clear_value(at: int, deadband: int, is_high: bool) -> None:
    sign = 1 if is_high else -1
    limit = AlarmGiven(kind="high" if is_high else "low", at=at / 10, deadband=deadband / 10)
    watch = ChannelWatch(1, "t", bands=None, baseline=None, limits=(limit,))
    watch.take((at + sign) / 10, 0)
    clear = (at - sign * deadband) / 10
    assert not watch.low <= clear < watch.high
    assert len(watch.take(clear, 1)) == 1
