"""Formulas by a table of points; what comes of volts and millivolts mixed up."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from bridge.core.checking.curve import Curve
from bridge.core.checking.intervals import Numbers
from bridge.core.checking.mistakes import Mistake
from bridge.core.conversion_given import Conversion


def millivolts() -> Iterator[tuple[float, Mistake]]:
    """What the volts are multiplied by when the two units are mixed up."""
    yield 1000.0, Mistake("millivolts", "takes millivolts for volts", 1000.0)
    yield 0.001, Mistake("millivolts", "takes volts for millivolts", 0.001, rarity=0.1)


def tables_of(expected: Conversion, what: str) -> Iterator[Curve]:
    """Held at the table's ends, and going straight on there: what the sensor itself never comes to."""
    xs = np.array([x for x, _ in expected.points])
    ys = np.array([y for _, y in expected.points])

    def held(x: Numbers) -> Numbers:
        found: Numbers = np.interp(x, xs, ys)
        return found

    def straight_on(x: Numbers) -> Numbers:
        below = ys[0] + (x - xs[0]) * (ys[1] - ys[0]) / (xs[1] - xs[0])
        above = ys[-1] + (x - xs[-1]) * (ys[-1] - ys[-2]) / (xs[-1] - xs[-2])
        return np.where(x < xs[0], below, np.where(x > xs[-1], above, held(x)))

    for value in (held, straight_on):
        yield Curve(f"by the table of {what}, {what} = {{x}}", value)
    if what == "V":
        for factor, mistake in millivolts():
            yield Curve(f"by the table of V, V = {{x}} × {factor:g}", lambda x, k=factor: held(k * x),  # type: ignore[misc]
                        mistakes=(mistake,))  # fmt: skip
