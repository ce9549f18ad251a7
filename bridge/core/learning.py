"""Finds out how a board's lines are to be read, from the first few of them.

Three lines of one wording decide where the case is certain; greetings and headings in between are no matter.
Otherwise twenty lines decide, or what there is when the time is up. A text that can be read in two ways is
told as a doubt and never read until somebody chooses.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

from .deciding import (
    Way,
    are_alike,
    likely,
    may_be_decimal_commas,
    numbers_of,
    period_of,
    ways_of,
)
from .doubts import Doubt, doubt_between, doubt_of_commas, doubt_of_turns
from .headings import heading_cells
from .layout_words import layout_words
from .layouts import LayoutReader, reader_for
from .layouts_made import Seen, below_a_label, layout_of, record_of, turns_layout
from .lesson import Layout
from .notation import POINT, has_two_points
from .printed import is_missing
from .turns import is_divider
from .wordings import wordings_of

N_LINES = 3  # alike, where the case is certain
N_LATE_LINES = 2  # when the time is up
N_ALL_LINES = 20  # with numbers, after which it is decided
MAX_WORDINGS = 64  # wordings that are counted at a time; of more, the oldest is forgotten
MAX_SEEN = 64  # lines that are kept of each
_NEAR = 0.1  # bare numbers that differ by no more than this part of them are one quantity
MAX_HEADINGS = 8  # text lines that are kept in case one is the heading

_label_line = re.compile(r"\s*([^\W\d_][^:=,;|\t]{0,40}?)\s*[:=]?\s*").fullmatch
_Key = tuple[str, ...]


class Learner:
    """Takes lines' texts until it knows a reader (`reader`) or a doubt (`doubt`)."""

    def __init__(self) -> None:
        self.reader: LayoutReader | None = None
        self.doubt: Doubt | None = None  # why nothing is read; more lines may end it
        self.is_late = False  # the time is up: the next line that is like one before decides
        self.n_seen = 0  # lines with numbers
        self._words = ""
        self._run_together: list[str] = []
        self._newest_text = ""  # of those with numbers
        self._seen: dict[_Key, Seen] = {}
        self._headings: list[str] = []
        self._label_ahead = ""  # a text on the line before, which may be the label of a number
        self._since_divider: int | None = None  # bare numbers since the last divider
        self._between_dividers: list[int] = []  # how many stood between two

    @property
    def words(self) -> str:
        """What was found and how sure it is, in words."""
        return self._words or (self.doubt.words if self.doubt is not None else "not known yet")

    @property
    def run_together(self) -> tuple[str, ...]:
        """Lines whose numbers run together, when that is all that comes: nobody can read them."""
        is_all = self.reader is None and len(self._run_together) >= max(N_LINES, self._best_count() + 1)
        return tuple(self._run_together) if is_all else ()

    @property
    def has_begun(self) -> bool:
        """Whether a line with numbers was seen."""
        return self.n_seen > 0

    def take(self, text: str) -> None:
        """Look at one more line; nothing happens any more once a reader is there, or a doubt for good."""
        if self.reader is not None or (self.doubt is not None and self.n_seen >= N_ALL_LINES):
            return
        wordings = [one for one in wordings_of(text) if one.n_numbers]
        if any(map(has_two_points, (number for one in wordings for number in one.texts))):
            self._run_together = [*self._run_together, text][-MAX_HEADINGS:]
            return
        if not wordings:
            self._take_text(text)
            return
        self.n_seen += 1
        self._newest_text = text.strip()
        if self._label_ahead:
            wordings += below_a_label(self._label_ahead, wordings[0])
        self._label_ahead = ""
        if self._since_divider is not None:
            self._since_divider += 1
        for one in wordings:
            seen = self._seen.setdefault(one.key, [])
            seen.append((self.n_seen, one))
            del seen[:-MAX_SEEN]
        while len(self._seen) > MAX_WORDINGS:
            del self._seen[next(iter(self._seen))]
        best = max(len(self._seen.get(one.key, ())) for one in wordings)
        if best >= (N_LATE_LINES if self.is_late else N_LINES):
            self._decide(is_final=self.is_late or self.n_seen >= N_ALL_LINES)

    def time_is_up(self) -> None:
        """Decide by what there is: two lines alike, now or once they come. One alone may be a greeting."""
        self.is_late = True
        if self.reader is None and self._best_count() >= N_LATE_LINES:
            self._decide(is_final=True)

    def finish(self) -> None:
        """No more lines will come: decide by those that did."""
        if self.reader is None and self.doubt is None and self._seen:
            self._decide(is_final=True, is_last=True)

    def _take_text(self, text: str) -> None:
        if is_divider(text):
            if self._since_divider is not None:
                self._between_dividers = [*self._between_dividers, self._since_divider][-MAX_SEEN:]
            self._since_divider, self._label_ahead = 0, ""
            return
        if is_missing(text):
            return
        label = _label_line(text)
        self._label_ahead = label[1] if label else ""
        if not self.n_seen:
            self._headings = [*self._headings, text][-MAX_HEADINGS:]

    def _best_count(self) -> int:
        return max(map(len, self._seen.values()), default=0)

    def _decide(self, *, is_final: bool, is_last: bool = False) -> None:
        best = max(self._seen.values(), key=len)
        if records := record_of(self._seen.values(), best):
            if len(records) == 1 or is_final:
                self._use(records, len(best))
            return
        rivals = [seen for seen in self._seen.values() if seen is not best and _overlap(seen, best)]
        groups = [(frozenset(i for i, _ in seen), [one for _, one in seen]) for seen in (best, *rivals)]
        ways = ways_of([group for group in groups if group[1][0].kind == best[0][1].kind])
        if not ways:
            return
        if len(ways) > 1:
            ways = self._named_by_a_heading(ways) or likely(ways)
        first = ways[0].seen[0]
        is_bare = len(ways) == 1 and ways[0].n == 1 and first.kind == "columns"
        if is_bare and self._is_a_turn_of_several(ways[0], is_final=is_final, is_last=is_last):
            return
        if len(ways) == 1 and may_be_decimal_commas(ways[0]):
            if is_final:
                self._ask(doubt_of_commas(layout_of(ways[0], self._headings), self._newest_text))
            return
        if len(ways) == 1 or is_final:
            ordered = sorted(ways, key=lambda way: (way.notation == POINT, bool(way.notation.thousands)))
            self._use([layout_of(way, self._headings) for way in ordered], len(ways[0].seen))

    def _named_by_a_heading(self, ways: Sequence[Way]) -> list[Way]:
        """The ways with as many columns as a heading names."""
        return [
            way
            for way in ways
            if way.n > 1 and any(heading_cells(one, way.seen[0].separator, way.n) for one in self._headings)
        ]

    def _ask(self, doubt: Doubt) -> None:
        self.doubt = self.doubt or doubt

    def _use(self, layouts: Sequence[Layout], n: int) -> None:
        """One layout is used; several are a doubt."""
        if len(layouts) > 1:
            self._ask(doubt_between(layouts, self._newest_text))
            return
        self.doubt = None
        self.reader = reader_for(layouts[0])
        sure = f"the same in {n} lines" if n >= N_LINES else f"judged by {n} line{'s' * (n > 1)} only"
        self._words = f"{layout_words(layouts[0])}; {sure}"

    def _is_a_turn_of_several(self, way: Way, *, is_final: bool, is_last: bool) -> bool:
        """Whether bare numbers are, or may be, those of a record in turn: then they are not one quantity."""
        units = {unit for one in way.seen for unit in one.units if unit}
        has_labels_above = any(len(seen) > 1 and seen[0][1].kind == "record" for seen in self._seen.values())
        if len(units) > 1 or (has_labels_above and not is_final):
            return True  # until it is known which comes in turn with which
        if self._between_dividers and max(self._between_dividers) > 1:
            sizes = self._between_dividers[1:] or self._between_dividers
            if len(self._between_dividers) > 1 and len(set(sizes)) == 1 and sizes[0] > 1:
                self._use([turns_layout(way, sizes[0], self._headings, with_decimals=False)], len(way.seen))
            return True
        if are_alike(way):
            return False
        numbers = list(numbers_of(way))
        n = period_of(numbers)
        is_enough = is_final or len(numbers) >= 3 * n
        if n and is_enough:
            turns = turns_layout(way, n, self._headings, with_decimals=True)
            single = layout_of(way, self._headings)
            self._ask(doubt_of_turns(turns, single, [one.texts[0] for one in way.seen[:n]]))
            return True
        if not is_final:
            return True
        has_same_decimals = len({one.decimals for one in numbers if one.value is not None}) == 1
        values = [one.value for one in numbers if one.value is not None]
        are_near = max(values) - min(values) <= _NEAR * max(map(abs, values)) if values else False
        return not (has_same_decimals or are_near or is_last or self.n_seen >= N_ALL_LINES)


def _overlap(seen: Seen, best: Seen) -> bool:
    lines = {i for i, _ in seen}
    return len(lines.intersection(i for i, _ in best)) * 2 > len(best)
