"""Makes the README's picture of the wall from the demo: python -m tests.pictures [FILE]."""

from __future__ import annotations

import subprocess
import sys
import tempfile
from pathlib import Path

from playwright.sync_api import Page, sync_playwright

from tests.chromium import find_chromium

ROOT = Path(__file__).resolve().parent.parent
PICTURE = ROOT / "demo" / "wall.png"
PAGE_PORT, BRIDGE_PORT = 8971, 8972
N_BENCHES = 8
PATIENCE_MS = 60_000.0


def main(file: Path) -> None:
    """Start the demo, wait until the wall is full and an alarm stands, take the picture."""
    with tempfile.TemporaryDirectory() as data_dir:
        demo = started_demo(Path(data_dir))
        try:
            with sync_playwright() as play:
                browser = play.chromium.launch(executable_path=find_chromium())
                page = browser.new_page(viewport={"width": 1440, "height": 810})
                page.goto(f"http://127.0.0.1:{PAGE_PORT}/", timeout=PATIENCE_MS)
                wait_for_the_room(page)
                page.screenshot(path=file)
                browser.close()
        finally:
            demo.terminate()
            demo.wait()
    print(f"{file}: {file.stat().st_size / 1024:.0f} KiB")


def started_demo(data_dir: Path) -> subprocess.Popen[str]:
    """The demo on ports of its own, once the bridge is ready."""
    words = [
        "--no-browser",
        "--port",
        str(PAGE_PORT),
        "--bridge-port",
        str(BRIDGE_PORT),
        "--data-dir",
        str(data_dir),
    ]
    command = [sys.executable, "-m", "dashboard", "demo", *words]
    demo = subprocess.Popen(command, stdout=subprocess.PIPE, text=True, cwd=ROOT)
    for line in demo.stdout or ():
        if line.startswith("Stop"):
            return demo
    raise SystemExit("The demo did not start.")


def wait_for_the_room(page: Page) -> None:
    """Until every bench has had a value and one has an alarm: then there is something to see."""
    page.wait_for_function(
        """n => {
          const cards = [...document.querySelectorAll('[data-bench]')];
          const text = (card, role) => card.querySelector(`[data-role=${role}]`)?.textContent.trim() ?? '';
          const full = cards.filter((card) => /\\d/.test(text(card, 'value')));
          return full.length >= n && cards.some((card) => text(card, 'alarm')); }""",
        arg=N_BENCHES,
        timeout=PATIENCE_MS,
    )
    page.wait_for_timeout(4000)  # a few seconds of history make the curves


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else PICTURE)
