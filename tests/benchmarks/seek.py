"""What it costs to go back in the demo's replay: from a state that was kept, and from the start."""

from __future__ import annotations

import asyncio
import statistics
import tempfile
import time
from pathlib import Path
from typing import Any

from bridge.controls import ReplayControl
from bridge.replaying import ReplaySession
from bridge.settings import Settings

RECORDING = Path(__file__).parents[2] / "demo" / "recording.benchrow"
END_SECONDS, QUICK_END_SECONDS = 1190.0, 400.0
PARTS = (0.95, 0.5, 0.8, 0.3, 1.0)  # of the way, where it is gone back to
AT_MOST = 0.35  # of the time from the start


def run(quick: bool) -> dict[str, Any]:
    """Seek to the end, then to and fro; processor time, for the event loop is busy meanwhile."""
    end = QUICK_END_SECONDS if quick else END_SECONDS
    with tempfile.TemporaryDirectory() as folder:
        first, again = asyncio.run(_sought(Path(folder), end))
    share = statistics.median(again) / first
    return {
        "name": "seek",
        "figures": {
            "seconds of session": end,
            "from the start, s": first,
            "from a kept state, s (median)": statistics.median(again),
            "share": share,
        },
        "goals": [f"from a kept state: at most {AT_MOST:g} of the time from the start"],
        "met": share <= AT_MOST,
    }


async def _sought(folder: Path, end: float) -> tuple[float, list[float]]:
    given = Settings(mode="replay", passcode="", data_dir=folder, recording=RECORDING, playing=False)
    warm, session = ReplaySession(given), ReplaySession(given)
    await _seconds(warm, end)  # tables that are made once in a process
    await warm.close()
    first = await _seconds(session, end)
    again = [await _seconds(session, part * end) for part in PARTS]
    await session.close()
    return first, again


async def _seconds(session: ReplaySession, at: float) -> float:
    began = time.process_time()
    await session.handle(ReplayControl(None, "seek", at * 1000))
    return time.process_time() - began
