"""Series made for the tests, and the published values."""

from __future__ import annotations

import csv
import math
import tomllib
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from dashboard.comparing.moments import Floats
from dashboard.comparing.series import Series

REFERENCE = Path(__file__).parents[2] / "reference"
CASES: dict[str, Any] = tomllib.loads((REFERENCE.parent / "cases" / "cases.toml").read_text(encoding="utf-8"))
CERTIFIED: dict[str, Any] = tomllib.loads(
    (REFERENCE / "nist" / "certified_beside_linear.toml").read_text(encoding="utf-8")
)


def rows(path: str) -> list[dict[str, str]]:
    """A table of published values."""
    with (REFERENCE / path).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def digits(found: float, certified: float) -> float:
    """How many significant digits agree (log relative error); 16 when all do."""
    if found == certified:
        return 16.0
    return -math.log10(abs(found - certified) / (abs(certified) or 1.0))


def series(
    seconds: Sequence[float] | NDArray[np.floating[Any]],
    values: Sequence[float] | NDArray[np.floating[Any]],
    *,
    bench: int = 1,
    unit: str = "°C",
    u: float = math.nan,
) -> Series:
    """The readings of one bench."""
    n = len(values)
    return Series(
        bench,
        "temperature",
        unit,
        np.asarray(seconds, np.float64),
        np.asarray(values, np.float64),
        np.full(n, u),
        np.zeros(n, np.bool_),
    )


def table(benches: dict[int, Series]) -> pd.DataFrame:
    """The same readings as `bridge.read_recording` gives them."""
    parts = [
        pd.DataFrame(
            {
                "time": pd.to_datetime(
                    1_700_000_000_000_000_000 + np.round(one.seconds * 1e9).astype(np.int64),
                    unit="ns",
                    utc=True,
                ),
                "bench": bench,
                "channel": one.channel,
                "value": one.values,
                "unit": one.unit,
                "u": one.u,
                "quality": np.where(one.uncertain, "uncertain", "good"),
                "line": np.arange(1, len(one) + 1),
            }
        )
        for bench, one in benches.items()
    ]
    return pd.concat(parts).sort_values("time", kind="stable", ignore_index=True)


def persistent_noise(rng: np.random.Generator, n: int, persistence: float) -> Floats:
    """Normal noise of standard deviation 1 with correlation persistence^k at lag k."""
    white = rng.standard_normal(n)
    noise = np.empty(n)
    noise[0] = white[0]
    fresh = math.sqrt(1 - persistence**2)
    for i in range(1, n):
        noise[i] = persistence * noise[i - 1] + fresh * white[i]
    return noise
