from __future__ import annotations

import random

import pytest

from .benches import celsius, count, lines, seen, volts, watch

THREE = [count("raw"), volts(), celsius("t", 2)]


def scattered(n: int, *, noise: float = 0.08, seed: int = 11) -> list[str]:
    chance = random.Random(seed)
    return [f"{24 - i / 2000 + chance.gauss(0, noise):.2f}" for i in range(n)]


def test_a_fine_number_that_never_moves_again_is_stuck_and_clears() -> None:
    texts = scattered(150) + ["23.91"] * 200 + scattered(60, seed=12)
    told = watch(lines(texts, every=0.5), [celsius("t")])
    assert [(event, kind) for _, event, kind, _ in told.events if event != "changed"] == [
        ("found", "stuck"), ("gone", "stuck"),
    ]  # fmt: skip
    assert 134.0 <= told.at("found", "stuck") <= 137.0
    assert told.changes[0].finding.since_ns // 10**9 in (74, 75)


def test_a_fine_number_that_stands_for_half_a_minute_is_not_told() -> None:
    texts = scattered(150) + ["23.91"] * 70 + scattered(60, seed=12)
    assert watch(lines(texts, every=0.5), [celsius("t")]).events == []


@pytest.mark.parametrize("noise", [0.0, 0.003, 0.01])
def test_a_quiet_sensor_in_quiet_water_is_not_stuck(noise: float) -> None:
    texts = scattered(150, noise=noise) + ["23.92"] * 300
    assert watch(lines(texts, every=0.5), [celsius("t")]).events == []


def test_a_slow_boards_many_dips_are_no_noise_that_it_has_lost() -> None:
    dips = ["21.00", "21.00", "21.00", "45.00", "45.00", "45.00", "45.00"] * 9
    assert watch(lines(dips + ["21.00"] * 90, every=2.0), [celsius("t")]).events == []


def test_a_number_that_no_longer_follows_its_count_is_stuck() -> None:
    counts = [*range(40, 92), *[92] * 20, *range(92, 60, -1)]
    held = [92 if i >= 60 else n for i, n in enumerate(counts)]
    texts = [f"{n},{n * 5 / 1024:.3f},{h * 500 / 1024:.2f}" for n, h in zip(counts, held, strict=True)]
    told = watch(lines(texts, every=0.5), THREE)
    assert told.kinds == [("stuck", "t")]
    assert "raw" in told.changes[0].finding.evidence


def test_another_sensor_that_stands_still_is_not_stuck() -> None:
    """The room does not follow the cup."""
    texts = [f"{92 - i // 3},20.50" for i in range(200)]
    assert watch(lines(texts, every=0.5), [count("raw"), celsius("room", 1)]).events == []


def cut(n: int) -> str:
    return f"{n},{float(n * 5 // 1024):.3f},{float(n * 5 // 1024) * 100:.2f}"


def good(n: int) -> str:
    return f"{n},{n * 5 / 1024:.3f},{n * 500 / 1024:.2f}"


def test_whole_number_division_is_told_from_the_first_lines_and_clears() -> None:
    counts = [92 - i // 4 for i in range(100)]
    told = watch(lines([cut(n) for n in counts] + [good(n) for n in counts]), THREE)
    assert told.kinds == [("too coarse", "volts")]
    assert told.at("found", "too coarse") <= 4.0
    assert told.at("gone", "too coarse") <= 27.0


def test_whole_number_division_above_one_volt_is_told() -> None:
    counts = [300 + 4 * i for i in range(100)]
    assert watch(lines([cut(n) for n in counts]), THREE).kinds == [("too coarse", "volts")]


def test_a_formula_that_was_put_right_is_no_division() -> None:
    """After it one number may be whole for a while."""
    counts = [*range(40, 92), *[92] * 20]
    texts = [f"{n},{n * 5 / 1024:.3f},{n * 756 / 1024:.1f}" for n in counts]
    texts += [f"{79},{79 * 5 / 1024:.3f},{38.0:.1f}" for _ in range(60)]
    assert watch(lines(texts), [count("raw"), volts(), celsius("t", 2, step=0.1)]).events == []


@pytest.mark.parametrize("number", ["0.00", "21.00"])
def test_another_channel_that_is_whole_beside_a_steady_count_is_not_told(number: str) -> None:
    texts = [f"{92 - i // 60},{number}" for i in range(150)]
    assert watch(lines(texts), [count("raw"), seen("rain", 1, "value", unit="mm", step=0.01)]).events == []


def test_too_few_decimals_are_a_hint() -> None:
    fields = [count("raw", bits=12), volts(reference=3.3, step=0.1)]
    texts = [f"{n},{n * 3.3 / 4096:.1f}" for n in range(550, 450, -1)]
    told = watch(lines(texts), fields)
    assert told.kinds == [("too coarse", "volts")]
    assert told.changes[0].finding.weight == "hint"


def test_a_digit_that_only_hides_noise_is_not_told() -> None:
    chance = random.Random(21)
    fields = [count("raw", bits=12), volts(reference=3.3, step=0.01)]
    counts = [round(550 - i / 5 + chance.gauss(0, 6)) for i in range(300)]
    told = watch(lines([f"{n},{n * 3.3 / 4096:.2f}" for n in counts]), fields)
    assert told.events[-1][1:3] == ("gone", "too coarse") or told.events == []


def test_decimals_that_suit_the_converter_are_not_told() -> None:
    fields = [
        count("raw", bits=10),
        volts(step=0.01),
        seen("t", 2, "value", unit="°C", rails=(0.0, 500.0), step=1.0),
    ]
    texts = [f"{n},{n * 5 / 1024:.2f},{n * 500 / 1024:.0f}" for n in range(150, 50, -1)]
    assert watch(lines(texts), fields).events == []
