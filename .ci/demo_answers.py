"""Asks a demo that was just started for its page and for values.

python demo_answers.py DASHBOARD_PORT BRIDGE_PORT
"""

from __future__ import annotations

import sys
import time
import urllib.request
from urllib.error import URLError

from bridge import Client, UnreachableError

PATIENCE_SECONDS = 60.0
ENOUGH_BENCHES = 5  # of eight: a few are silent where the demo begins


def main(dashboard_port: int, bridge_port: int) -> None:
    """End with exit code 0 when both answer in time; else with words."""
    began = time.monotonic()
    page = _page(f"http://127.0.0.1:{dashboard_port}/", give_up=began + PATIENCE_SECONDS)
    if b"Benchrow" not in page:
        sys.exit("The page does not name Benchrow.")
    n_benches = _values(f"ws://127.0.0.1:{bridge_port}", give_up=began + PATIENCE_SECONDS)
    print(f"The page and the values of {n_benches} benches came within {time.monotonic() - began:.1f} s.")


def _page(address: str, *, give_up: float) -> bytes:
    while True:
        try:
            with urllib.request.urlopen(address, timeout=5) as answer:
                body: bytes = answer.read()
                return body
        except (URLError, OSError):
            if time.monotonic() > give_up:
                sys.exit(f"No page at {address} within {PATIENCE_SECONDS:g} s.")
            time.sleep(0.1)


def _values(address: str, *, give_up: float) -> int:
    """How many benches have told a value."""
    while True:
        try:
            with Client(address) as client:
                benches: set[int] = set()
                for reading in client:
                    if reading.value is not None:
                        benches.add(reading.bench)
                    if len(benches) >= ENOUGH_BENCHES:
                        return len(benches)
                    if time.monotonic() > give_up:
                        sys.exit(f"Only {len(benches)} benches told a value.")
        except UnreachableError as error:
            if time.monotonic() > give_up:
                sys.exit(str(error))
            time.sleep(0.1)


if __name__ == "__main__":
    main(int(sys.argv[1]), int(sys.argv[2]))
