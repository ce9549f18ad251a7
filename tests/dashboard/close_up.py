"""What the bridge says to who follows a bench or surveys all of them, made up for tests."""

from __future__ import annotations

from typing import Any

from tests.dashboard.scripted_bridge import Message


def part(words: str, u: float, share: float, evaluated: str = "B", source: str = "data sheet") -> Message:
    """One line of an uncertainty budget."""
    return {"words": words, "u": u, "share": share, "evaluated": evaluated, "source": source}


def steady_part(**changes: Any) -> Message:
    """A channel that is steady."""
    return {
        "steady": True, "mean": 36.624, "u": 0.031, "n": 120, "seconds": 12.0, "words": "steady for 12 s",
    } | changes  # fmt: skip


def point(reference: float, indication: float, fitted: float, **changes: Any) -> Message:
    """A point of a calibration."""
    return {
        "reference": reference, "indication": indication, "u_reference": 0.1, "u_indication": 0.03,
        "fitted": fitted, "residual": round(reference - fitted, 9),
    } | changes  # fmt: skip


def calibration(**changes: Any) -> Message:
    """A line through four points."""
    points = [(10.0, 9.5, 9.98), (20.0, 19.7, 20.06), (30.1, 29.6, 30.0), (40.0, 39.7, 40.06)]
    return {
        "fit": "line", "date": "2026-11-25", "reference": "glass thermometer in the bath",
        "words": "value = 0.58 + 0.988 × reading", "coefficients": [0.5821, 0.98832], "u": [0.11, 0.0042],
        "residual_sd": 0.081, "lack_of_fit": "", "points": [point(*one) for one in points],
    } | changes  # fmt: skip


def check(state: str = "right", **changes: Any) -> Message:
    """What is known of the program's conversion."""
    return {
        "state": state, "words": "", "expected": "count × 5 V / 1024", "found": "count × 5 V / 1024",
        "reads_wrong_by": 0.0, "would_tell": "",
    } | changes  # fmt: skip


def worth_part(**changes: Any) -> Message:
    """What the readings of a channel are worth."""
    return {
        "channel": "temperature", "unit": "°C", "value": 31.2418, "u": 0.1432, "decimals": 2,
        "deadband": 0.43, "deadband_words": "three times the noise, at least one step of the converter",
        "parts": [
            part("resolution", 0.1409, 0.968, source="5 V / 1024, 10 mV for one °C"),
            part("noise", 0.0256, 0.032, evaluated="A", source="the last 120 readings"),
        ],
        "steady": steady_part(), "calibration": None, "check": check(),
    } | changes  # fmt: skip


def worth(of_bench: int, *channels: Message) -> Message:
    """What a bench's readings are worth."""
    return {"kind": "worth", "bench": of_bench, "channels": list(channels) or [worth_part()]}


def field(name: str, role: str, unit: str, text: str) -> Message:
    """A field of a text."""
    return {"name": name, "role": role, "unit": unit, "text": text}


def text(of_bench: int, **changes: Any) -> Message:
    """A text that was learned."""
    return {
        "kind": "text", "bench": of_bench, "words": "three numbers, each before its label", "sure": "sure",
        "fields": [
            field("raw", "count", "", "64"), field("U", "volts", "V", "0.313"),
            field("T", "value", "°C", "31.3"),
        ],
        "samples": ["64 raw 0.313 V 31.3 °C", "65 raw 0.317 V 31.7 °C"], "doubt": "", "alternatives": [],
    } | changes  # fmt: skip


def doubtful(of_bench: int, **changes: Any) -> Message:
    """A text with a decimal comma, or with a comma between two numbers."""
    samples = ["12,5", "12,7", "13,1"]
    ways = [
        {"words": "one number with a decimal comma", "columns": ["1"], "rows": [[one] for one in samples]},
        {"words": "two whole numbers", "columns": ["1", "2"], "rows": [one.split(",") for one in samples]},
    ]
    return text(
        of_bench,
        **{
            "words": "", "sure": "doubtful", "fields": [], "samples": samples, "alternatives": ways,
            "doubt": "The comma may be the decimal sign or stand between two numbers",
        } | changes,
    )  # fmt: skip


def steady(of_bench: int, **changes: Any) -> Message:
    """Whether a bench's temperature is steady."""
    told = {"channel": "temperature", "unit": "°C", "decimals": 2} | steady_part(**changes)
    return {"kind": "steady", "bench": of_bench, "channels": [told]}
