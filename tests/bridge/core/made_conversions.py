"""One conversion of each kind, and ways to make a converter and to read the published tables."""

from __future__ import annotations

import csv
from dataclasses import replace
from pathlib import Path

from bridge.core.conversion import Converter
from bridge.core.lesson import BenchChannel, Channel, Conversion

REFERENCE = Path(__file__).parents[2] / "reference"
NTC = Conversion(
    name="ntc", start="count", width_bits=12, kind="ntc beta", fixed_ohms=10_000.0, sensor_leg="lower",
    ohms_at_25=10_000.0, beta_kelvin=3950.0,
)  # fmt: skip
PLATINUM = Conversion(
    name="pt", start="count", width_bits=16, kind="platinum", fixed_ohms=100.0, sensor_leg="lower",
)  # fmt: skip
EVERY_KIND: dict[str, tuple[Conversion, str]] = {
    "linear": (Conversion(name="c", start="count", offset_volts=0.5, volts_per_unit=0.01), "°C"),
    "linear within valid": (
        Conversion(name="c", start="count", volts_per_unit=-0.01, offset_volts=2.0, valid=(-20.0, 80.0)),
        "°C",
    ),
    "polynomial": (
        Conversion(name="c", start="count", kind="polynomial", coefficients=(-50.0, 60.0, 10.0, -1.0)), "°C",
    ),
    "falling polynomial of volts": (
        Conversion(
            name="c", start="volts", kind="polynomial", coefficients=(90.0, -20.0, -1.0),
            volts_range=(0.2, 3.0), valid=(30.0, 80.0),
        ), "°C",
    ),
    "table": (
        Conversion(name="c", start="count", kind="table", points=((0.5, 0.0), (1.5, 40.0), (2.1, 80.0))),
        "°C",
    ),
    "ratiometric": (
        Conversion(
            name="c", start="count", kind="ratiometric", offset_fraction=0.1, fraction_per_unit=0.008
        ), "kPa",
    ),
    "ratiometric with its own supply": (
        Conversion(
            name="c", start="volts", kind="ratiometric", supply_volts=3.3, fraction_per_unit=0.01
        ), "%",
    ),
    "ohms": (
        Conversion(name="c", start="count", kind="ohms", fixed_ohms=1000.0, sensor_leg="upper"), "kΩ",
    ),
    "ntc in the lower leg": (NTC, "°C"),
    "ntc in the upper leg": (replace(NTC, sensor_leg="upper", divisor="2^n-1"), "°F"),
    "ntc from volts": (replace(NTC, start="volts", reference_volts=3.3), "K"),
    "ntc with its own supply": (replace(NTC, supply_volts=3.3), "°C"),
    "ntc steinhart-hart": (
        Conversion(
            name="c", start="count", kind="ntc steinhart-hart", fixed_ohms=10_000.0, sensor_leg="lower",
            steinhart_hart=(1.0e-3, 2.4e-4, 1.5e-7),
        ), "°C",
    ),
    "platinum": (PLATINUM, "°C"),
    "platinum from ohms": (Conversion(name="c", start="ohms", kind="platinum", ohms_at_0=1000.0), "°C"),
    "photoresistor": (
        Conversion(
            name="c", start="count", kind="photoresistor", fixed_ohms=10_000.0, sensor_leg="upper",
            ohms_at_10_lux=15_000.0, gamma=0.7,
        ), "lx",
    ),
    "table of ohms": (
        Conversion(
            name="c", start="count", kind="table of ohms", fixed_ohms=10_000.0, sensor_leg="lower",
            points=((500.0, 100.0), (10_000.0, 25.0), (30_000.0, 0.0)),
        ), "°C",
    ),
}  # fmt: skip


def converter_of(conversion: Conversion, unit: str = "°C", **own: float) -> Converter:
    channel = Channel(name="temperature", unit=unit)
    return Converter(channel, BenchChannel(channel="temperature", **own), conversion)  # type: ignore[arg-type]


def rows(name: str) -> list[dict[str, str]]:
    with (REFERENCE / name).open() as file:
        return list(csv.DictReader(file))
