"""The page server as a process of its own, which `dashboard.supervising` starts.

It serves until it is ended, or until its standard input ends: then whoever started it is gone.
"""

from __future__ import annotations

import argparse
import os
import sys
import threading
from importlib import import_module
from pathlib import Path

from bridge import BenchrowError
from dashboard.recordings import Recordings, asks_the_bridge
from dashboard.serving import Dashboard

_WARM_SECONDS = 5.0  # by then the wall stands: what compares takes a second to import, and nobody waits


def main() -> int:
    """Serve; 1 when the address can't be used, with words on standard error."""
    parser = argparse.ArgumentParser(description="Serves the dashboard's pages.")
    parser.add_argument("--host", required=True)
    parser.add_argument("--port", type=int, required=True)
    parser.add_argument("--bridge-url", required=True)
    parser.add_argument("--data-dir", type=Path)
    parser.add_argument("--recording", type=Path, help="the one that is replayed")
    parser.add_argument("--lesson", type=Path, help="with which it is computed")
    options = parser.parse_args()
    try:
        recordings = Recordings(
            data_dir=options.data_dir,
            replayed=options.recording,
            lesson=options.lesson,
            live_name=asks_the_bridge(options.bridge_url),
        )
        server = Dashboard(options.host, options.port, options.bridge_url, recordings)
    except BenchrowError as error:
        sys.stderr.write(f"{error}\n")
        return 1
    threading.Thread(target=_close_at_end_of_input, args=(server,), daemon=True).start()
    warm = threading.Timer(_WARM_SECONDS, lambda: import_module("dashboard.comparer"))
    warm.daemon = True
    warm.start()
    server.run()
    return 0


def _close_at_end_of_input(server: Dashboard) -> None:
    # Not by sys.stdin: its lock would be held against the interpreter's end.
    while os.read(0, 64):
        pass
    server.close()


if __name__ == "__main__":
    sys.exit(main())
