"""Runs the benchmarks: python -m tests.benchmarks [--quick] [--json FILE] [NAME ...].

Each module of this folder that has `run(quick: bool)` is one benchmark. It answers a dict: "name", "figures"
(what was measured, by name), "goals" (in words) and "met" (all of them reached).
"""

from __future__ import annotations

import argparse
import json
import math
import os
import pkgutil
import platform
import sys
import time
from collections.abc import Mapping
from importlib import import_module
from pathlib import Path
from typing import Any

FOLDER = Path(__file__).resolve().parent


def names() -> list[str]:
    """The benchmarks, by the names of their modules."""
    found = (one.name for one in pkgutil.iter_modules([str(FOLDER)]) if not one.ispkg)
    return [name for name in found if "\ndef run(" in (FOLDER / f"{name}.py").read_text(encoding="utf-8")]


def main() -> int:
    """Run them; 1 when a goal was missed."""
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks", description="Runs the benchmarks.")
    parser.add_argument("names", nargs="*", choices=[[], *names()], metavar="NAME", help=", ".join(names()))
    parser.add_argument(
        "--quick", action="store_true", help="shorter runs: to see that all work, not to judge by"
    )
    parser.add_argument("--json", type=Path, metavar="FILE", help="write all figures there")
    options = parser.parse_args()
    results = []
    for name in options.names or names():
        print(f"{name} ...", file=sys.stderr, flush=True)
        began = time.monotonic()
        result: dict[str, Any] = import_module(f"tests.benchmarks.{name}").run(options.quick)
        results.append({**result, "seconds": round(time.monotonic() - began, 1)})
        print(table_of(result), flush=True)
    if options.json:
        options.json.parent.mkdir(parents=True, exist_ok=True)
        about = {
            "python": platform.python_version(),
            "system": platform.platform(),
            "n_cores": os.cpu_count(),
        }
        told = {"machine": about, "benchmarks": _valid(results)}
        options.json.write_text(json.dumps(told, indent=2, allow_nan=False) + "\n")
    missed = [str(result["name"]) for result in results if not result["met"]]
    print(f"Goals missed in: {', '.join(missed)}." if missed else "All goals reached.")
    return 1 if missed else 0


def table_of(result: Mapping[str, Any]) -> str:
    """One benchmark as lines of text: the figures under one another, then the goals."""
    rows = [(name, _text_of(value)) for name, value in _flat(result["figures"])]
    width = max((len(name) for name, _ in rows), default=0)
    lines = [str(result["name"]), *(f"  {name:<{width}}  {text:>10}" for name, text in rows)]
    goals = result["goals"]
    goals = [f"{name}: {goal}" for name, goal in goals.items()] if isinstance(goals, Mapping) else goals
    lines += [f"  goal: {goal}" for goal in goals]
    lines.append(f"  {'reached' if result['met'] else 'MISSED'}")
    return "\n".join(lines)


def _flat(figures: Mapping[str, Any], before: str = "") -> list[tuple[str, Any]]:
    rows: list[tuple[str, Any]] = []
    for name, value in figures.items():
        rows += (
            _flat(value, f"{before}{name} ") if isinstance(value, Mapping) else [(f"{before}{name}", value)]
        )
    return rows


def _valid(value: Any) -> Any:
    """The same with null for what JSON has no number for."""
    if isinstance(value, Mapping):
        return {name: _valid(one) for name, one in value.items()}
    if isinstance(value, list | tuple):
        return [_valid(one) for one in value]
    return None if isinstance(value, float) and not math.isfinite(value) else value


def _text_of(value: object) -> str:
    return f"{value:.4g}" if isinstance(value, float) else str(value)


if __name__ == "__main__":
    sys.exit(main())
