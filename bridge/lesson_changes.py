"""What a control changes in the lesson, as (path, value) pairs for `bridge.lesson_file.revised`."""

from __future__ import annotations

from collections.abc import Mapping

from bridge.core.lesson import Layout, Lesson

Changes = list[tuple[tuple[str | int, ...], object]]


def layout_changes(lesson: Lesson, bench: int, layout: Layout) -> Changes:
    """Keep a layout that was chosen for a bench: under a name of its own, with the bench pointing to it."""
    name = _free_name(lesson, bench, layout)
    changes: Changes = []
    if all(one.name != name for one in lesson.layouts):
        for key, value in _keys_of(layout).items():
            changes.append((("layout", name, key), value))
    changes.append((("bench", bench, "layout"), name))
    return changes


def baud_changes(bench: int, baud: int) -> Changes:
    """Keep the rate at which a bench's board could be read."""
    return [(("bench", bench, "baud"), baud)]


def _free_name(lesson: Lesson, bench: int, layout: Layout) -> str:
    """The name of the same layout if the lesson has it, else a name that is not taken."""
    by_name = {one.name: one for one in lesson.layouts}
    wanted, i = f"as bench {bench} prints", 2
    name = wanted
    while name in by_name and _keys_of(by_name[name]) != _keys_of(layout):
        name, i = f"{wanted} {i}", i + 1
    return name


def _keys_of(layout: Layout) -> Mapping[str, object]:
    """The keys that a lesson needs to say the layout."""
    fields = [
        {"name": one.name}
        | ({"label": one.label} if one.label is not None and one.label != one.name else {})
        | ({"unit": one.unit} if one.unit else {})
        | ({"decimals": one.decimals} if one.decimals is not None else {})
        for one in layout.fields
    ]
    keys: dict[str, object] = {"kind": layout.kind, "fields": fields}
    plain = Layout(name="", kind=layout.kind, fields=layout.fields)
    for key in Layout.__dataclass_fields__:
        if key not in ("name", "kind", "fields") and getattr(layout, key) != getattr(plain, key):
            keys[key] = getattr(layout, key)
    return keys
