from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st

from bridge.core.newest import MAX_SPANS, Newest
from bridge.core.readings import Reading


def reading(value: float | None) -> Reading:
    return Reading(0, 1, "temperature", value, "°C", None, "good", "", 1, 0)


def test_the_span_covers_what_came_after_the_version() -> None:
    newest = Newest()
    for version, value in [(1, 20.0), (2, 25.0), (2, 18.0), (3, 21.0)]:
        newest.take(reading(value), version)
    assert newest.span_since(0) == (18.0, 25.0)
    assert newest.span_since(2) == (21.0, 21.0)
    assert newest.span_since(3) == (None, None)


def test_a_missing_value_is_the_newest_but_in_no_span() -> None:
    newest = Newest()
    newest.take(reading(20.0), 1)
    newest.take(reading(None), 2)
    newest.take(reading(float("nan")), 2)
    assert newest.version == 2
    assert newest.span_since(1) == (None, None)


@settings(deadline=None)
@given(
    frames=st.lists(st.lists(st.floats(-100, 100), max_size=3), max_size=4 * MAX_SPANS),
    since=st.integers(0, 300),
)
def test_a_span_is_never_too_narrow_however_much_was_missed(frames: list[list[float]], since: int) -> None:
    newest = Newest()
    for version, values in enumerate(frames, start=1):
        for value in values:
            newest.take(reading(value), version)
    missed = [value for values in frames[since:] for value in values]
    low, high = newest.span_since(since)
    assert (low is None) == (not missed)
    if low is not None and high is not None:
        assert low <= min(missed)
        assert high >= max(missed)
    if len(frames) - since <= 30:  # a second at most: exact
        assert (low, high) == (min(missed, default=None), max(missed, default=None))
