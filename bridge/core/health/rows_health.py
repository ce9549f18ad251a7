"""Everything that is judged by a bench's rows of numbers."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from bridge.core.exact import Values
from bridge.core.framing import Line

from .below_zero import BelowZero
from .clocks import Clocks
from .companions import Companions
from .hum import Hum
from .lost_zeros import LostZeros
from .neighbours import Neighbours
from .noise import UsualNoise
from .pins import Pins
from .placeholders import Placeholders
from .seen import ChannelSeen
from .signs import SECOND_NS, Book, Signs
from .standstill import Standstill
from .steps import Steps
from .traffic import Traffic
from .window import Look, Window


class RowsHealth:
    """The detectors that look at rows of numbers; made anew for another layout."""

    def __init__(self, fields: tuple[ChannelSeen, ...], n_fields: int, book: Book, traffic: Traffic) -> None:
        self._n_fields, self._book, self._traffic = n_fields, book, traffic
        self._companions = Companions()
        self._steps = Steps(n_fields)
        self.describe(fields)
        self.restart()

    def describe(self, fields: tuple[ChannelSeen, ...]) -> None:
        """The same fields, perhaps with other rails."""
        self._given = fields
        self.fields = self._steps.told(fields)

    def restart(self) -> None:
        """The port was opened or lost: the rows begin anew; which field is made of which still holds."""
        self.window = Window(self._n_fields)
        self._usual = UsualNoise()
        self._standstill = Standstill(self._companions, self._usual, self._n_fields)
        self._pins = Pins(self._companions, self._usual)
        self._below_zero, self._placeholders = BelowZero(), Placeholders(self._usual)
        self._slow: tuple[tuple[int, Callable[[Look], list[Signs]]], ...] = (
            (5 * SECOND_NS, Neighbours(self._companions, self._usual).signs),
            (5 * SECOND_NS, LostZeros(self._usual).signs),
            (10 * SECOND_NS, Hum(self._companions, self._usual).signs),
            (10 * SECOND_NS, Clocks().signs),
        )
        self._slow_signs: list[list[Signs]] = [[] for _ in self._slow]
        self._signs: list[Signs] = []

    def take(self, at_ns: int, rows: Sequence[Values], lines: Sequence[Line]) -> Look | None:
        """The rows of the second that ends now; None when there are none."""
        if not rows or len(rows[0]) != self._n_fields:
            return None
        n_new = self.window.add(rows, lines)
        if self._steps.take(self.window.values(n_new), lines[-1].text):
            self.fields = self._steps.told(self._given)
        return self.look(at_ns, n_new)

    def look(self, at_ns: int, n_new: int) -> Look:
        """What the detectors look at."""
        return Look(at_ns, self.window, self.fields, n_new, self._book.stands)

    def signs(self, at_ns: int, look: Look | None) -> list[Signs]:
        """What is seen in the rows; without new ones, what was seen before."""
        if look is not None:
            self._standstill.take(look)
            self._usual.look(look, self._standstill.same_rows)
            self._companions.look(look)
            self._signs = [
                *self._below_zero.signs(look), *self._placeholders.signs(look), *self._pins.signs(look),
                *self._standstill.signs(look), *self._traffic.rate_signs(look),
            ]  # fmt: skip
        for i, (every_ns, signs_of) in enumerate(self._slow):
            if at_ns % every_ns == 0 and self.window.n:
                self._slow_signs[i] = signs_of(look or self.look(at_ns, 0))
        return self._signs + [one for signs in self._slow_signs for one in signs]
