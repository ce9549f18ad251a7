from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import partial

import pytest

from bridge.core.lesson import AlarmGiven, BandsGiven, BenchChannel, Channel, Conversion, mark_of, plain_bench

conversion = partial(Conversion, name="sensor", start="count")
limit = partial(AlarmGiven, kind="high", at=1.0)
bands = partial(BandsGiven, baseline=20.0, edges=(1.0, 2.0), names=("a", "b", "c"))


@pytest.mark.parametrize(
    "made",
    [
        lambda: conversion(width_bits=7),
        lambda: conversion(reference_volts=0.0),
        lambda: conversion(reference_volts=5000.0),
        lambda: conversion(reference_volts=float("nan")),
        lambda: conversion(volts_per_unit=0.0),
        lambda: conversion(kind="platinum"),
        lambda: conversion(kind="ohms", fixed_ohms=0.0, sensor_leg="lower"),
        lambda: conversion(fixed_ohms=100.0),
        lambda: conversion(kind="table", points=((0.0, 1.0), (1.0, 1.0))),
        lambda: limit(deadband=-1.0),
        lambda: limit(on_delay_seconds=-1.0),
        lambda: limit(off_delay_seconds=-1.0),
        lambda: bands(edges=(2.0, 2.0)),
        lambda: bands(edges=(0.0, 2.0)),
        lambda: bands(edges=(), names=("a",)),
        lambda: bands(names=("a",)),
        lambda: bands(deadband=-0.1),
        lambda: Channel(name="t", low=5.0, high=5.0),
        lambda: Channel(name="t", decimals=7),
        lambda: BenchChannel(channel="t", gain=0.0),
        lambda: replace(plain_bench(1), row=1),
    ],
)
def test_a_value_that_would_break_a_rule_can_not_be_made(made: Callable[[], object]) -> None:
    with pytest.raises(ValueError, match="found"):
        made()


def test_no_two_of_the_first_sixty_four_benches_share_a_mark() -> None:
    assert len({mark_of(number) for number in range(1, 65)}) == 64
