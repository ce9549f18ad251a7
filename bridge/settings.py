"""What the bridge's process is told when it starts."""

from __future__ import annotations

import json
from dataclasses import dataclass, fields
from pathlib import Path
from typing import Any, Literal

from bridge.errors import BenchrowError


@dataclass(frozen=True, slots=True, kw_only=True)
class Settings:
    """One session's settings."""

    mode: Literal["live", "replay"]
    passcode: str
    data_dir: Path
    lesson: Path | None = None
    boards: tuple[str, ...] = ()  # seated by hand: "3=/dev/ttyACM0@9600"; none: what is plugged in is found
    recording: Path | None = None  # replay: the source
    speed: float = 1.0
    from_seconds: float = 0.0
    loop: bool = False
    playing: bool = True
    record: bool = True
    host: str = "127.0.0.1"
    bridge_port: int = 8765
    dashboard_port: int = 8050


def settings_from_json(text: str) -> Settings:
    """Read one JSON object with the names above.

    Raises:
        BenchrowError: It is none, or names something else.
    """
    try:
        told: dict[str, Any] = json.loads(text)
        unknown = set(told) - {field.name for field in fields(Settings)}
        if unknown:
            raise TypeError(f"unknown: {', '.join(sorted(unknown))}")
        for name in ("data_dir", "lesson", "recording"):
            if told.get(name) is not None:
                told[name] = Path(told[name])
        told["boards"] = tuple(told.get("boards", ()))
        return Settings(**told)
    except (ValueError, TypeError, AttributeError) as error:
        raise BenchrowError(
            f"the bridge's settings can't be read ({error})",
            remedy="Start it through 'benchrow live' or 'benchrow replay'",
        ) from error
