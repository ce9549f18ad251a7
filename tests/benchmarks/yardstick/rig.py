"""From a board's write to the number in the page: latency and load of a program that shows boards."""

from __future__ import annotations

import bisect
import json
import re
import subprocess
import sys
import tempfile
import time
import urllib.request
from collections.abc import Callable, Sequence
from contextlib import ExitStack
from dataclasses import dataclass
from pathlib import Path

import psutil
from playwright.sync_api import Page, sync_playwright

from tests.chromium import find_chromium

WARM_UP_SECONDS = 6.0
START_SECONDS = 30.0  # the program's page must answer by then
_FLAGS = [
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync",
]  # fmt: skip
_WATCH = """([css, n]) => {
  window.seen = []; let changed = null;
  const last = new Array(n).fill(''); const after = new MessageChannel();
  after.port1.onmessage = () => {
    const t = performance.timeOrigin + performance.now();
    for (const [i, v] of changed) window.seen.push([i, v, t]);
    changed = null; };
  const frame = () => {
    const all = document.querySelectorAll(css); const now = [];
    for (let i = 0; i < Math.min(n, all.length); i++) {
      const v = all[i].textContent; if (v !== last[i]) { last[i] = v; now.push([i, v]); } }
    if (now.length && !changed) { changed = now; after.port2.postMessage(0); }
    requestAnimationFrame(frame); };
  requestAnimationFrame(frame); }"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Load:
    """What the boards do in one run."""

    n_boards: int
    lines_per_second: float  # each
    seconds: float  # measured, after the warm-up


@dataclass(frozen=True, slots=True, kw_only=True)
class Program:
    """A program under the rig."""

    command: Callable[[Sequence[str]], list[str]]  # from the ports' names
    page: str
    values: str  # CSS: the nth element that matches shows board n


@dataclass(frozen=True, slots=True, kw_only=True)
class Measured:
    """One run."""

    waits_ms: list[float]  # from the write until the page shows that value or a newer one
    n_never_shown: int
    n_refused: int  # lines that the program was too slow to take
    written: list[tuple[int, int, float]]  # board from 0, line number, unix time
    program_percent: float  # of one core
    browser_percent: float

    def percentile_ms(self, share: float) -> float:
        """The wait that so large a share of the lines stays below; NaN when no line was measured.

        NaN reaches no goal: a rival that showed nothing must not make us look infinitely fast.
        """
        ordered = sorted(self.waits_ms)
        return ordered[min(len(ordered) - 1, int(share * len(ordered)))] if ordered else float("nan")


def measure(program: Program, load: Load) -> Measured:
    """Run the program on boards once."""
    with tempfile.TemporaryDirectory() as folder, ExitStack() as ending:
        log = Path(folder) / "written.json"
        boards, names = _boards(load, log, ending)
        tree = psutil.Popen(program.command(names), stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        ending.callback(_end, tree)
        _wait_for(program.page, tree)
        play = ending.enter_context(sync_playwright())
        known = {one.pid for one in psutil.Process().children(recursive=True)}
        browser = play.chromium.launch(executable_path=find_chromium(), headless=True, args=_FLAGS)
        ending.callback(browser.close)
        page = browser.new_page(viewport={"width": 1920, "height": 1080})
        page.goto(program.page)
        _tell(boards)
        page.wait_for_timeout(1e3 * WARM_UP_SECONDS)
        others = [
            one
            for one in psutil.Process().children(recursive=True)
            if one.pid not in known and "chrom" in one.name()
        ]
        page.evaluate(_WATCH, [program.values, load.n_boards])
        before, began = (_busy_seconds([tree]), _busy_seconds(others)), time.time()
        page.wait_for_timeout(1e3 * load.seconds)
        ended, after = time.time(), (_busy_seconds([tree]), _busy_seconds(others))
        seen = _seen(page)
        assert boards.stdout
        n_refused = int(boards.stdout.readline())
        written = [(int(b), int(k), float(at)) for b, k, at in json.loads(log.read_text())]
        in_window = [row for row in written if began <= row[2] <= ended - 1.5]
        waits, n_never = _waits_ms(in_window, seen, load.n_boards)
        program_percent, browser_percent = (
            100 * (late - early) / (ended - began) for early, late in zip(before, after, strict=True)
        )
    return Measured(
        waits_ms=waits,
        n_never_shown=n_never,
        n_refused=n_refused,
        written=written,
        program_percent=program_percent,
        browser_percent=browser_percent,
    )


def _boards(load: Load, log: Path, ending: ExitStack) -> tuple[subprocess.Popen[str], list[str]]:
    seconds = load.seconds + WARM_UP_SECONDS + 1
    words = [str(load.n_boards), str(load.lines_per_second), str(seconds), str(log)]
    boards = subprocess.Popen(
        [sys.executable, str(Path(__file__).with_name("boards.py")), *words],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )
    ending.callback(boards.wait)
    ending.callback(boards.terminate)
    assert boards.stdout
    names: list[str] = json.loads(boards.stdout.readline())
    return boards, names


def _tell(boards: subprocess.Popen[str]) -> None:
    assert boards.stdin
    boards.stdin.write("go\n")
    boards.stdin.flush()


def _wait_for(address: str, program: psutil.Popen) -> None:
    give_up = time.monotonic() + START_SECONDS
    while True:
        try:
            urllib.request.urlopen(address, timeout=1).read()
        except OSError:
            if time.monotonic() > give_up or program.poll() is not None:
                raise
            time.sleep(0.1)
        else:
            return


def _end(program: psutil.Popen) -> None:
    children = program.children(recursive=True)
    program.terminate()
    program.wait(20)
    for child in children:
        if child.is_running():
            child.kill()


def _busy_seconds(roots: list[psutil.Process]) -> float:
    total = 0.0
    for one in {child for root in roots for child in (root, *root.children(recursive=True))}:
        try:
            used = one.cpu_times()
        except psutil.NoSuchProcess:
            continue
        total += used.user + used.system
    return total


def _seen(page: Page) -> list[tuple[int, str, float]]:
    return [(int(board), str(text), float(at)) for board, text, at in page.evaluate("() => window.seen")]


def _waits_ms(
    written: list[tuple[int, int, float]], seen: list[tuple[int, str, float]], n_boards: int
) -> tuple[list[float], int]:
    shown: list[tuple[list[int], list[float]]] = [([], []) for _ in range(n_boards)]
    for board, text, at in seen:
        if found := re.search(r"[-−]?\d+(?:[.,]\d+)?", text):
            value = float(found[0].replace("−", "-").replace(",", "."))
            shown[board][0].append(round((value - 5) / 0.01))
            shown[board][1].append(at)
    waits, n_never = [], 0
    for board, k, at in written:
        numbers, times = shown[board]
        j = bisect.bisect_left(numbers, k)
        if j < len(numbers):
            waits.append(times[j] - 1e3 * at)
        else:
            n_never += 1
    return waits, n_never
