"""`python -m tests.bridge.core.checking.proof [N] [right|single|pair ...]`: the whole proof, in figures.

N sessions (10,000) with right programs must bring no finding; as many with one mistake and with two must have
it named. Undecidable ones, where a rival with no more mistakes prints the same texts, are counted apart.
"""

from __future__ import annotations

import sys
import time
from collections import Counter

from tests.bridge.core.checking.sessions import Kind, outcome_of, session, verdict_on


def tally(kind: Kind, seeds: range, *, tells: bool = False) -> Counter[str]:
    """How often each came out."""
    found: Counter[str] = Counter()
    slowest = 0.0
    for seed in seeds:
        one = session(kind, seed)
        began = time.perf_counter()
        verdict = verdict_on(one)
        slowest = max(slowest, time.perf_counter() - began)
        outcome = outcome_of(kind, one, verdict)
        found[outcome] += 1
        if tells and outcome in ("false finding", "wrong name"):
            wrongs = ", ".join(f"{w.kind} {w.number:g} {w.word}" for w in one.program.wrongs)
            print(f"  seed {seed}: {wrongs or 'right'}: {verdict.state}: {verdict.words}")
            print(f"     {one.program}")
    if tells:
        print(f"  slowest {slowest * 1000:.0f} ms")
    return found


def share_named(found: Counter[str]) -> float:
    """Of those that can be told: neither undecidable nor still waiting."""
    decidable = found["named"] + found["wrong name"]
    return found["named"] / decidable if decidable else 1.0


def main() -> None:
    n = int(sys.argv[1]) if len(sys.argv) > 1 else 10_000
    kinds: tuple[Kind, ...] = ("right", "single", "pair")
    for kind in (one for one in kinds if one in sys.argv[2:] or not sys.argv[2:]):
        found = tally(kind, range(n), tells=True)
        line = ", ".join(f"{what} {count}" for what, count in sorted(found.items()))
        named = "" if kind == "right" else f"; named {share_named(found):.2%} of those that can be told"
        print(f"{kind}: {line}{named}", flush=True)


if __name__ == "__main__":
    main()
