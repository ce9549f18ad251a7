"""Finds out how a board's lines are to be read, from the first few of them.

Three lines of one wording decide; greetings and headings in between are no matter. When the source ends
before, what there is decides. A text that can be read in two ways is told as a doubt and never read until
the lesson has a layout.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from itertools import pairwise

from .layouts import LayoutReader, reader_for
from .lesson import FieldSpec, Layout
from .units import canonical_unit, is_unit
from .wordings import SEPARATORS, Wording, wording_of

N_LINES = 3
N_LATE_LINES = 2
MAX_WORDINGS = 64  # wordings that are counted at a time; of more, the oldest is forgotten
MAX_HEADINGS = 8  # text lines that are kept in case one is the heading

_SEPARATOR_WORDS = {",": "commas", ";": "semicolons", "\t": "tabs", "|": "bars", " ": "blanks"}
_GREETING_WORDS = frozenset(
    ("ready", "start", "started", "starting", "hello", "hi", "boot", "booting", "init", "ok", "done", "begin")
)
# A sentence over one column is a greeting, one word (with its unit) a heading.
_one_word = re.compile(r"[\w°%/()\[\].-]+(?:\s*[(\[].+[)\]])?").fullmatch
_unit_behind_name = re.compile(r"(.*?)\s*(?:\((.+)\)|\[(.+)\]|/\s*(\S+))").fullmatch


class Learner:
    """Takes lines' texts until it knows a reader (`reader`) or a doubt (`doubt`)."""

    def __init__(self) -> None:
        self.reader: LayoutReader | None = None
        self.doubt = ""  # why nothing is read, and what to do; "" without a doubt
        self.alternatives: tuple[Layout, ...] = ()  # the layouts between which the doubt is
        self.is_late = False  # the time is up: the next line that is like one before decides
        self._words = ""
        self._seen: dict[tuple[str, str, tuple[str, ...]], list[Wording]] = {}
        self._headings: list[str] = []

    @property
    def words(self) -> str:
        """What was found and how sure it is, in words."""
        return self._words or self.doubt or "not known yet"

    @property
    def has_begun(self) -> bool:
        """Whether a line with numbers was seen."""
        return bool(self._seen)

    def take(self, text: str) -> None:
        """Look at one more line; nothing happens any more once a reader or a doubt is there."""
        if self.reader is not None or self.doubt:
            return
        wording = wording_of(text)
        if wording is None or not wording.n_numbers:
            if wording is None and not self._seen:
                self._headings = [*self._headings, text][-MAX_HEADINGS:]
            return
        seen = self._seen.setdefault(wording.key, [])
        seen.append(wording)
        if len(seen) >= (N_LATE_LINES if self.is_late else N_LINES):
            self._decide(seen)
        elif len(self._seen) > MAX_WORDINGS:
            del self._seen[next(iter(self._seen))]

    def time_is_up(self) -> None:
        """Decide by what there is: two lines alike, now or once they come. One alone may be a greeting."""
        self.is_late = True
        best = max(self._seen.values(), key=len, default=[])
        if self.reader is None and not self.doubt and len(best) >= N_LATE_LINES:
            self._decide(best)

    def finish(self) -> None:
        """No more lines will come: decide by those that did."""
        if self.reader is None and not self.doubt and self._seen:
            self._decide(max(self._seen.values(), key=len))

    def _decide(self, seen: list[Wording]) -> None:
        if seen[0].kind == "columns" and _may_be_decimal_commas(seen):
            self._tell_doubt(seen)
            return
        record = self._record(seen) if seen[0].kind == "pairs" else None
        layout = record or self._layout(seen)
        self.reader = reader_for(layout)
        n = len(seen)
        sure = f"the same in {n} lines" if n >= N_LINES else f"judged by {n} line{'s' * (n > 1)} only"
        self._words = f"{_description(layout)}; {sure}"

    def _layout(self, seen: list[Wording], *, decimal_comma: bool | None = None) -> Layout:
        first = seen[0]
        units = _units(seen)
        if decimal_comma is None:
            decimal_comma = first.separator != "," or first.kind != "columns" or len(first.labels) == 1
            decimal_comma = decimal_comma and any(one.has_decimal_comma for one in seen)
        if first.kind == "columns":
            fields = self._columns(len(first.labels), first.separator, units)
        else:
            is_behind = first.kind == "labels-after"
            pairs = zip(first.labels, units, strict=True)
            fields = tuple(_labelled(label, unit, is_behind=is_behind) for label, unit in pairs)
        return Layout(
            name="learned",
            kind=first.kind,
            fields=_with_names_of_their_own(fields),
            separator=first.separator,
            decimal_comma=decimal_comma,
        )

    def _columns(self, n: int, separator: str, units: Sequence[str]) -> tuple[FieldSpec, ...]:
        for heading in reversed(self._headings):
            names = _heading_cells(heading, separator, n)
            if names:
                return tuple(
                    FieldSpec(name=name, unit=unit or own)
                    for (name, own), unit in zip(map(_name_and_unit, names), units, strict=True)
                )
        if n == 1:
            return (FieldSpec(name="value", unit=units[0]),)
        return tuple(FieldSpec(name=f"column {i}", unit=unit) for i, unit in enumerate(units, start=1))

    def _record(self, seen: list[Wording]) -> Layout | None:
        """Lines of several wordings in turn, each with labels of its own, make one record."""
        turns = [
            one for one in self._seen.values() if one[0].kind == "pairs" and len(one) >= len(seen) - 1 > 0
        ]
        labels = [label for one in turns for label in one[0].labels]
        if len(turns) < 2 or len(set(labels)) < len(labels):
            return None
        units = [unit for one in turns for unit in _units(one)]
        return Layout(
            name="learned",
            kind="record",
            fields=_with_names_of_their_own([_labelled(a, b) for a, b in zip(labels, units, strict=True)]),
            separator=seen[0].separator,
            decimal_comma=any(one.has_decimal_comma for turn in turns for one in turn),
        )

    def _tell_doubt(self, seen: list[Wording]) -> None:
        cells = seen[0].texts
        n = len(cells)
        half = Wording(*seen[0])._replace(labels=("",) * (n // 2), units=("",) * (n // 2))
        self.alternatives = (
            self._layout([half], decimal_comma=True),
            self._layout(seen, decimal_comma=False),
        )
        joined = " and ".join(f"{a},{b}" for a, b in zip(cells[::2], cells[1::2], strict=True))
        numbers = "1 number" if n == 2 else f"{n // 2} numbers"
        self.doubt = (
            f"The line {','.join(cells)!r} can be read in two ways: as {numbers} with decimal comma "
            f"({joined}) or as {n} columns ({' and '.join(cells)}). Give this bench a layout in the lesson; "
            "until then nothing is read"
        )


def _may_be_decimal_commas(seen: list[Wording]) -> bool:
    """Whether the commas between whole numbers may be decimal signs as well.

    Two things speak for it: what would be a fraction begins with a zero, as no whole number is printed; or it
    is always one digit, and with it the number moves smoothly. Without either, whole numbers in columns are
    what they look like.
    """
    n = len(seen[0].labels)
    if seen[0].separator != "," or n % 2:
        return False
    rows = [one.texts for one in seen if one.n_numbers == n]
    if not rows or not all(re.fullmatch(r"[-+]?[0-9]+", cell) for row in rows for cell in row):
        return False
    fractions = [row[i] for row in rows for i in range(1, n, 2)]
    if not all(fraction.isdigit() for fraction in fractions):
        return False
    if any(len(fraction) > 1 and fraction[0] == "0" for fraction in fractions):
        return True
    wholes = [[int(cell) for cell in column] for column in zip(*(row[::2] for row in rows), strict=True)]
    is_smooth = all(abs(a - b) <= 1 for column in wholes for a, b in pairwise(column))
    has_two_digits = all(abs(number) > 9 for column in wholes for number in column)
    return all(len(fraction) == 1 for fraction in fractions) and is_smooth and has_two_digits


def _units(seen: list[Wording]) -> list[str]:
    """The unit of each field: the first that was printed."""
    return [next(filter(None, column), "") for column in zip(*(one.units for one in seen), strict=True)]


def _heading_cells(text: str, separator: str, n: int) -> list[str]:
    """The names of n columns, when the text is a heading of so many; else none."""
    for one in dict.fromkeys((separator, *SEPARATORS)):
        cells = [cell.strip(" \t\"'#") for cell in (text.split() if one == " " else text.split(one))]
        if len(cells) == n + 1 and not cells[-1]:
            del cells[-1]
        if len(cells) == n and all(re.search(r"[^\W\d_]", cell) for cell in cells):
            is_name = n > 1 or _one_word(cells[0])
            is_greeting = cells[-1].casefold().strip(".!") in _GREETING_WORDS or text.rstrip().endswith(
                ("!", ".")
            )
            return cells if is_name and not is_greeting else []
    return []


def _name_and_unit(text: str) -> tuple[str, str]:
    """`temp (°C)`, `temp [C]` and `temp/°C` name a unit behind the name."""
    found = _unit_behind_name(text)
    if found and found[1]:
        unit = found[2] or found[3] or found[4]
        if is_unit(unit):
            return found[1], canonical_unit(unit)
    return text, ""


def _labelled(label: str, unit: str, *, is_behind: bool = False) -> FieldSpec:
    name, own = _name_and_unit(label)
    # "2.50 V 45 %": the label is all there is. Before a number, "A:" or "min:" is a name, "volts:" is both.
    says_unit = is_unit(label) and label != "min" and (is_behind or len(label) > 2 or label == "%")
    return FieldSpec(name=name, label=label, unit=unit or own or (canonical_unit(label) if says_unit else ""))


def _with_names_of_their_own(fields: Sequence[FieldSpec]) -> tuple[FieldSpec, ...]:
    """No two fields of one name: the second `temp` becomes `temp 2`."""
    taken: set[str] = set()
    named: list[FieldSpec] = []
    for field in fields:
        name, i = field.name, 2
        while name in taken:
            name, i = f"{field.name} {i}", i + 1
        taken.add(name)
        named.append(FieldSpec(name=name, label=field.label, unit=field.unit))
    return tuple(named)


def _description(layout: Layout) -> str:
    names = ", ".join(f"{one.name} in {one.unit}" if one.unit else one.name for one in layout.fields)
    comma = ", with decimal comma" if layout.decimal_comma else ""
    between = (
        f", {_SEPARATOR_WORDS.get(layout.separator, layout.separator)} between"
        if len(layout.fields) > 1
        else ""
    )
    match layout.kind:
        case "columns":
            n = len(layout.fields)
            return f"{n} column{'s' * (n > 1)}{between}{comma}: {names}"
        case "pairs":
            return f"label and value{between}{comma}: {names}"
        case "labels-after":
            return f"value and label{between}{comma}: {names}"
        case "json":
            return f"a JSON object: {names}"
        case "record":
            return f"a record over several lines{comma}: {names}"
