from __future__ import annotations

import subprocess
import sys
from fractions import Fraction

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.core.unit_lines import EVERYDAY, SAME, UnitLine, line_between

registry: pint.UnitRegistry[Fraction] = pint.UnitRegistry(non_int_type=Fraction)
PINT_NAMES = {"°C": "degC", "°F": "degF", "Ω": "ohm", "kΩ": "kiloohm", "MΩ": "megaohm"}


@pytest.mark.parametrize("quantity", EVERYDAY, ids=lambda quantity: next(iter(quantity)))
def test_the_everyday_units_are_exactly_as_pint_defines_them(
    quantity: dict[str, tuple[Fraction, Fraction]],
) -> None:
    first = next(iter(quantity))
    for unit, (scale, shift) in quantity.items():
        if unit == "rpm":
            continue  # a turn is 2π to pint; 60 a minute are one a second
        zero, one = (
            registry.Quantity(Fraction(i), PINT_NAMES.get(first, first)).to(PINT_NAMES.get(unit, unit))
            for i in (0, 1)
        )
        assert zero.magnitude == shift
        assert one.magnitude - zero.magnitude == scale


@pytest.mark.parametrize(
    ("unit", "wanted", "scale", "shift"),
    [
        ("°C", "°F", 1.8, 32.0), ("°C", "K", 1.0, 273.15), ("K", "°C", 1.0, -273.15), ("Ω", "kΩ", 0.001, 0.0),
        ("lx", "klx", 0.001, 0.0), ("mV", "V", 0.001, 0.0), ("V", "µV", 1e6, 0.0), ("Hz", "rpm", 60.0, 0.0),
        ("°C", "degR", 1.8, 491.67), ("°C", "mK", 1000.0, 273150.0), ("hPa", "mbar", 1.0, 0.0),
        ("bar", "kPa", 100.0, 0.0), ("inch", "cm", 2.54, 0.0), ("km/h", "m/s", 1 / 3.6, 0.0),
        ("lx", "lm/m2", 1.0, 0.0), ("kΩ", "GΩ", 1e-6, 0.0), ("h", "min", 60.0, 0.0), ("mW", "W", 0.001, 0.0),
    ],
)  # fmt: skip
def test_a_unit_goes_into_another_exactly(unit: str, wanted: str, scale: float, shift: float) -> None:
    assert line_between(unit, wanted) == UnitLine(scale, shift)


def test_units_are_taken_in_any_known_spelling() -> None:
    assert line_between("C", "fahrenheit") == UnitLine(1.8, 32.0)
    assert line_between("ohms", "kOhm") == UnitLine(0.001, 0.0)
    assert line_between("celsius", "℃") == SAME


@pytest.mark.parametrize(
    ("unit", "wanted"),
    [("°C", "V"), ("lx", "Ω"), ("%", "counts"), ("ppm", "%"), ("bananas", "°C"), ("°C", ""), ("", "°C"),
     ("rad/s", "Hz"), ("m**9", "m"), ("1/0", "s"), ("(", "s"), ("dB", "%"), ("V", "?"), ("kg", "N")],
)  # fmt: skip
def test_what_is_not_of_one_quantity_has_no_line(unit: str, wanted: str) -> None:
    assert line_between(unit, wanted) is None


def test_a_unit_that_nobody_knows_is_still_itself() -> None:
    assert line_between("bananas", "bananas") == SAME
    assert line_between("", "") == SAME


@given(unit=st.text(max_size=30), wanted=st.sampled_from(["°C", "V", "m", "mbar"]))
def test_no_text_that_a_board_prints_for_a_unit_breaks_it(unit: str, wanted: str) -> None:
    line = line_between(unit, wanted)
    assert line is None or line.scale > 0


@given(quantity=st.sampled_from(EVERYDAY), data=st.data(), value=st.floats(-1e6, 1e6))
def test_there_and_back_gives_the_same_value(
    quantity: dict[str, tuple[Fraction, Fraction]], data: st.DataObject, value: float
) -> None:
    unit, wanted = (data.draw(st.sampled_from(list(quantity))) for _ in range(2))
    there, back = line_between(unit, wanted), line_between(wanted, unit)
    assert there is not None
    assert back is not None
    again = back.scale * (there.scale * value + there.shift) + back.shift
    assert again == pytest.approx(value, rel=1e-12, abs=1e-9)


def test_everyday_units_do_not_wait_for_pint() -> None:
    script = (
        "import sys; from bridge.core.unit_lines import line_between; "
        "assert line_between('°C', '°F'); assert line_between('mV', 'V'); assert 'pint' not in sys.modules; "
        "assert line_between('°C', 'mK'); "
        "assert 'pint' in sys.modules"
    )
    subprocess.run([sys.executable, "-c", script], check=True)
