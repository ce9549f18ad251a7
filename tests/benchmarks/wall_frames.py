"""The wall with 24 benches at 10 values a second each: the longest frame, and what the heap gains.

    python -m tests.benchmarks.wall_frames [--quick]

The bridge's side is scripted, so that the figures are the page's alone: a message each 33 ms, as the bridge
sends them, and as at the start of a session findings that change, on every third bench twice a second.
A frame is the time between two calls of requestAnimationFrame; the heap is read after a collection.
"""

from __future__ import annotations

import argparse
import itertools
import json
import math
import threading
import time
from typing import Any

from playwright.sync_api import CDPSession, Page, expect, sync_playwright

from tests.chromium import find_chromium
from tests.dashboard.browser import FLAGS, dashboard_for
from tests.dashboard.scripted_bridge import Message, ScriptedBridge, bench, finding, hint, value

N_BENCHES = 24
VALUES_PER_SECOND = 10
MESSAGES_PER_SECOND = 30
LONGEST_FRAME_MS = 25.0
HEAP_GROWTH_MB = 1.0
FINDINGS_PER_SECOND = 2  # of one bench: the bridge sends them no more often
EVERY_NTH_HAS_FINDINGS = 3
FAULT_SECONDS = 7  # then the fault is gone for as long; the hint stays
WARM_UP_SECONDS = 5

WATCH = """() => {
  window.frames_ms = [];
  let last = performance.now();
  const frame = (at) => { window.frames_ms.push(at - last); last = at; requestAnimationFrame(frame); };
  requestAnimationFrame((at) => { last = at; requestAnimationFrame(frame); });
}"""


def run(quick: bool = False) -> dict[str, Any]:
    """Measure both; `quick` shortens 60 s of frames to 8 s and 5 minutes of heap to 20 s."""
    frame_seconds, heap_seconds = (8, 20) if quick else (60, 300)
    benches = [bench(n) for n in range(1, N_BENCHES + 1)]
    bridge = ScriptedBridge(benches, [value(n, 36.6, band=1) for n in range(1, N_BENCHES + 1)])
    ended = threading.Event()
    feeder = threading.Thread(target=feed, args=(bridge, ended), daemon=True)
    try:
        with dashboard_for(bridge.url) as dashboard, sync_playwright() as play:
            browser = play.chromium.launch(executable_path=find_chromium(), args=FLAGS)
            page = browser.new_page(viewport={"width": 1920, "height": 1080})
            page.goto(dashboard.url)
            expect(page.locator(f"[data-bench='{N_BENCHES}'] [data-role=value]")).to_have_text("36.6")
            feeder.start()
            page.wait_for_timeout(WARM_UP_SECONDS * 1000)
            expect(page.get_by_text("too high here").first).to_be_attached()  # the findings get there
            session = page.context.new_cdp_session(page)
            before = heap_mb(session)
            frames = frames_ms(page, frame_seconds)
            page.wait_for_timeout(max(0, heap_seconds - frame_seconds) * 1000)
            growth = heap_mb(session) - before
            browser.close()
    finally:
        ended.set()
        bridge.close()
    return result_of(frames, growth, frame_seconds=frame_seconds, heap_seconds=heap_seconds)


def feed(bridge: ScriptedBridge, ended: threading.Event) -> None:
    """A frame each 33 ms, with the values of the benches whose turn it is, and their findings."""
    n_turns = MESSAGES_PER_SECOND // VALUES_PER_SECOND
    n_turns_of_findings = MESSAGES_PER_SECOND // FINDINGS_PER_SECOND
    began = time.monotonic()
    for turn in itertools.count():
        if ended.wait(max(0.0, began + turn / MESSAGES_PER_SECOND - time.monotonic())):
            return
        now = bridge.now_ms
        values = []
        for n in range(1 + turn % n_turns, N_BENCHES + 1, n_turns):
            number = 35 + 14 * math.sin(now / 9000 + n)
            values.append(value(n, number, at_ms=now, u=0.3, band=min(4, int(number / 12))))
        bridge.show(*values)
        for n in range(1, N_BENCHES + 1, EVERY_NTH_HAS_FINDINGS):
            if (turn + n) % n_turns_of_findings == 0:
                found = findings_at(turn / MESSAGES_PER_SECOND + n)
                bridge.say({"kind": "findings", "bench": n, "findings": found})


def findings_at(seconds: float) -> list[Message]:
    """A hint that stays, and a fault in changing words that comes and goes."""
    stays = hint()
    if int(seconds / FAULT_SECONDS) % 2:
        return [stays]
    fault = finding(
        "wrong formula",
        channel="temperature",
        words="The program computes with 5 V, but the board's reference is 3.3 V: "
        f"it reads {10 + math.sin(seconds):.1f} °C too high here.",
        evidence=f"It prints count {int(90 + seconds)} beside 0.439 V beside 43.9 °C",
        remedy="Ask for the line of the program that makes volts of the count: 3.3 V belongs there.",
        try_baud=None,
    )
    return [fault, stays]


def frames_ms(page: Page, seconds: float) -> list[float]:
    """The lengths of the frames of a while."""
    page.evaluate(WATCH)
    page.wait_for_timeout(seconds * 1000)
    return [float(one) for one in page.evaluate("window.frames_ms.splice(0)")]


def heap_mb(session: CDPSession) -> float:
    """What the page's heap holds after a collection."""
    session.send("HeapProfiler.collectGarbage")
    return float(session.send("Runtime.getHeapUsage")["usedSize"]) / 1e6


def result_of(frames: list[float], growth: float, *, frame_seconds: int, heap_seconds: int) -> dict[str, Any]:
    """The figures beside the goals."""
    in_order = sorted(frames)
    figures = {
        "benches": N_BENCHES,
        "frames": len(frames),
        "frame_p50_ms": round(in_order[len(frames) // 2], 1),
        "frame_p99_ms": round(in_order[int(0.99 * len(frames))], 1),
        "longest_frame_ms": round(in_order[-1], 1),
        "frames_above_25_ms": sum(one > LONGEST_FRAME_MS for one in frames),
        "heap_growth_mb": round(growth, 2),
    }
    return {
        "name": "wall_frames",
        "figures": figures,
        "goals": {
            "longest_frame_ms": f"at most {LONGEST_FRAME_MS:g} in {frame_seconds} s",
            "heap_growth_mb": f"at most {HEAP_GROWTH_MB:g} in {heap_seconds} s",
        },
        "met": in_order[-1] <= LONGEST_FRAME_MS and growth <= HEAP_GROWTH_MB,
    }


def main() -> None:
    """Print the result as JSON."""
    parser = argparse.ArgumentParser(description="Measures the wall's frames and heap.")
    parser.add_argument("--quick", action="store_true", help="shorter: to see that it works, not to judge by")
    print(json.dumps(run(parser.parse_args().quick), indent=2))


if __name__ == "__main__":
    main()
