"""Lines in a row that do not fit the layout any more: when there are enough, they are learned from anew."""

from __future__ import annotations

import re
from collections import deque

from .framing import Line
from .layouts import reader_for
from .learning import MAX_HEADINGS, Learner

N_MISFITS = 10  # lines with numbers in a row that do not fit
MIN_MISFITS = 3  # so many are enough when they have been coming for MISFIT_NS
MISFIT_NS = 5_000_000_000
MAX_KEPT = 64
_SHARE = 0.6  # of the lines that a new layout must read: a boot log has a few that are alike

_has_digit = re.compile(r"[0-9]").search


class Misfits:
    """One run of such lines. A line that fits ends it; text without numbers neither counts nor ends it."""

    def __init__(self) -> None:
        self.n = 0  # with numbers, since the run began
        self.newest = ""
        self.run_together: tuple[str, ...] = ()  # those of them whose numbers run together
        self.is_told = False
        self._first_ns = 0
        self._lines: deque[Line] = deque(maxlen=MAX_KEPT)
        self._next_try = N_MISFITS
        self._tried = False

    def end(self) -> None:
        """A line fits again."""
        if self._lines:
            self.__init__()  # type: ignore[misc]  # as it was at first

    def take(self, line: Line) -> bool:
        """One more line that does not fit; True when it is time to learn from them."""
        if not _has_digit(line.text):
            if not self.n and len(self._lines) >= MAX_HEADINGS:
                self._lines.popleft()
            self._lines.append(line)  # it may be the heading of those that follow
            return False
        self._lines.append(line)
        self.n += 1
        self.newest = line.text
        if self.n == 1:
            self._first_ns = line.at_ns
        is_long = line.at_ns - self._first_ns >= MISFIT_NS
        return self.n >= (min(self._next_try, MIN_MISFITS) if is_long and not self._tried else self._next_try)

    def learn(self) -> Learner | None:
        """What reads these lines, or a doubt; None when they are not alike: again after some more."""
        self._next_try, self._tried = self.n + N_MISFITS, True
        learner = Learner()
        for line in self._lines:
            learner.take(line.text)
        learner.time_is_up()
        self.run_together = learner.run_together
        readers = [learner.reader] if learner.reader is not None else []
        if learner.doubt is not None:
            readers = list(map(reader_for, learner.doubt.alternatives))
        numbers = [line.text for line in self._lines if _has_digit(line.text)]
        for reader in readers:
            reader.break_off()
            fits = sum(reader.values(text) is not None or reader.partial for text in numbers)
            if fits >= max(MIN_MISFITS, _SHARE * len(numbers)):
                return learner
        return None
