"""What if a setting had been another: both results of a recording, whole session, and how they differ.

Mathematics and words alone, no screens. Names are fetched when they are first used.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from dashboard.what_if.both import Both as Both
    from dashboard.what_if.both import Source as Source
    from dashboard.what_if.both import StoppedError as StoppedError
    from dashboard.what_if.both import both_of as both_of
    from dashboard.what_if.changes import Change as Change
    from dashboard.what_if.changes import NoValueError as NoValueError
    from dashboard.what_if.changes import change_of as change_of
    from dashboard.what_if.changes import text_of as text_of
    from dashboard.what_if.changes import value_of as value_of
    from dashboard.what_if.differing import Difference as Difference
    from dashboard.what_if.differing import difference_of as difference_of
    from dashboard.what_if.settings import Group as Group
    from dashboard.what_if.settings import Setting as Setting
    from dashboard.what_if.settings import settings_of as settings_of
    from dashboard.what_if.words import Told as Told
    from dashboard.what_if.words import told_of as told_of

_HOMES = {
    "Both": "both",
    "Change": "changes",
    "Difference": "differing",
    "Group": "settings",
    "NoValueError": "changes",
    "Setting": "settings",
    "Source": "both",
    "StoppedError": "both",
    "Told": "words",
    "both_of": "both",
    "change_of": "changes",
    "difference_of": "differing",
    "settings_of": "settings",
    "text_of": "changes",
    "told_of": "words",
    "value_of": "changes",
}

__all__ = [
    "Both",
    "Change",
    "Difference",
    "Group",
    "NoValueError",
    "Setting",
    "Source",
    "StoppedError",
    "Told",
    "both_of",
    "change_of",
    "difference_of",
    "settings_of",
    "text_of",
    "told_of",
    "value_of",
]


def __getattr__(name: str) -> object:
    """PEP 562: a name of the public face, from the module that it lives in."""
    home = _HOMES.get(name)
    if home is None:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f"dashboard.what_if.{home}"), name)
