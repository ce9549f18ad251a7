"""Takes a key or a whole table out of a lesson's text; remarks outside of it stay."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any

from bridge.lesson_lines import Outline, Path
from bridge.lesson_lists import applied


def without(text: str, outline: Outline, data: Any, at: Path, *, rendered: Callable[[object], str]) -> str:
    """The text without a key, or without a table and all that is in it; as it is when nothing is there."""
    cuts = [
        span for section in outline.sections for path, span in section.pairs.items() if path[: len(at)] == at
    ]
    cuts += [
        (_above_header(text, section.start), section.end)
        for section in outline.sections
        if section.path[: len(at)] == at
    ]
    if cuts:
        return applied(text, [(start, end, "") for start, end in _joined(cuts)])
    around = next((at[:depth] for depth in range(len(at) - 1, 0, -1) if at[:depth] in outline.values), None)
    if around is None or item_at(data, at) is None:
        return text
    rest = _less(item_at(data, around), at[len(around) :])  # inside braces: the inline table is written anew
    return applied(text, [(*outline.values[around], rendered(rest))])


def item_at(data: Any, at: Path) -> Any:
    """What stands at that place, None for nothing."""
    for step in at:
        try:
            data = data[step]
        except (KeyError, IndexError, TypeError):
            return None
    return data


def _above_header(text: str, start: int) -> int:
    """The start of the blank lines above a header."""
    while text[:start].endswith("\n\n"):
        start -= 1
    return start


def _joined(spans: Iterable[tuple[int, int]]) -> list[tuple[int, int]]:
    """The same places, in order and apart."""
    joined: list[tuple[int, int]] = []
    for start, end in sorted(spans):
        if joined and start <= joined[-1][1]:
            joined[-1] = joined[-1][0], max(joined[-1][1], end)
        else:
            joined.append((start, end))
    return joined


def _less(data: Any, below: Path) -> Any:
    """A value without what stands at that path in it."""
    step, *rest = below
    if isinstance(data, list):
        return [_less(one, tuple(rest)) if place == step else one for place, one in enumerate(data)]
    if not rest:
        return {key: one for key, one in data.items() if key != step}
    return {key: _less(one, tuple(rest)) if key == step else one for key, one in data.items()}
