"""Where a browser of the Chromium family is. Standard library alone: tests ask before anything is there."""

from __future__ import annotations

import os
import shutil
from pathlib import Path

BY_HAND = "BENCHROW_CHROMIUM"
"""In the environment: the path of a browser; set to nothing: there is none."""

_NAMES = ("chromium", "chromium-browser", "google-chrome", "chrome", "msedge")
_PLACES = (  # programs that are on no PATH: Windows, then macOS
    "{ProgramFiles}/Google/Chrome/Application/chrome.exe",
    "{ProgramFiles(x86)}/Microsoft/Edge/Application/msedge.exe",
    "{ProgramFiles}/Microsoft/Edge/Application/msedge.exe",
    "/Applications/Chromium.app/Contents/MacOS/Chromium",
    "/Applications/Google Chrome.app/Contents/MacOS/Google Chrome",
)


def find_chromium() -> str | None:
    """The path of a browser, None when there is none."""
    if (by_hand := os.environ.get(BY_HAND)) is not None:
        return by_hand or None
    on_path = next((found for name in _NAMES if (found := shutil.which(name))), None)
    folders = {name: os.environ.get(name, "") for name in ("ProgramFiles", "ProgramFiles(x86)")}
    places = [Path(place.format_map(folders)) for place in _PLACES]
    return on_path or next((str(place) for place in places if place.is_file()), None)
