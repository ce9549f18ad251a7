"""While somebody must choose how the text is read: nothing is read, but the text may settle it by itself."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal, NamedTuple

from bridge.core.doubts import Doubt
from bridge.core.framing import Line
from bridge.core.layouts import LayoutReader, reader_for
from bridge.core.learning import Learner
from bridge.core.lesson import Layout
from bridge.core.misfits import Misfits
from bridge.core.text_runs import Fates, Shown, has_digit

N_BACK = 10  # lines in a row that fit again end a doubt about a change


class Heard(NamedTuple):
    """Lines up to one with which something happened."""

    shown: Shown  # as many as were taken
    event: Literal["", "settled", "misfits"] = ""  # with the last line


class Asking:
    """One doubt, as long as it stands.

    Args:
        doubt: What is asked.
        fates: Counts what is not read.
        learner: What learns from the lines; more of them may show it which way is right.
        before: What read the text before it changed, None when it never was read.
        can_return: The old lines can be told from those that come now: when they are back, all is well.
    """

    def __init__(
        self,
        doubt: Doubt,
        fates: Fates,
        *,
        learner: Learner | None = None,
        before: LayoutReader | None = None,
        can_return: bool = False,
    ) -> None:
        self.doubt, self.before = doubt, before
        self.misfits = Misfits()  # lines that none of the alternatives reads
        self.settled: tuple[Layout, str] | None = None  # the layout that the text shows after all, and why
        self._fates, self._learner, self._can_return = fates, learner, can_return
        self._readers = tuple(map(reader_for, doubt.alternatives))
        self._n_back = 0

    def hear(self, lines: Sequence[Line]) -> Heard:
        """Set lines aside, until something happens that concerns the lines that follow."""
        heard = Heard([])
        for line in lines:
            if line.flaws:
                heard.shown.append((line, self._fates.flawed(line)))
                continue
            heard.shown.append((line, self._fates.unread(line)))
            if self._settles(line.text):
                return heard._replace(event="settled")
            if any(one.values(line.text) is not None or one.partial for one in self._readers):
                self.misfits.end()
            elif self.misfits.take(line):
                return heard._replace(event="misfits")
        return heard

    def _settles(self, text: str) -> bool:
        if self._learner is not None:
            self._learner.take(text)
            if self._learner.reader is not None:
                self.settled = (self._learner.reader.layout, "more lines have shown it")
        if self._can_return and self.before is not None and has_digit(text):
            self._n_back = self._n_back + 1 if self.before.values(text) is not None else 0
            if self._n_back >= N_BACK:
                self.settled = (self.before.layout, "the text is what it was before")
        return self.settled is not None
