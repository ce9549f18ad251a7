"""The figures of a class beside each other: values in, values out; no files, no screens.

Names are fetched when they are first used, so that a command that compares nothing does not wait for scipy.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from dashboard.comparing.alignment import Alignment as Alignment
    from dashboard.comparing.alignment import Grid as Grid
    from dashboard.comparing.bench_figures import BenchFigures as BenchFigures
    from dashboard.comparing.choices import Choices as Choices
    from dashboard.comparing.comparison import Comparison as Comparison
    from dashboard.comparing.comparison import comparison_of as comparison_of
    from dashboard.comparing.events import Event as Event
    from dashboard.comparing.figure import Figure as Figure
    from dashboard.comparing.ranking import Ranking as Ranking

_HOMES = {
    "Alignment": "alignment",
    "BenchFigures": "bench_figures",
    "Choices": "choices",
    "Comparison": "comparison",
    "Event": "events",
    "Figure": "figure",
    "Grid": "alignment",
    "Ranking": "ranking",
    "comparison_of": "comparison",
}

__all__ = [
    "Alignment",
    "BenchFigures",
    "Choices",
    "Comparison",
    "Event",
    "Figure",
    "Grid",
    "Ranking",
    "comparison_of",
]


def __getattr__(name: str) -> object:
    """PEP 562: a name of the public face, from the module that it lives in."""
    home = _HOMES.get(name)
    if home is None:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f"dashboard.comparing.{home}"), name)
