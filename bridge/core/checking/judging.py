"""From the kept records to a verdict, without the numbers of this moment."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from bridge.core.chain import divisor_of
from bridge.core.checking.columns import Columns, columns_of
from bridge.core.checking.intervals import PrintedColumn
from bridge.core.checking.kept import KeptRecords, Numbers
from bridge.core.checking.programs import Program, routes, standing, values_of
from bridge.core.checking.searching import Found, Search
from bridge.core.checking.space import Fields, space_of
from bridge.core.checking.telling_apart import Readings, would_tell
from bridge.core.checking.verdict import State
from bridge.core.conversion_given import Conversion

N_LEAST = 3  # different readings: two numbers fit any line
N_SUBTLE = 8  # where a count more or less would make the right formula fit as well
MAX_RIVALS = 3
_ABOVE_REFERENCE = 1.02
_SUFFIXES = (48, 24, 12, 8)


NOTHING = Found()


@dataclass(frozen=True, slots=True)
class Judgement:
    """What stands, and how sure."""

    state: State
    found: Found = NOTHING
    would_tell: str = ""
    note: str = ""  # something about the records that the words should say
    n_records: int = 0
    is_of_newest: bool = False  # it hangs on which records are the newest
    misfit: float | None = None  # the largest that is left of the right formula, in the printed unit


class Judge:
    """Judges one channel's records by one conversion."""

    def __init__(self, expected: Conversion, fields: Fields, readings: Readings) -> None:
        self.expected, self.fields, self.readings = expected, fields, readings
        self.space = space_of(expected, fields)
        self.right = self.space.program(0)
        # What a record speaks against no further record can save: it is not tried again.
        self._unexplained_with: list[int] | None = None

    def judge(self, kept: KeptRecords) -> Judgement:
        """The judgement on all the records; on the newest ones where the program has plainly been changed."""
        with np.errstate(all="ignore"):  # formulas are tried far beyond their domains
            return self._judge_kept(kept)

    def _judge_kept(self, kept: KeptRecords) -> Judgement:
        records = kept.records
        if self._unexplained_with == kept.decimals:
            judgement = self._unexplained(records, kept.decimals)
        else:
            judgement = self._judge(records, kept.decimals)
        if judgement.found.programs or judgement.state == "waiting":
            return judgement
        self._unexplained_with = list(kept.decimals)
        for n in _SUFFIXES:
            newest = kept.recent[-n:]
            if len(newest) < len(records):
                newer = self._judge(newest, kept.decimals, only_simple=True)
                is_simple = newer.state in ("right", "wrong") and not newer.note
                if is_simple and newer.n_records >= min(n, N_SUBTLE):
                    return replace(newer, note="since it last changed", is_of_newest=True)
        return replace(judgement, is_of_newest=True)

    def _judge(
        self, records: Sequence[Numbers], decimals: Sequence[int], *, only_simple: bool = False
    ) -> Judgement:
        if not records:
            return Judgement("waiting")
        columns = self._with_right(columns_of(records, decimals))
        n = columns.n_different if len(columns) else 0
        if n < N_LEAST:
            return Judgement("waiting", n_records=n)
        search = Search(self.space, self.fields, self.expected, columns)
        found = self._possible(search.simple() if only_simple else search.search(), columns)
        if found.is_right:
            return Judgement("right", found, self._as_right(columns), n_records=n)
        judgement = Judgement("none", found, n_records=n)
        if not found.programs:
            return judgement if only_simple else self._loosely_right(judgement, columns)
        first = found.programs[0]
        n_needed = N_LEAST - 1 + len(first.mistakes) + len(first.fitted)
        if n < n_needed:
            return replace(judgement, state="waiting", found=NOTHING)
        if self._stands_loosely(columns, 1.0):
            is_simple = len(first.mistakes) == 1
            if not is_simple:
                return replace(judgement, state="right", found=Found((self.right,)), note="to within a count")
            if n < N_SUBTLE:
                return replace(judgement, state="waiting", found=NOTHING)
        if found.is_contrived or len(found.programs) > 1 + MAX_RIVALS:
            return replace(judgement, state="undecided", would_tell=WIDER)
        tell = ""
        if len(found.programs) > 1:
            tell = would_tell(first, found.programs[1], self.readings, columns)
        return replace(judgement, state="wrong", would_tell=tell)

    def _possible(self, found: Found, columns: Columns) -> Found:
        """Without a count: the volts are believed where they can be, else the mistake lies in them."""
        if columns.count is not None or columns.volts is None:
            return found
        most = float(columns.volts.numbers.max()) / self.right.volts.per_volt
        limit = _ABOVE_REFERENCE * self.expected.reference_volts
        possible = tuple(one for one in found.programs if most / one.volts.factor <= limit)
        return replace(found, programs=possible or found.programs)

    def _with_right(self, columns: Columns) -> Columns:
        """Only the records that the right formula has a value for: at a rail, programs print anything."""
        if columns.value is None or self.right.value is None:
            return columns
        _, volts = next(iter(routes(self.right.volts, columns)))
        computed = values_of(self.right.value, self.right.volts, volts)
        fine = np.isfinite(computed.low) & np.isfinite(computed.high)
        return columns if fine.all() else columns.part(fine)

    def _as_right(self, columns: Columns) -> str:
        """Whether the other convention of the divisor prints the same so far, and what would tell."""
        program = self._other_divisor
        if program is None or standing(program, columns) is None:
            return ""
        own = divisor_of(self.expected.width_bits, self.expected.divisor)
        both = f"both stand, {min(own, program.volts.divisor)} and {max(own, program.volts.divisor)}"
        return f"{both}: {would_tell(self.right, program, self.readings, columns)}"

    @cached_property
    def _other_divisor(self) -> Program | None:
        """The right formula with the converter's other divisor."""
        for row in self.space.with_mistakes(1):
            program = self.space.program(int(row))
            mistake = program.mistakes[0]
            if mistake.kind == "divisor" and not mistake.rarity:
                return program
        return None

    def _stands_loosely(self, columns: Columns, counts: float) -> bool:
        looser = columns
        if columns.count is not None:
            looser = columns.loosened(counts)
        elif columns.volts is not None:
            looser = replace(
                columns, volts=PrintedColumn(columns.volts.numbers, columns.volts.step * (1 + counts))
            )
        return any(standing(form, looser) is not None for form in self._right_forms())

    def _right_forms(self) -> list[Program]:
        forms = []
        for row in range(len(self.space.n_mistakes)):
            if self.space.n_mistakes[row]:
                break
            forms.append(self.space.program(row))
        return forms

    def _unexplained(self, records: Sequence[Numbers], decimals: Sequence[int]) -> Judgement:
        columns = self._with_right(columns_of(records, decimals))
        return Judgement("none", n_records=columns.n_different, misfit=self._misfit(columns))

    def _loosely_right(self, judgement: Judgement, columns: Columns) -> Judgement:
        # The value may come from another look at the pin than the printed count, or from a mean of some.
        for counts in (1.0, 3.0, 2.0 ** (self.expected.width_bits - 9)):
            if self._stands_loosely(columns, counts):
                words = "to within a count" if counts == 1.0 else f"to within {counts:g} counts"
                words = words if columns.count is not None else "to within the last digit of its volts"
                return replace(judgement, state="right", found=Found((self.right,)), note=words)
        return replace(judgement, misfit=self._misfit(columns))

    def _misfit(self, columns: Columns) -> float | None:
        if columns.value is None or self.right.value is None:
            return None
        _, volts = next(iter(routes(self.right.volts, columns)))
        computed = values_of(self.right.value, self.right.volts, volts)
        return float(np.abs(columns.value.numbers - (computed.low + computed.high) / 2).max())


WIDER = "a wider range would tell: dip the sensor into warm water"
