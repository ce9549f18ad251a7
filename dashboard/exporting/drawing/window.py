"""Which values a plot shows: a board whose input floats must not press everybody's curve flat."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from dashboard.comparing.series import Series
from dashboard.exporting.drawing.scales import padded
from dashboard.exporting.drawing.thinning import COVERAGE

Span = tuple[float, float]
MOST_HIDDEN = 0.1  # of the readings, that may lie beyond a plot
_FAR = 1.5  # times the span that is shown: less is shown whole
_NEAR = 0.25  # of the span: a limit no farther away is shown with the curves
_RARE = 0.01  # of the readings at either side, where no usual scale is known


def time_span(series: Sequence[Series]) -> Span:
    """From the start of the session, or from the first reading where that comes late, to the last."""
    known = [one.seconds for one in series if len(one)]
    if not known:
        return 0.0, 60.0
    begin, end = min(float(one[0]) for one in known), max(float(one[-1]) for one in known)
    begin = 0.0 if 0.0 <= begin < 0.1 * end else begin
    return (begin, end) if begin < end else (begin, begin + 1.0)


def value_span(series: Sequence[Series], lines: Sequence[float] = (), usual: Span | None = None) -> Span:
    """From which value to which a plot reaches.

    All values with twice their uncertainty; but when few lie far outside of the usual scale, or without one
    far outside of where all but the rarest lie, then these are beyond the plot, and it says so.

    Args:
        series: All that is drawn.
        lines: Values of lines across the plot, shown where they lie near.
        usual: The scale that the lesson gives.
    """
    known = [one for one in series if len(one)]
    if not known:
        return 0.0, 1.0
    values = np.concatenate([one.values for one in known])
    reach = np.concatenate([COVERAGE * np.nan_to_num(one.u) for one in known])
    low, high = float((values - reach).min()), float((values + reach).max())
    rare = tuple(np.quantile(values, [_RARE, 1 - _RARE]).tolist())
    for window in (usual, padded(*rare, share=0.25)):
        if (
            window is not None
            and _hides_little(values, window)
            and high - low > _FAR * (window[1] - window[0])
        ):
            low, high = max(low, window[0]), min(high, window[1])
            break
    near = _NEAR * (high - low)
    shown = [one for one in lines if low - near <= one <= high + near]
    return padded(min([low, *shown]), max([high, *shown]))


def beyond_words(series: Sequence[tuple[str, Series]], span: Span) -> Iterator[str]:
    """Whose values lie beyond the plot, and how far they go."""
    for name, one in series:
        least, greatest = float(one.values.min()), float(one.values.max())
        if least < span[0] or greatest > span[1]:
            yield f"{name} goes beyond the plot: from {least:.4g} to {greatest:.4g}.".replace(" -", " −")


def _hides_little(values: np.ndarray[tuple[int], np.dtype[np.float64]], window: Span) -> bool:
    hidden = (values < window[0]) | (values > window[1])
    return 0 < int(hidden.sum()) <= MOST_HIDDEN * len(values)
