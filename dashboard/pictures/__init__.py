"""Pictures of a comparison as plotly figures: values in, a figure out; for the page and for stills alike.

Names are fetched when they are first used, so that a command without pictures does not wait for plotly.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from dashboard.pictures.album import NAMES as NAMES
    from dashboard.pictures.album import Picture as Picture
    from dashboard.pictures.album import pictures_of as pictures_of
    from dashboard.pictures.answers import responses as responses
    from dashboard.pictures.bands import band_ribbons as band_ribbons
    from dashboard.pictures.courses import difference as difference
    from dashboard.pictures.courses import overlay as overlay
    from dashboard.pictures.h_and_k import consistency as consistency
    from dashboard.pictures.interval_dots import dots as dots
    from dashboard.pictures.look import DARK as DARK
    from dashboard.pictures.look import LIGHT as LIGHT
    from dashboard.pictures.look import PAPER as PAPER
    from dashboard.pictures.look import Look as Look
    from dashboard.pictures.marked import Marked as Marked
    from dashboard.pictures.marked import marked_of as marked_of
    from dashboard.pictures.multiples import small_multiples as small_multiples
    from dashboard.pictures.scatter import two_channels as two_channels

_HOMES = {
    "DARK": "look",
    "LIGHT": "look",
    "Look": "look",
    "Marked": "marked",
    "NAMES": "album",
    "PAPER": "look",
    "Picture": "album",
    "band_ribbons": "bands",
    "consistency": "h_and_k",
    "difference": "courses",
    "dots": "interval_dots",
    "marked_of": "marked",
    "overlay": "courses",
    "pictures_of": "album",
    "responses": "answers",
    "small_multiples": "multiples",
    "two_channels": "scatter",
}

__all__ = [
    "DARK",
    "LIGHT",
    "NAMES",
    "PAPER",
    "Look",
    "Marked",
    "Picture",
    "band_ribbons",
    "consistency",
    "difference",
    "dots",
    "marked_of",
    "overlay",
    "pictures_of",
    "responses",
    "small_multiples",
    "two_channels",
]


def __getattr__(name: str) -> object:
    """PEP 562: a name of the public face, from the module that it lives in."""
    home = _HOMES.get(name)
    if home is None:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f"dashboard.pictures.{home}"), name)
