"""Hand-outs of a recorded session: tables, pictures and reports, for the class and for each group.

Names are fetched when they are first used, so that help does not wait for pandas.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from dashboard.exporting.csv_files import write_csv as write_csv
    from dashboard.exporting.handing_out import Kind as Kind
    from dashboard.exporting.handing_out import Wanted as Wanted
    from dashboard.exporting.handing_out import check_free as check_free
    from dashboard.exporting.handing_out import hand_out as hand_out
    from dashboard.exporting.session import Session as Session
    from dashboard.exporting.session import gathered as gathered

_HOMES = {
    "Kind": "handing_out",
    "Session": "session",
    "Wanted": "handing_out",
    "check_free": "handing_out",
    "gathered": "session",
    "hand_out": "handing_out",
    "write_csv": "csv_files",
}

__all__ = [
    "Kind",
    "Session",
    "Wanted",
    "check_free",
    "gathered",
    "hand_out",
    "write_csv",
]


def __getattr__(name: str) -> object:
    """PEP 562: a name of the public face, from the module that it lives in."""
    home = _HOMES.get(name)
    if home is None:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f"dashboard.exporting.{home}"), name)
