"""The first half of a program's formula: from the count to volts, right or with usual mistakes."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from bridge.core.chain import divisor_of
from bridge.core.checking.columns import Columns
from bridge.core.checking.intervals import CLOSENESS, Interval, meets, sorted_interval, widened
from bridge.core.checking.mistakes import Mistake
from bridge.core.conversion_given import Conversion
from bridge.core.units import canonical_unit

USUAL_REFERENCES = (5.0, 3.3, 1.1, 2.5, 2.56, 4.096, 3.0)  # V: supplies first, then references on chips
WIDTHS = range(8, 17)  # bits
FACTORS = (1000.0, 0.001, 10.0, 0.1, 100.0, 0.01)
_PER_VOLT = {"V": 1.0, "mV": 1000.0, "µV": 1e6}

Arithmetic = Literal[
    "exact", "quotient first", "whole volts", "whole hundredths", "signed 16 bits", "unsigned 16 bits"
]

WHOLE_STEPS: dict[str, float] = {"whole volts": 1.0, "whole hundredths": 0.01}
"""In V: what a division in whole numbers leaves of the volts."""


@dataclass(frozen=True, slots=True)
class VoltsPart:
    """How a program makes volts of a count, and prints them."""

    reference: float = 1.0  # V; of no meaning where no count is printed
    divisor: int = 1
    arithmetic: Arithmetic = "exact"
    factor: float = 1.0  # the printed volts are so many times the computed ones, by mistake
    is_carried: bool = False  # and so are the ones that the value is computed from
    per_volt: float = 1.0  # 1000 where the volts are printed as mV
    multiplier: int = 0  # of a product in 16 bits: count × multiplier
    per_product: float = 1.0  # V; what 1 of such a product, divided, stands for: a millivolt
    is_cut: bool = False  # and its quotient is whole
    spread: tuple[float, float] = (1.0, 1.0)  # of a reference found by intervals, relative
    mistakes: tuple[Mistake, ...] = ()

    @property
    def text(self) -> str:
        """In words, with numbers."""
        product = f"count × {self.reference:.4g} V / {self.divisor}"
        if self.arithmetic == "quotient first":
            product = f"(count / {self.divisor} in whole numbers) × {self.reference:.4g} V"
        elif self.arithmetic in WHOLE_STEPS:
            product = f"{self.arithmetic} of ({product})"
        elif self.multiplier:
            product = f"(count × {self.multiplier} in {self.arithmetic}) / {self.divisor}"
        return product if self.factor == 1 or not self.is_carried else f"{product} × {self.factor:g}"


def volts_of(part: VoltsPart, count: Interval, closeness: float = CLOSENESS) -> Interval:
    """The volts that the program computes, before they are printed."""
    ratio = part.reference / part.divisor
    if part.arithmetic == "exact":
        low, high = part.spread
        return Interval(
            count.low * (ratio * low * (1 - closeness)), count.high * (ratio * high * (1 + closeness))
        )
    if part.arithmetic == "quotient first":
        return Interval(*(part.reference * np.floor(c / part.divisor) for c in count))
    if part.arithmetic in WHOLE_STEPS:
        step = WHOLE_STEPS[part.arithmetic]
        slack = Interval(count.low * (1 - closeness), count.high * (1 + closeness))
        return Interval(
            np.floor(slack.low * (ratio / step)) * step * (1 - closeness),
            np.floor(slack.high * (ratio / step)) * step * (1 + closeness),
        )
    volts_per_product = part.per_product / part.divisor
    wrapped = [np.mod(np.floor(c) * part.multiplier, 65536.0) for c in count]
    if part.arithmetic == "signed 16 bits":
        wrapped = [np.where(p >= 32768.0, p - 65536.0, p) for p in wrapped]
    if part.is_cut:
        wrapped = [np.trunc(p / part.divisor) * part.divisor for p in wrapped]
    low, high = (p * volts_per_product for p in wrapped)
    slack = closeness * np.abs(high)
    return Interval(low - slack, high + slack)


def prints(part: VoltsPart, columns: Columns) -> bool:
    """Whether the printed volts can be this part's, in one go or through whole millivolts."""
    assert columns.count is not None
    assert columns.volts is not None
    volts = volts_of(part, columns.count, columns.closeness)
    ways = columns.volts.readings()
    scale = part.per_volt * part.factor
    for through in through_whole_numbers(volts, columns.closeness):
        printed = widened(Interval(through.low * scale, through.high * scale), 1e-12)
        if meets(Interval(printed.low[None], printed.high[None]), ways)[0]:
            return True
    return False


def through_whole_numbers(volts: Interval, closeness: float) -> Iterator[Interval]:
    """As they are; cut to whole millivolts; rounded to them: all usual, all right."""
    yield volts
    for shift in (0.0, 0.5):
        low, high = (np.trunc(v * 1000.0 + shift) / 1000.0 for v in volts)
        yield sorted_interval(low * (1 - closeness), high * (1 + closeness))


def per_volt_of(volts_unit: str) -> tuple[float, ...]:
    """What the printed volts may be in; both V and mV where the text does not say."""
    known = _PER_VOLT.get(canonical_unit(volts_unit))
    return (known,) if known is not None else (1.0, 1000.0)


def volts_parts(
    expected: Conversion | None, *, has_count: bool, has_volts: bool, volts_unit: str
) -> list[VoltsPart]:
    """The lesson's own first, then all with one mistake, then with two."""
    scales = per_volt_of(volts_unit) if has_volts else (1.0,)
    if not has_count:
        plain = VoltsPart()
        # Volts are believed before the value: their mistake is the rarest.
        parts = [plain, *(_rarest(part) for part in _scaled(plain, volts_unit) if not part.is_carried)]
        return [_printed_in(scale, part) for part in parts for scale in scales]
    if expected is None or expected.start != "count":
        parts = list(_unknown())
    else:
        parts = list(_known(expected))
        if has_volts:
            parts += [one for part in parts if len(part.mistakes) < 2 for one in _scaled(part, volts_unit)]
    parts = [_printed_in(scale, part) for scale in scales for part in parts]
    return sorted(parts, key=lambda part: len(part.mistakes))  # stable: the usual ones stay in front


def _printed_in(scale: float, part: VoltsPart) -> VoltsPart:
    return part if part.per_volt == scale else replace(part, per_volt=scale)


def _rarest(part: VoltsPart) -> VoltsPart:
    return replace(part, mistakes=tuple(replace(one, rarity=10.0) for one in part.mistakes))


def _divisors() -> Iterator[tuple[int, int]]:
    for bits in (10, 12, *(n for n in WIDTHS if n not in (10, 12))):
        yield bits, 1 << bits
        yield bits, (1 << bits) - 1


def _unknown() -> Iterator[VoltsPart]:
    """Without a lesson nothing is a mistake but what loses the number itself."""
    for _, divisor in _divisors():
        for reference in USUAL_REFERENCES:
            yield VoltsPart(reference, divisor)
    yield VoltsPart(5.0, 1024, "quotient first", mistakes=(_whole("the quotient of count and divisor"),))


def _known(expected: Conversion) -> Iterator[VoltsPart]:
    reference, divisor = expected.reference_volts, divisor_of(expected.width_bits, expected.divisor)
    references = [(reference, None)]
    for i, other in enumerate(one for one in USUAL_REFERENCES if one != reference):
        words = f"computes with {other:g} V, but the board's reference is {reference:g} V"
        references.append((other, Mistake("reference", words, other, rarity=0.05 * i)))  # type: ignore[arg-type]
    divisors: list[tuple[int, Mistake | None]] = [(divisor, None)]
    rarity = 0.0
    for bits, other_divisor in _divisors():
        if other_divisor != divisor:
            words = f"divides by {other_divisor}, but the lesson's converter is divided by {divisor}"
            rarity += 0.03
            own_width = bits == expected.width_bits
            mistake = Mistake("divisor", words, other_divisor, rarity=0.0 if own_width else rarity)
            divisors.append((other_divisor, mistake))
    for volts, wrong_volts in references:
        for by, wrong_by in divisors:
            mistakes = tuple(one for one in (wrong_volts, wrong_by) if one is not None)
            yield VoltsPart(volts, by, mistakes=mistakes)
            if len(mistakes) < 2:
                yield from _overflowing(volts, by, expected, mistakes)
                yield _hundredths(volts, by, mistakes)
    yield VoltsPart(reference, divisor, "quotient first", mistakes=(_whole(f"count / {divisor}"),))
    for volts, wrong_volts in references:
        others = () if wrong_volts is None else (wrong_volts,)
        lost = _whole(f"count × {volts:g} / {divisor}")
        yield VoltsPart(volts, divisor, "whole volts", mistakes=(lost, *others))


def _hundredths(volts: float, divisor: int, others: tuple[Mistake, ...]) -> VoltsPart:
    product = f"count × {100 * volts:.0f} / {divisor}"
    words = f"divides in whole numbers ({product}), which loses what is below 10 mV"
    mistake = Mistake("whole numbers", words, 0.01, rarity=0.5)
    whole = round(100 * volts) / 100  # the factor of a product of whole numbers is one
    return VoltsPart(whole, divisor, "whole hundredths", mistakes=(mistake, *others))


def _whole(product: str) -> Mistake:
    return Mistake("whole numbers", f"divides in whole numbers ({product}), which loses the fraction")


def _overflowing(
    volts: float, divisor: int, expected: Conversion, others: tuple[Mistake, ...]
) -> Iterator[VoltsPart]:
    steps = {0.001, 0.01}
    if expected.kind == "linear" and expected.volts_per_unit > 0:
        steps.add(expected.volts_per_unit)
    for step in sorted(steps):
        multiplier = round(volts / step)
        most = (1 << expected.width_bits) - 1
        limits: tuple[tuple[Arithmetic, int], ...] = (("signed 16 bits", 32767), ("unsigned 16 bits", 65535))
        for arithmetic, limit in limits:
            if multiplier < 2 or multiplier * most <= limit:
                continue
            first = limit // multiplier + 1
            words = f"multiplies count × {multiplier} in 16 bits, which overflows from count {first} on"
            mistake = Mistake("overflow", words, multiplier, rarity=0.0 if limit == 32767 else 0.1)
            for is_cut in (True, False):
                if not is_cut and step == 0.001:
                    continue  # cut to whole millivolts or not: the ways of computing have both
                yield VoltsPart(
                    volts,
                    divisor,
                    arithmetic,
                    multiplier=multiplier,
                    per_product=step,
                    is_cut=is_cut,
                    mistakes=(mistake, *others),
                )


def _scaled(part: VoltsPart, volts_unit: str) -> Iterator[VoltsPart]:
    if part.arithmetic in ("quotient first", "whole volts"):
        return  # what is left of the volts is too coarse to tell
    unit = canonical_unit(volts_unit)
    for factor in FACTORS:
        if unit not in _PER_VOLT and factor in (1000.0, 0.001):
            continue  # without a word for the unit, both are right
        words = (
            f"prints {factor:g} times its volts" if factor > 1 else f"prints 1/{1 / factor:g} of its volts"
        )
        if (unit, factor) == ("V", 1000.0):
            words = "prints millivolts as volts"
        elif (unit, factor) == ("mV", 0.001):
            words = "prints volts as millivolts"
        mistake = Mistake("volts scale", words, factor)
        for is_carried in (False, True):
            yield replace(part, factor=factor, is_carried=is_carried, mistakes=(*part.mistakes, mistake))
