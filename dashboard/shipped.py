"""Where the files that are no Python lie: inside the package in a wheel, at the top level in a checkout."""

from __future__ import annotations

from pathlib import Path

_PACKAGE = Path(__file__).resolve().parent


def shipped_folder(name: str) -> Path:
    """The folder `assets` or `demo`, wherever this copy keeps it.

    Args:
        name: "assets" or "demo".

    Raises:
        FileNotFoundError: This copy of Benchrow is incomplete.
    """
    places = (_PACKAGE / "shipped" / name, _PACKAGE.parent / name)
    for place in places:
        if place.is_dir():
            return place
    looked = " and ".join(str(place) for place in places)
    raise FileNotFoundError(f"The folder '{name}' is missing; looked at {looked}")


def assets_folder() -> Path:
    """Scripts and styles that the dashboard serves to browsers."""
    return shipped_folder("assets")


def demo_folder() -> Path:
    """The demo's lesson and recording."""
    return shipped_folder("demo")
