"""Programs of made-up boards: volts at a pin become a count; the program computes and prints like one in C.

Nothing here uses the product's arithmetic: plain loops, 32-bit floats by packing each result, integers cut as
C cuts them. What a program does wrong is a list of `Wrong`.
"""

from __future__ import annotations

import math
import random
import struct
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from typing import Literal

from bridge.core.lesson import Conversion

Route = Literal["one go", "printed volts", "whole millivolts", "rounded millivolts"]
ROUTES: tuple[Route, ...] = ("one go", "printed volts", "whole millivolts", "rounded millivolts")
Cut = Literal["nearest", "cut", "half added"]
Record = tuple[str | None, str | None, str | None]


@dataclass(frozen=True, slots=True)
class Wrong:
    """One mistake in a program."""

    kind: str
    number: float = 0.0
    word: str = ""  # of a mistake whose number says little: what its words must name


@dataclass(frozen=True, slots=True, kw_only=True)
class Setup:
    """A board with a sensor, and what the lesson says of both: the truth."""

    sensor: str
    unit: str
    bits: int
    reference: float
    top_code: bool  # the divisor is 2^n - 1
    numbers: tuple[float, ...]  # the sensor's own
    leg: str = ""
    low: float  # what the quantity moves between
    high: float

    @property
    def divisor(self) -> int:
        return (1 << self.bits) - int(self.top_code)

    def lesson(self, start: Literal["count", "volts"] = "count") -> Conversion:
        """The same as the lesson's conversion."""
        board = Conversion(
            name="made up", start=start, width_bits=self.bits, reference_volts=self.reference,
            divisor="2^n-1" if self.top_code else "2^n",
        )  # fmt: skip
        n = self.numbers
        leg: Literal["upper", "lower"] = "upper" if self.leg == "upper" else "lower"
        match self.sensor:
            case "linear":
                return replace(board, offset_volts=n[0], volts_per_unit=n[1])
            case "ratiometric":
                return replace(board, kind="ratiometric", offset_fraction=n[0], fraction_per_unit=n[1])
            case "ntc beta":
                return replace(
                    board, kind="ntc beta", fixed_ohms=n[0], ohms_at_25=n[1], beta_kelvin=n[2], sensor_leg=leg
                )
            case "ntc steinhart-hart":
                return replace(
                    board, kind="ntc steinhart-hart", fixed_ohms=n[0], steinhart_hart=n[1:], sensor_leg=leg
                )
            case "photoresistor":
                return replace(
                    board,
                    kind="photoresistor",
                    fixed_ohms=n[0],
                    ohms_at_10_lux=n[1],
                    gamma=n[2],
                    sensor_leg=leg,
                )
            case _:
                return replace(board, kind="polynomial", coefficients=n)

    def pin_part(self, value: float) -> float:
        """The pin's part of the reference when the quantity has that value."""
        n = self.numbers
        match self.sensor:
            case "linear":
                return (n[0] + n[1] * value) / self.reference
            case "ratiometric":
                return n[0] + n[1] * value
            case "ntc beta":
                ohms = n[1] * math.exp(n[2] * (1 / (value + 273.15) - 1 / 298.15))
            case "ntc steinhart-hart":
                ohms = _halved(lambda x: -_steinhart(x, n[1:]), 1.0, 1e7, -(value + 273.15))
            case "photoresistor":
                ohms = n[1] * (value / 10) ** -n[2]
            case _:
                return (
                    _halved(lambda x: sum(c * x**i for i, c in enumerate(n)), 0.0, self.reference, value)
                    / self.reference
                )
        return ohms / (ohms + n[0]) if self.leg == "lower" else n[0] / (ohms + n[0])


def _steinhart(ohms: float, abc: tuple[float, ...]) -> float:
    x = math.log(ohms)
    return 1 / (abc[0] + abc[1] * x + abc[2] * x**3)


def _halved(rising: Callable[[float], float], low: float, high: float, target: float) -> float:
    for _ in range(80):
        middle = (low + high) / 2
        low, high = (middle, high) if rising(middle) < target else (low, middle)
    return low


@dataclass(frozen=True, slots=True, kw_only=True)
class Program:
    """What a group has written: how it computes and prints, and what is wrong in it."""

    setup: Setup
    wrongs: tuple[Wrong, ...] = ()
    route: Route = "one go"
    is_single: bool = False  # 32-bit floats
    rounding: Cut = "nearest"
    volts_decimals: int = 3
    value_decimals: int = 2
    volts_in_mv: bool = False
    prints: tuple[bool, bool, bool] = (True, False, True)  # count, volts, value
    drops_zeros: bool = False  # the shortest form
    value_unit: str = ""  # a label: "°F" prints °F rightly
    takes_count: bool = False  # the part of the supply is count / divisor, whatever the reference
    nudge: float = 0.0  # relative, of every number before it is printed: for rivals

    def prints_of(self, count: float) -> Record:
        """One line's numbers."""
        volts = self._volts(count)
        volts_text = self._text(self._scaled_volts(volts), self.volts_decimals)
        used = self._used(volts, volts_text)
        if self.takes_count:
            divisor = self.wrong("divisor")
            used = count / (divisor.number if divisor else self.setup.divisor) * self.setup.reference
        value_text = self._text(self._value(used), self.value_decimals)
        shown = (str(count), volts_text, value_text)
        return (
            shown[0] if self.prints[0] else None,
            shown[1] if self.prints[1] else None,
            shown[2] if self.prints[2] else None,
        )

    def wrong(self, kind: str) -> Wrong | None:
        return next((one for one in self.wrongs if one.kind == kind), None)

    def _f(self, x: float) -> float:
        """A result as the program's float holds it."""
        if not self.is_single or not math.isfinite(x):
            return x
        try:
            return float(struct.unpack("f", struct.pack("f", x))[0])
        except OverflowError:
            return math.copysign(math.inf, x)

    def _volts(self, count: float) -> float:
        f = self._f
        setup = self.setup
        wrong_reference = self.wrong("reference") or self.wrong("own reference")
        reference = wrong_reference.number if wrong_reference else setup.reference
        wrong_divisor = self.wrong("divisor")
        divisor = int(wrong_divisor.number) if wrong_divisor else setup.divisor
        if self.wrong("quotient first"):
            return f(f(count // divisor) * f(reference))
        if self.wrong("whole volts"):
            return float(int(f(f(count * f(reference)) / divisor)))
        if overflow := self.wrong("overflow"):
            product = int(count) * round(reference * overflow.number)
            product &= 0xFFFF
            if product >= 0x8000:
                product -= 0x10000
            return f(int(product / divisor) / overflow.number)
        if self.wrong("whole hundredths"):
            return f(count * round(reference * 100) // divisor / 100)
        if self.route == "whole millivolts":
            return f(count * round(reference * 1000) // divisor / 1000)
        volts = f(f(count * f(reference)) / divisor)
        return f(int(volts * 1000 + 0.5) / 1000) if self.route == "rounded millivolts" else volts

    def _scaled_volts(self, volts: float) -> float:
        scale = 1000.0 if self.volts_in_mv else 1.0
        if wrong := self.wrong("volts scale"):
            scale *= wrong.number
        return self._f(volts * scale)

    def _used(self, volts: float, text: str) -> float:
        volts *= 1 + self.nudge
        if self.route == "printed volts" and self.prints[1] and not self.wrong("volts scale"):
            return self._f(float(text) / (1000 if self.volts_in_mv else 1))
        return volts

    def _value(self, volts: float) -> float:
        f = self._f
        if wrong := self.wrong("millivolts"):
            volts = f(volts * wrong.number)
        try:
            value = self._sensor(volts)
        except (ValueError, ZeroDivisionError, OverflowError):
            return math.nan
        if self.value_unit == "°F":
            value = f(f(value * 1.8) + 32)
        if gain := self.wrong("own gain"):
            value = f(value * gain.number)
        if offset := self.wrong("own offset"):
            value = f(value + offset.number)
        if unit := self.wrong("unit"):
            value = {
                "°F as °C": lambda v: f(f(v * 1.8) + 32),
                "K as °C": lambda v: f(v + 273.15),
                "°C for °F": lambda v: f(f(v - 32) / 1.8),
                "°C for K": lambda v: f(v - 273.15),
            }[unit.word](value)
        if factor := self.wrong("factor"):
            value = f(value * factor.number)
        return float(int(value)) if self.wrong("whole value") else value

    def _sensor(self, volts: float) -> float:
        f, n, setup = self._f, self.setup.numbers, self.setup
        match setup.sensor:
            case "linear":
                zero, per_unit = n
                if self.wrong("offset missing"):
                    zero = 0.0
                if self.wrong("offset sign"):
                    zero = -zero
                if other := self.wrong("other sensor"):
                    zero = other.number
                return f(f(volts - f(zero)) / f(per_unit))
            case "polynomial":
                y = 0.0
                for i, c in reversed(list(enumerate(n))):
                    if i == 0 and self.wrong("offset missing"):
                        c = 0.0
                    y = f(f(y * volts) + f(c))
                return y
        supply = self.wrong("supply")
        part = f(volts / f(supply.number if supply else setup.reference))
        if setup.sensor == "ratiometric":
            zero = 0.0 if self.wrong("offset missing") else -n[0] if self.wrong("offset sign") else n[0]
            return f(f(part - f(zero)) / f(n[1]))
        is_lower = (setup.leg == "lower") != bool(self.wrong("leg"))
        over, under = (f(n[0] * part), f(1 - part)) if is_lower else (f(n[0] * f(1 - part)), part)
        ohms = f(over / under) if under else math.inf  # as floats do in C
        log = math.log10 if self.wrong("logarithm") else math.log
        if setup.sensor == "photoresistor":
            return f(10 * f(math.pow(ohms / n[1], f(-1 / n[2]))))
        if setup.sensor == "ntc beta":
            other_beta = self.wrong("other sensor")
            beta = other_beta.number if other_beta else n[2]
            inverse = f(f(1 / 298.15) + f(f(log(f(ohms / n[1]))) / beta))
        else:
            x = f(log(ohms))
            inverse = f(f(n[1] + f(n[2] * x)) + f(n[3] * f(f(x * x) * x)))
        return f(f(1 / inverse) - f(273.15))

    def _text(self, number: float, decimals: int) -> str:
        if not math.isfinite(number):
            return "nan"
        own = self.wrong("own offset")
        number += self.nudge * (abs(number) + (abs(own.number) if own else 0.0))
        if self.rounding == "cut":
            shifted = int(number * 10**decimals)
            sign = "-" if shifted < 0 else ""
            whole, rest = divmod(abs(shifted), 10**decimals)
            text = f"{sign}{whole}.{rest:0{decimals}d}" if decimals else f"{sign}{whole}"
        elif self.rounding == "half added":
            shifted = int(abs(number) * 10**decimals + 0.5)
            whole, rest = divmod(shifted, 10**decimals)
            sign = "-" if number < 0 else ""
            text = f"{sign}{whole}.{rest:0{decimals}d}" if decimals else f"{sign}{whole}"
        else:
            text = f"{number:.{decimals}f}"
        if self.drops_zeros and "." in text:
            text = text.rstrip("0")
            text = text + "0" if text.endswith(".") else text
        return text


BOARDS = (
    (10, 5.0, False),
    (10, 5.0, True),
    (12, 3.3, True),
    (12, 3.3, False),
    (10, 3.3, False),
    (12, 5.0, False),
)
SENSORS = (
    ("linear", "°C", (0.0, 0.01), "", 20, 45), ("linear", "°C", (0.5, 0.01), "", 20, 45),
    ("linear", "°C", (0.4, 0.0195), "", 20, 45), ("linear", "°C", (0.0, 0.01), "", 20, 45),
    ("linear", "°C", (0.5, 0.01), "", 20, 45),
    ("ntc beta", "°C", (10000.0, 10000.0, 3950.0), "lower", 20, 45),
    ("ntc beta", "°C", (10000.0, 10000.0, 3435.0), "upper", 20, 45),
    ("ntc steinhart-hart", "°C", (10000.0, 1.129148e-3, 2.34125e-4, 8.76741e-8), "lower", 20, 45),
    ("ratiometric", "kPa", (0.04, 0.004), "", 30, 180), ("ratiometric", "%", (0.0, 0.01), "", 5, 95),
    ("photoresistor", "lx", (10000.0, 15000.0, 0.7), "upper", 20, 600),
    ("polynomial", "°C", (-40.0, 55.0, 9.0), "", 5, 90),
)  # fmt: skip


def setups(chance: random.Random) -> Setup:
    """Some board with some sensor."""
    bits, reference, top_code = chance.choice(BOARDS)
    sensor, unit, numbers, leg, low, high = chance.choice(SENSORS)
    return Setup(
        sensor=sensor, unit=unit, bits=bits, reference=reference, top_code=top_code, numbers=numbers, leg=leg,
        low=low, high=high,
    )  # fmt: skip


def wrongs_for(setup: Setup) -> Iterator[Wrong]:
    """Every mistake that a program for that board and sensor may have, the fitted kinds aside."""
    in_parts = setup.sensor in ("ratiometric", "ntc beta", "ntc steinhart-hart", "photoresistor")
    for volts in (5.0, 3.3, 1.1, 2.5, 2.56, 4.096, 3.0):
        if volts != setup.reference:
            yield Wrong("reference", volts)
    for bits in range(8, 17):
        for divisor in (2**bits, 2**bits - 1):
            if divisor != setup.divisor:
                yield Wrong("divisor", divisor)
    yield Wrong("quotient first")
    yield Wrong("whole volts")
    yield Wrong("whole hundredths", 0.01)
    for per_volt in (1000, 100):
        if round(setup.reference * per_volt) * (2**setup.bits - 1) > 32767:
            yield Wrong("overflow", per_volt)
    for factor in (10.0, 100.0, 1000.0, 0.1, 0.01, 0.001):
        if factor in (1000.0, 0.001) and setup.sensor == "linear":
            yield Wrong("millivolts", factor)
        else:
            yield Wrong("factor", factor)
    if setup.sensor == "polynomial":
        yield Wrong("millivolts", 1000.0)
    if setup.unit == "°C":
        for word in ("°F as °C", "K as °C", "°C for °F", "°C for K"):
            yield Wrong("unit", word=word)
    has_offset = setup.sensor in ("linear", "ratiometric", "polynomial") and setup.numbers[0] != 0
    if has_offset:
        yield Wrong("offset missing")
        if setup.sensor != "polynomial":
            yield Wrong("offset sign")
    if setup.sensor == "linear" and setup.numbers[0] != 0.5:
        yield Wrong("other sensor", 0.5, "offset of 500 mV")
    if setup.sensor == "ntc beta":
        yield Wrong("other sensor", 3435.0 if setup.numbers[2] == 3950.0 else 3950.0, "beta of 3")
        yield Wrong("logarithm")
    if setup.sensor == "ntc steinhart-hart":
        yield Wrong("logarithm")
    if setup.leg:
        yield Wrong("leg")
    if in_parts and setup.reference != 5.0:
        yield Wrong("supply", 5.0)


def own_wrongs(setup: Setup, chance: random.Random) -> Iterator[Wrong]:
    """Mistakes with a number that no list has."""
    yield Wrong("own reference", round(setup.reference * chance.choice([0.9, 0.93, 0.96, 1.04, 1.07]), 2))
    yield Wrong("own gain", chance.choice([0.93, 0.95, 0.97, 1.03, 1.05, 1.08]))
    size = (setup.high - setup.low) * chance.uniform(0.05, 0.3)
    yield Wrong("own offset", round(size * chance.choice([-1, 1]), 1))


def single_wrong(setup: Setup, program: Program, chance: random.Random) -> Wrong:
    """One mistake, each kind as likely as another."""
    some = [*wrongs_for(setup), *own_wrongs(setup, chance)]
    if program.value_decimals >= 1 and program.prints[2]:
        some.append(Wrong("whole value"))
    if program.prints[1]:
        some += [Wrong("volts scale", factor) for factor in (1000.0, 10.0, 0.1)]
    if program.takes_count:  # the reference shows in the printed volts alone
        some = [one for one in some if one.kind not in ("supply", *WHOLE_NUMBERS, "overflow")]
        if not program.prints[1]:
            some = [one for one in some if one.kind not in ("reference", "own reference")]
    if not program.prints[0]:  # a count that isn't printed can't show what was done to it
        some = [one for one in some if one.kind not in OF_COUNTS]
    if not program.prints[2]:
        some = [one for one in some if one.kind in (*OF_COUNTS, "volts scale")]
    kinds = sorted({one.kind for one in some})
    kind = chance.choice(kinds)
    return chance.choice([one for one in some if one.kind == kind])


WHOLE_NUMBERS = ("quotient first", "whole volts", "whole hundredths")
OF_COUNTS = (
    "reference", "divisor", "quotient first", "whole volts", "whole hundredths", "overflow", "own reference"
)  # fmt: skip
_GROUPS = (
    ("quotient first", "whole volts", "whole hundredths", "overflow", "own reference"),
    ("own gain", "own offset"),
    ("offset missing", "offset sign", "other sensor", "leg", "logarithm", "supply"),
    ("millivolts", "factor", "volts scale"),
    ("whole value",),
    ("unit",),
    ("reference",),
    ("divisor",),
)  # of one group only one shows: the other is swallowed, or only their ratio can be seen


def pair_of_wrongs(setup: Setup, program: Program, chance: random.Random) -> tuple[Wrong, Wrong]:
    """Two mistakes of different groups, at most one of them with a number of its own."""
    while True:
        one, other = single_wrong(setup, program, chance), single_wrong(setup, program, chance)
        groups = [next(i for i, kinds in enumerate(_GROUPS) if w.kind in kinds) for w in (one, other)]
        both = {one.kind, other.kind}
        n_own = len(both & {"own reference", "own gain", "own offset"})
        if groups[0] == groups[1] or n_own > 1 or both & set(WHOLE_NUMBERS[:2]):
            continue
        if "own reference" in both and both & {"reference", "divisor"}:
            continue  # only their ratio can be seen
        return one, other


def made_program(setup: Setup, chance: random.Random) -> Program:
    """A right program in some of the usual forms."""
    prints = chance.choice(
        [(True, False, True), (True, True, True), (True, True, False), (False, True, True)]
    )
    route = chance.choices(ROUTES, weights=(8, 4, 3, 1))[0]
    volts_in_mv = chance.random() < 0.3
    in_parts = setup.sensor not in ("linear", "polynomial")
    if in_parts and route in ("whole millivolts", "rounded millivolts"):
        route = "one go"
    volts_decimals = chance.choice([0, 1, 2] if volts_in_mv else [2, 3, 4])
    return Program(
        setup=setup, route=route, is_single=chance.random() < 0.5,
        rounding=chance.choice(["nearest", "nearest", "half added", "cut"]),
        volts_decimals=volts_decimals, value_decimals=chance.choice([1, 1, 2, 2, 3, 4]),
        volts_in_mv=volts_in_mv,
        prints=prints, takes_count=in_parts and route == "one go" and chance.random() < 0.5,
        drops_zeros=chance.random() < 0.2,
        value_unit="°F" if setup.unit == "°C" and chance.random() < 0.05 else "",
    )  # fmt: skip


def counts_of(setup: Setup, chance: random.Random) -> list[int]:
    """What the converter gives while the quantity falls from high to low, or over a part, or rests."""
    n = chance.randint(30, 300)
    span = chance.choice([1.0, 1.0, 1.0, 0.6, 0.3])
    start = setup.high - chance.random() * (1 - span) * (setup.high - setup.low)
    end = start - span * (setup.high - setup.low)
    noise = chance.choice([0.3, 1.0, 2.0])
    counts = []
    for i in range(n):
        value = end + (start - end) * math.exp(-2.5 * i / n)
        count = int(setup.pin_part(value) * 2**setup.bits + chance.gauss(0, noise))
        counts.append(min(max(count, 1), 2**setup.bits - 2))
    return counts
