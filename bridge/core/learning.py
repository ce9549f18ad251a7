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
from .headings import column_fields, heading_cells, labelled_fields
from .layout_words import MARK_WORDS, layout_shown, layout_words
from .layouts import LayoutReader, reader_for
from .lesson import FieldSpec, Layout
from .notation import POINT, has_two_points, notations_of
from .printed import is_missing
from .turns import is_divider
from .wordings import Wording, wordings_of

N_LINES = 3  # alike, where the case is certain
N_LATE_LINES = 2  # when the time is up
N_ALL_LINES = 20  # with numbers, after which it is decided
MAX_WORDINGS = 64  # wordings that are counted at a time; of more, the oldest is forgotten
MAX_SEEN = 64  # lines that are kept of each
_NEAR = 0.1  # bare numbers that differ by no more than this part of them are one quantity
MAX_HEADINGS = 8  # text lines that are kept in case one is the heading

_label_line = re.compile(r"\s*([^\W\d_][^:=,;|\t]{0,40}?)\s*[:=]?\s*").fullmatch
_Key = tuple[str, ...]
_Seen = list[tuple[int, Wording]]


class Learner:
    """Takes lines' texts until it knows a reader (`reader`) or a doubt (`doubt`)."""

    def __init__(self) -> None:
        self.reader: LayoutReader | None = None
        self.doubt = ""  # why nothing is read, and what to do; "" without a doubt
        self.alternatives: tuple[Layout, ...] = ()  # the layouts between which the doubt is
        self.is_late = False  # the time is up: the next line that is like one before decides
        self.n_seen = 0  # lines with numbers
        self._words = ""
        self._run_together: list[str] = []
        self._newest_text = ""  # of those with numbers
        self._seen: dict[_Key, _Seen] = {}
        self._headings: list[str] = []
        self._label_ahead = ""  # a text on the line before, which may be the label of a number
        self._since_divider: int | None = None  # bare numbers since the last divider
        self._between_dividers: list[int] = []  # how many stood between two

    @property
    def words(self) -> str:
        """What was found and how sure it is, in words."""
        return self._words or self.doubt or "not known yet"

    @property
    def run_together(self) -> tuple[str, ...]:
        """Lines whose numbers run together, when that is all that comes: nobody can read them."""
        is_all = self.reader is None and len(self._run_together) >= max(N_LINES, self._best_count() + 1)
        return tuple(self._run_together) if is_all else ()

    @property
    def has_begun(self) -> bool:
        """Whether a line with numbers was seen."""
        return self.n_seen > 0

    def readers_of_alternatives(self) -> list[LayoutReader]:
        """A reader of each layout between which the doubt is."""
        return list(map(reader_for, self.alternatives))

    def take(self, text: str) -> None:
        """Look at one more line; nothing happens any more once a reader or a doubt is there."""
        if self.reader is not None or self.doubt:
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
            wordings += _below_a_label(self._label_ahead, wordings[0])
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
        if self.reader is None and not self.doubt and self._best_count() >= N_LATE_LINES:
            self._decide(is_final=True)

    def finish(self) -> None:
        """No more lines will come: decide by those that did."""
        if self.reader is None and not self.doubt and self._seen:
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
        if record := self._record(best):
            self._use([record], len(best))
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
                self._doubt_padded(ways[0])
            return
        if len(ways) == 1 or is_final:
            ordered = sorted(ways, key=lambda way: (way.notation == POINT, bool(way.notation.thousands)))
            self._use([self._layout(way) for way in ordered], len(ways[0].seen))

    def _named_by_a_heading(self, ways: Sequence[Way]) -> list[Way]:
        """The ways with as many columns as a heading names."""
        return [
            way
            for way in ways
            if way.n > 1 and any(heading_cells(one, way.seen[0].separator, way.n) for one in self._headings)
        ]

    def _use(self, layouts: Sequence[Layout], n: int) -> None:
        """One layout is used; several are a doubt."""
        if len(layouts) > 1:
            self.alternatives = tuple(layouts)
            self.doubt = _doubt_between(layouts, self._newest_text)
            return
        self.reader = reader_for(layouts[0])
        sure = f"the same in {n} lines" if n >= N_LINES else f"judged by {n} line{'s' * (n > 1)} only"
        self._words = f"{layout_words(layouts[0])}; {sure}"

    def _layout(self, way: Way) -> Layout:
        first = way.seen[0]
        units = _units(way.seen)
        if first.kind == "columns":
            ends_with_separator = way.n > 1 and not any(one.texts[-1] for one in way.seen)
            if ends_with_separator and not any(
                heading_cells(h, first.separator, way.n) for h in self._headings
            ):
                units = units[:-1]
            fields = column_fields(self._headings, first.separator, units)
        else:
            fields = labelled_fields(first.labels, units, is_behind=first.kind == "labels-after")
        return Layout(
            name="learned",
            kind=first.kind,
            fields=fields,
            separator=first.separator,
            decimal_comma=way.notation.decimal_comma,
            thousands=way.notation.thousands,
            lead=first.lead,
            tail=first.tail,
        )

    def _record(self, best: _Seen) -> Layout | None:
        """Lines of several wordings in turn, each with labels of its own, make one record."""
        first = best[0][1]
        is_bare = first.kind == "columns" and len(first.texts) == 1
        if first.kind not in ("pairs", "labels-after", "record") and not is_bare:
            return None
        turns = [
            seen
            for seen in self._seen.values()
            if _is_turn(seen[0][1], of_bare=is_bare) and _around(seen[0][1]) == _around(first)
        ]
        most = max(map(len, turns), default=0)
        turns = [seen for seen in turns if len(seen) >= max(2, most - 1)]
        is_above = any(seen[0][1].kind == "record" for seen in turns)
        if len(turns) < (1 if is_above else 2) or (not is_bare and most < len(best)):
            return None
        covered = {i for seen in turns for i, _ in seen}
        if is_bare and any(i not in covered for i, _ in best[1:]):
            return None  # the first may be the rest of a record that began before
        labels = [label for seen in turns for label in seen[0][1].labels]
        if len(set(labels)) < len(labels) or "" in labels:
            return None
        columns = [column for seen in turns for column in zip(*(one.texts for _, one in seen), strict=True)]
        notations = notations_of([[text for text in column if not is_missing(text)] for column in columns])
        if len(notations) != 1:
            return None
        units = [unit for seen in turns for unit in _units([one for _, one in seen])]
        is_behind = all(seen[0][1].kind == "labels-after" for seen in turns)
        return Layout(
            name="learned",
            kind="record",
            fields=labelled_fields(labels, units, is_behind=is_behind),
            separator=first.separator,
            decimal_comma=notations[0].decimal_comma,
            thousands=notations[0].thousands,
            lead=first.lead,
            tail=first.tail,
        )

    def _is_a_turn_of_several(self, way: Way, *, is_final: bool, is_last: bool) -> bool:
        """Whether bare numbers are, or may be, those of a record in turn: then they are not one quantity."""
        units = {unit for one in way.seen for unit in one.units if unit}
        has_labels_above = any(len(seen) > 1 and seen[0][1].kind == "record" for seen in self._seen.values())
        if len(units) > 1 or (has_labels_above and not is_final):
            return True  # until it is known which comes in turn with which
        if self._between_dividers and max(self._between_dividers) > 1:
            sizes = self._between_dividers[1:] or self._between_dividers
            if len(self._between_dividers) > 1 and len(set(sizes)) == 1 and sizes[0] > 1:
                self._use([_turns_layout(way, sizes[0], self._headings, with_decimals=False)], len(way.seen))
            return True
        if are_alike(way):
            return False
        numbers = list(numbers_of(way))
        n = period_of(numbers)
        is_enough = is_final or len(numbers) >= 3 * n
        if n and is_enough:
            self._doubt_turns(way, n)
            return True
        if not is_final:
            return True
        has_same_decimals = len({one.decimals for one in numbers if one.value is not None}) == 1
        values = [one.value for one in numbers if one.value is not None]
        are_near = max(values) - min(values) <= _NEAR * max(map(abs, values)) if values else False
        return not (has_same_decimals or are_near or is_last or self.n_seen >= N_ALL_LINES)

    def _doubt_padded(self, way: Way) -> None:
        self.alternatives = (self._layout(way),)
        self.doubt = (
            f"In {self._newest_text!r} some commas may be decimal signs: a number begins with a zero. Print "
            "decimal points, or semicolons between the columns; until then, or until one is "
            "chosen, nothing is read"
        )

    def _doubt_turns(self, way: Way, n: int) -> None:
        turns = _turns_layout(way, n, self._headings, with_decimals=True)
        decimals = [field.decimals for field in turns.fields]
        can_be_told_apart = all(decimals[i:] + decimals[:i] != decimals for i in range(1, n))
        single = self._layout(way)
        self.alternatives = (turns, single) if can_be_told_apart else (single,)
        shown = ", ".join(one.texts[0] for one in way.seen[:n])
        self.doubt = (
            f"Every {n} lines the numbers come round ({shown}): they may be {n} quantities, one on a line in "
            "turn, or a single one. Print a label before each number, or choose; until then nothing is read"
        )


def _is_turn(one: Wording, *, of_bare: bool) -> bool:
    if of_bare:
        return one.kind == "record" or (one.kind == "labels-after" and len(one.texts) == 1)
    return one.kind in ("pairs", "labels-after", "record")


def _around(one: Wording) -> tuple[str, str]:
    return one.key[2], one.key[3]


def _overlap(seen: _Seen, best: _Seen) -> bool:
    lines = {i for i, _ in seen}
    return len(lines.intersection(i for i, _ in best)) * 2 > len(best)


def _below_a_label(label: str, wording: Wording) -> list[Wording]:
    """The wording of a bare number whose label stood alone on the line before."""
    if wording.kind != "columns" or len(wording.texts) > 1:
        return []
    return [wording._replace(kind="record", labels=(label,))]


def _units(seen: Sequence[Wording]) -> list[str]:
    """The unit of each field: the first that was printed."""
    return [next(filter(None, column), "") for column in zip(*(one.units for one in seen), strict=True)]


def _turns_layout(way: Way, n: int, headings: Sequence[str], *, with_decimals: bool) -> Layout:
    numbers = list(numbers_of(way))
    named = column_fields(headings, ",", [""] * n)
    fields = tuple(
        FieldSpec(
            name=field.name.replace("column", "line"),
            label="",
            decimals=max(one.decimals for one in numbers[i::n]) if with_decimals else None,
        )
        for i, field in enumerate(named)
    )
    first = way.seen[0]
    comma, thousands = way.notation
    return Layout(
        name="learned",
        kind="record",
        fields=fields,
        decimal_comma=comma,
        thousands=thousands,
        lead=first.lead,
        tail=first.tail,
    )


_NUMBER_WORDS = {2: "two", 3: "three", 4: "four"}


def _doubt_between(layouts: Sequence[Layout], text: str) -> str:
    ways = []
    for layout in layouts:
        shown = layout_shown(layout, [text])
        n = len(layout.fields)
        numbers = "1 number" if n == 1 else f"{n} columns"
        notation = " with decimal comma" if layout.decimal_comma else ""
        notation += f" with {MARK_WORDS[layout.thousands]} between thousands" if layout.thousands else ""
        read = f" ({' and '.join(shown.rows[0])})" if shown.rows else ""
        ways.append(f"as {numbers}{notation}{read}")
    return (
        f"The line {text!r} can be read in {_NUMBER_WORDS.get(len(ways), str(len(ways)))} ways: "
        f"{' or '.join(ways)}. Give this bench a layout in the lesson, or choose; until then nothing is read"
    )
