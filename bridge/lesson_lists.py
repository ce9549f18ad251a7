"""Other values in place of old ones, so that in a list only those entries move that changed.

A remark behind an entry belongs to that entry: it stays with it, and goes when the entry goes.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence

from bridge.lesson_lines import Outline, Path

Edit = tuple[int, int, str]
"""From, up to, and what stands there instead."""

_INDENT = "    "
_LONGEST = 90  # a list beyond it gets a line for each entry


def applied(text: str, edits: Iterable[Edit]) -> str:
    """The text with all edits made; they do not overlap."""
    for start, end, new in sorted(edits, reverse=True):
        text = text[:start] + new + text[end:]
    return text


def list_edits(
    text: str, outline: Outline, at: Path, old: object, new: object, *, rendered: Callable[[object], str]
) -> Iterator[Edit]:
    """What must change in the text so that the new value stands at that place."""
    if isinstance(old, list) and isinstance(new, list | tuple):
        if len(old) == len(new):
            for place, pair in enumerate(zip(old, new, strict=True)):
                yield from list_edits(text, outline, (*at, place), *pair, rendered=rendered)
        else:
            yield from _other_length(text, outline, at, old, new, rendered)
    elif old != new or type(old) is not type(new):
        yield (*outline.values[at], rendered(new))


def _other_length(
    text: str,
    outline: Outline,
    at: Path,
    old: list[object],
    new: Sequence[object],
    rendered: Callable[[object], str],
) -> Iterator[Edit]:
    whole = outline.values[at]
    spans = [outline.values[*at, place] for place in range(len(old))]
    if not _has_line_for_each(text, whole, spans):
        yield (*whole, _list(new, text[: whole[0]], rendered))
        return
    shared = min(len(old), len(new))
    head = next((i for i in range(shared) if old[i] != new[i]), shared)
    tail = next((i for i in range(shared - head) if old[-1 - i] != new[-1 - i]), shared - head)
    # What lies between the equal ends: as many as can be are changed in place, the rest comes or goes.
    n_old, n_new = len(old) - head - tail, len(new) - head - tail
    for place in range(head, head + min(n_old, n_new)):
        yield from list_edits(text, outline, (*at, place), old[place], new[place], rendered=rendered)
    if n_old > n_new:
        first, behind = head + n_new, head + n_old
        yield _line_start(text, spans[first][0]), _line_end(text, spans[behind - 1][1]), ""
    else:
        place = head + n_old
        yield from _inserted(
            text, spans, place, [rendered(one) for one in new[place : place + n_new - n_old]]
        )


def _inserted(text: str, spans: list[tuple[int, int]], place: int, entries: list[str]) -> Iterator[Edit]:
    """Lines above the entry of that place, or behind the last."""
    before = place == len(spans)
    start, end = spans[place - before]
    indent = text[_line_start(text, start) : start]
    lines = "".join(f"{indent}{one},\n" for one in entries)
    if not before:
        at = _line_start(text, start)
    else:
        at = _line_end(text, end)
        if not text[end:at].lstrip(" \t").startswith(","):
            yield end, end, ","
    yield at, at, lines


def _has_line_for_each(text: str, whole: tuple[int, int], spans: list[tuple[int, int]]) -> bool:
    """Whether each entry stands on lines of its own, with the brackets on others."""
    ends = [whole[0], *(end for _, end in spans)]
    starts = [*(start for start, _ in spans), whole[1]]
    gaps = (text[end:start] for end, start in zip(ends, starts, strict=True))
    return bool(spans) and all("\n" in gap for gap in gaps)


def _list(entries: Sequence[object], before: str, rendered: Callable[[object], str]) -> str:
    """A list on one line, or with a line for each entry where that would be too long."""
    short = rendered(list(entries))
    line = before[before.rfind("\n") + 1 :]
    if len(line) + len(short) <= _LONGEST:
        return short
    indent = line[: len(line) - len(line.lstrip(" \t"))]
    lines = "".join(f"{indent}{_INDENT}{rendered(one)},\n" for one in entries)
    return f"[\n{lines}{indent}]"


def _line_start(text: str, at: int) -> int:
    return text.rfind("\n", 0, at) + 1


def _line_end(text: str, at: int) -> int:
    """Behind the line's end."""
    end = text.find("\n", at)
    return len(text) if end < 0 else end + 1
