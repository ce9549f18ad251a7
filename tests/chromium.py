"""Where a Chromium stands on this machine. Standard library only: asked before anything is installed."""

from __future__ import annotations

import os
import shutil
from pathlib import Path

_NAMES = ("chromium", "chromium-browser", "google-chrome", "chrome", "msedge")
_PLACES = (  # programs that are on no PATH: Windows, then macOS
    "{ProgramFiles}/Google/Chrome/Application/chrome.exe",
    "{ProgramFiles(x86)}/Microsoft/Edge/Application/msedge.exe",
    "{ProgramFiles}/Microsoft/Edge/Application/msedge.exe",
    "/Applications/Chromium.app/Contents/MacOS/Chromium",
    "/Applications/Google Chrome.app/Contents/MacOS/Google Chrome",
)


def find_chromium() -> str | None:
    """The path of a browser of the Chromium family, None when there is none.

    `BENCHROW_CHROMIUM` in the environment names one by hand; set to nothing it means that there is none.
    """
    if (by_hand := os.environ.get("BENCHROW_CHROMIUM")) is not None:
        return by_hand or None
    on_path = next((found for name in _NAMES if (found := shutil.which(name))), None)
    return on_path or next((str(place) for place in _places() if place.is_file()), None)


def _places() -> list[Path]:
    folders = {name: os.environ.get(name, "") for name in ("ProgramFiles", "ProgramFiles(x86)")}
    return [Path(place.format_map(folders)) for place in _PLACES]
