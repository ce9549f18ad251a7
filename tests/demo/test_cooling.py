from __future__ import annotations

import csv
import math
import random
from pathlib import Path

import pytest

from demo.cooling import Adc, Cup, LinearSensor, Pour, Probe, digital_celsius

CUP = Cup(time_constant_seconds=600, room_celsius=20, pours=(Pour(at_seconds=30, celsius=45),))
REFERENCE = Path(__file__).parents[1] / "reference"


def test_an_empty_cup_is_as_warm_as_the_room() -> None:
    assert CUP.water_celsius(29.9) == 20


def test_after_one_time_constant_a_cup_keeps_1_of_e_of_its_difference_to_the_room() -> None:
    assert CUP.water_celsius(30) == 45
    assert CUP.water_celsius(630) == pytest.approx(20 + 25 / math.e, abs=1e-12)


def test_a_cup_cools_as_fast_as_newtons_law_says() -> None:
    slope = (CUP.water_celsius(200.001) - CUP.water_celsius(199.999)) / 0.002
    assert slope == pytest.approx(-(CUP.water_celsius(200) - 20) / 600, rel=1e-6)


def test_a_cup_that_is_topped_up_cools_anew() -> None:
    pours = (*CUP.pours, Pour(at_seconds=300, celsius=47))
    topped_up = Cup(time_constant_seconds=600, room_celsius=20, pours=pours)
    assert topped_up.water_celsius(299) == CUP.water_celsius(299)
    assert topped_up.water_celsius(900) == pytest.approx(20 + 27 / math.e, abs=1e-12)


def test_a_probe_follows_a_step_as_first_order_whatever_the_steps() -> None:
    once, often = Probe(20), Probe(20)
    once.follow(45, for_seconds=4, time_constant_seconds=4)
    for _ in range(16):
        often.follow(45, for_seconds=0.25, time_constant_seconds=4)
    assert once.celsius == pytest.approx(45 - 25 / math.e, abs=1e-12)
    assert often.celsius == pytest.approx(once.celsius, abs=1e-9)


@pytest.mark.parametrize(("width", "reference"), [(10, 5.0), (10, 3.3), (12, 3.3)])
def test_a_count_never_stands_for_more_than_the_voltage_nor_for_a_step_less(
    width: int, reference: float
) -> None:
    adc = Adc(width_bits=width, reference_volts=reference)
    chance = random.Random(1)
    for _ in range(1000):
        volts = chance.uniform(0, reference * 0.999)
        over = volts - adc.count(volts) * reference / 2**width
        assert -1e-12 <= over < adc.step_volts + 1e-12


def test_a_converter_holds_its_ends() -> None:
    adc = Adc(width_bits=10, reference_volts=5.0)
    assert (adc.count(-0.1), adc.count(5.0), adc.count(9.0)) == (0, 1023, 1023)


def test_a_sensor_gives_its_offset_at_zero_degrees_and_its_slope_above() -> None:
    sensor = LinearSensor(offset_volts=0.5, noise_celsius=0.0)
    assert sensor.volts(0, random.Random(1)) == pytest.approx(0.5)
    assert sensor.volts(45, random.Random(1)) == pytest.approx(0.95)


def test_a_sensors_noise_has_the_size_that_it_says() -> None:
    sensor, chance = LinearSensor(noise_celsius=0.04), random.Random(2)
    values = [sensor.volts(40, chance) / 0.01 for _ in range(4000)]
    mean = sum(values) / len(values)
    assert mean == pytest.approx(40, abs=0.003)
    assert math.sqrt(sum((one - mean) ** 2 for one in values) / len(values)) == pytest.approx(0.04, rel=0.05)


def test_a_digital_sensor_steps_by_a_sixteenth_of_a_degree() -> None:
    chance = random.Random(3)
    assert all((digital_celsius(c / 10, chance) * 16).is_integer() for c in range(200, 450))


def test_a_converter_gives_each_published_code_in_the_middle_of_its_step() -> None:
    with (REFERENCE / "adc_codes.csv").open(newline="") as file:
        rows = list(csv.DictReader(file))
    assert len(rows) > 20
    for row in rows:
        adc = Adc(width_bits=int(row["bits"]), reference_volts=float(row["vref_V"]))
        assert adc.count(float(row["volts_code_centre_truncating"])) == int(row["code"])
