"""Which programs stand: the right one, then one mistake, then numbers of its own, then two mistakes."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from bridge.core.checking.columns import Columns
from bridge.core.checking.fitting import fits_of, own_gain, own_gain_and_offset, own_offset
from bridge.core.checking.luck import without_lucky, without_lucky_wholes
from bridge.core.checking.mistakes import Mistake
from bridge.core.checking.own_reference import own_reference
from bridge.core.checking.programs import Program, routes, standing, values_of
from bridge.core.checking.space import Fields, Space
from bridge.core.checking.value_parts import ValuePart
from bridge.core.conversion_given import Conversion

N_FIRST_LOOK, N_SECOND_LOOK = 6, 60
MAX_TRIED = 10  # beyond, the second look goes first
OWN_GAINS = (0.8, 1.25)  # what a group might have meant
OWN_REFERENCES = (0.5, 6.0)  # V
OWN_OFFSET = 0.6  # of the largest value printed
PRECISE = 0.05  # a gain of its own known less closely says nothing
CHANCE = 0.1  # as many programs with two mistakes may be expected to fit by chance


@dataclass(frozen=True, slots=True)
class Found:
    """What stands, the simplest first; all with as many mistakes or as likely."""

    programs: tuple[Program, ...] = ()
    is_contrived: bool = False  # only a line of its own does, with nothing to hold on to

    @property
    def is_right(self) -> bool:
        """Whether the lesson's own formula explains every record."""
        return bool(self.programs) and not self.programs[0].mistakes


class Search:
    """One look at the records."""

    def __init__(self, space: Space, fields: Fields, expected: Conversion, columns: Columns) -> None:
        self.space, self.fields, self.expected, self.columns = space, fields, expected, columns

    def with_mistakes(self, n: int) -> list[Program]:
        """Programs with so many named mistakes that stand, the most usual first."""
        programs = [self.space.program(int(row)) for row in self._likely(n)]
        some = [stands for one in programs if (stands := standing(one, self.columns))]
        some = without_lucky(some, self.columns)
        some.sort(key=lambda one: one.order)
        return _different(some)

    def _likely(self, n: int) -> NDArray[np.intp]:
        """Rows with so many mistakes that looks at more and more of the records do not rule out."""
        rows = self.space.with_mistakes(n)
        if len(rows) <= MAX_TRIED:
            return rows
        rows = self.space.likely(self.columns.some(N_FIRST_LOOK), rows)
        for n_records in self._more_looks(rows):
            rows = self.space.likely(self.columns.some(n_records), rows)
        return rows

    def _more_looks(self, rows: NDArray[np.intp]) -> tuple[int, ...]:
        """At how many records, where there are too many rows to try them one by one."""
        if len(rows) <= MAX_TRIED or len(self.columns) <= N_FIRST_LOOK:
            return ()
        return tuple(dict.fromkeys((min(N_SECOND_LOOK, len(self.columns)), len(self.columns))))

    def right(self) -> Program:
        """The lesson's own formula."""
        return self.space.program(0)

    def fitted(self, base: Program) -> list[Program]:
        """The base with one number of its own, of each kind that stands."""
        ways = [own_reference(base, self.columns, self.expected)]
        if base.value is not None:
            ways += self._by_offset_or_gain(base)
        return [one for way in ways if (one := self._first(way))]

    def _first(self, candidates: Iterator[Program]) -> Program | None:
        """The first that stands."""
        return next((stands for one in candidates if (stands := standing(one, self.columns))), None)

    def simple(self) -> Found:
        """The right one or those with one named mistake; Found() when none stands."""
        for n in (0, 1):
            named = self.with_mistakes(n)
            if named:
                beside = self._not_within(named[0]) if n else ()
                return Found((*named, *beside))
        return Found()

    def search(self) -> Found:
        """The simplest that stands; Found() when nothing does."""
        simple = self.simple()
        if simple.programs:
            return simple
        pairs = self.with_mistakes(2)
        own = [one for one in self._all_fitted(self.right()) if self._is_plausible(one)]
        if own and (not pairs or self._by_chance(own[0]) > CHANCE):
            return Found((*own, *pairs))
        line = self._line()
        if line.is_contrived:  # the records lie so close together that many an explanation would do
            return Found((*pairs, *own, *line.programs), is_contrived=True)
        if pairs:
            return Found((*pairs, *own))
        if named_and_own := list(self._named_and_own()):
            named_and_own.sort(key=lambda one: (_n_digits(one), one.order))
            return Found(tuple(_different(named_and_own)))
        own = [one for one in self._all_fitted(self.right()) if not self._is_none(one.fitted[0])]
        return Found(tuple(own)) if own else line

    def _all_fitted(self, base: Program) -> list[Program]:
        """Numbers of its own on every right form of the formula."""
        forms = [base]
        if self.space.values:
            forms = [Program(base.volts, one) for one in self.space.values if not one.mistakes]
        found = _different([one for form in forms for one in self.fitted(form)])
        return without_lucky_wholes(found, self.columns)

    def _not_within(self, named: Program) -> list[Program]:
        """Numbers of its own that would do as well and are not the named mistake in other words."""
        others = self._all_fitted(self.right())
        return [
            one
            for one in others
            if not self._is_within(named, one.fitted[0].kind) and self._is_plausible(one)
        ]

    def _is_within(self, named: Program, kind: str) -> bool:
        if named.value is None or kind == "own reference":
            return True
        t, right = self._middle(named), self._middle(self.right())
        with np.errstate(all="ignore"):
            made = t / right if kind == "own gain" else t - right
        spread = float(np.nanmax(made) - np.nanmin(made))
        return not spread > 1e-6 * float(np.nanmax(np.abs(made))) + 1e-9

    def _middle(self, program: Program) -> NDArray[np.float64]:
        assert program.value is not None
        _, volts = next(iter(routes(program.volts, self.columns)))
        computed = values_of(program.value, program.volts, volts)
        return (computed.low + computed.high) / 2

    def _by_chance(self, own: Program) -> float:
        """How many programs with two mistakes would fall where the number of its own lies, by chance."""
        mistake = own.fitted[0]
        if mistake.kind == "own offset" or mistake.least <= 0:
            return math.inf
        near = self._near(own)
        return near * math.log(mistake.most / mistake.least) / 0.2

    def _near(self, own: Program) -> int:
        """How many of them lie within a tenth of it."""
        if own.value is None:
            return 1
        one = self.columns.part(np.array([len(self.columns) - 1]))
        _, volts = next(iter(routes(own.volts, one)))
        computed = values_of(own.value, own.volts, volts)
        return self.space.n_near(one, float(computed.low[0]), within=0.1)

    def _named_and_own(self) -> Iterator[Program]:
        """One named mistake with one number of its own."""
        rows = self.space.fittable(self.columns.some(N_FIRST_LOOK), self.space.with_mistakes(1))
        for n_records in self._more_looks(rows):
            rows = self.space.fittable(self.columns.some(n_records), rows)
        for row in rows:
            base = self.space.program(int(row))
            ways = self._by_offset_or_gain(base)
            yield from (one for way in ways if (one := self._first(way)) and self._is_plausible(one))
        if self.columns.volts is None:
            yield from self._curved_with_own_reference()
        else:
            yield from self._volts_with_own_reference()

    def _by_offset_or_gain(self, base: Program) -> tuple[Iterator[Program], Iterator[Program]]:
        fits = fits_of(base, self.columns)
        return own_offset(base, fits, self.fields.value_unit or self.fields.unit), own_gain(base, fits)

    def _curved_with_own_reference(self) -> Iterator[Program]:
        """A mistake in the sensor's formula, with a reference that no list has."""
        few = self.columns.some(N_FIRST_LOOK)
        for value in self.space.values:
            if len(value.mistakes) > 1:
                break
            base = Program(self.right().volts, value)
            if not value.mistakes or next(own_reference(base, few, self.expected), None) is None:
                continue
            one = self._first(own_reference(base, self.columns, self.expected))
            if one is not None and self._is_plausible(one):
                yield one

    def _volts_with_own_reference(self) -> Iterator[Program]:
        """The printed volts tell the reference; the mistake lies in their scale or behind them."""
        for part in self.space.volts:
            if [one.kind for one in part.mistakes] not in ([], ["volts scale"]):
                continue
            plain = replace(self.right(), volts=part, value=None)
            own = next(own_reference(plain, self.columns, self.expected), None)
            if own is None or not self._is_plausible(own):
                continue
            n_left = 1 - len(part.mistakes)
            values: list[ValuePart | None] = [one for one in self.space.values if len(one.mistakes) == n_left]
            for value in values or [None]:
                if stands := standing(replace(own, value=value), self.columns):
                    yield stands

    def _is_plausible(self, program: Program) -> bool:
        """Whether a group might have meant the number: near 1, or an offset smaller than the value."""
        for mistake in program.fitted:
            number = mistake.number
            if self._is_none(mistake):
                return False
            if mistake.kind == "own reference" and not OWN_REFERENCES[0] <= number <= OWN_REFERENCES[1]:
                return False
            if mistake.kind == "own gain" and not OWN_GAINS[0] <= number <= OWN_GAINS[1]:
                return False
            if mistake.kind == "own offset":
                assert self.columns.value is not None
                right = np.abs(self._middle(self.right()))
                largest = max(float(np.abs(self.columns.value.numbers).max()), float(right.max()))
                if abs(number) > OWN_OFFSET * largest:
                    return False
        return True

    def _is_none(self, mistake: Mistake) -> bool:
        """Whether the number may as well be what changes nothing."""
        nothing = {"own offset": 0.0, "own gain": 1.0}.get(mistake.kind, self.expected.reference_volts)
        return mistake.least <= nothing <= mistake.most

    def _line(self) -> Found:
        if self.space.values:
            unit = self.fields.value_unit or self.fields.unit
            for form in self.space.values:
                if form.mistakes:
                    break
                base = Program(self.right().volts, form)
                line = own_gain_and_offset(base, self.columns, unit)
                if line is None or standing(line, self.columns) is None:
                    continue
                gain = line.fitted[0]
                is_loose = not 0 < gain.most - gain.least < PRECISE * abs(gain.number)
                return Found((line,), is_contrived=is_loose)
        return Found()


def _n_digits(program: Program) -> int:
    """Of its own number: a person types few."""
    return len(f"{abs(program.fitted[0].number):.12g}".replace(".", "").strip("0"))


def _different(programs: list[Program]) -> list[Program]:
    """Without those that are the same in words: only their scales of print or ways differ."""
    seen: set[tuple[object, ...]] = set()
    kept: list[Program] = []
    for one in programs:
        key = tuple((mistake.kind, mistake.words) for mistake in one.mistakes)
        if key not in seen:
            seen.add(key)
            kept.append(one)
    return kept
