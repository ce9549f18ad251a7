"""What would have been, as text for a terminal or as one JSON object; and what may be changed, as a list."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Sequence
from itertools import groupby
from typing import Any

from dashboard.what_if.both import Both
from dashboard.what_if.changes import text_of
from dashboard.what_if.differing import Difference
from dashboard.what_if.rows import Row
from dashboard.what_if.settings import Group, Setting
from dashboard.what_if.words import Told

WIDTH = 100
_HEADINGS = ("what", "before", "after", "change")
Json = dict[str, Any]


def path_text(setting: Setting) -> str:
    """How a setting is named on the command line: "conversion/sensor/reference_volts"."""
    return "/".join(map(str, setting.path))


def settings_text(groups: Sequence[Group]) -> str:
    """All that may be changed, with what holds now."""
    parts = []
    for group in groups:
        lines = [
            f"  {path_text(one)} = {text_of(one.value)}".rstrip() + (f"    ({one.unit})" if one.unit else "")
            for one in group.settings
        ]
        about = f"  {group.about}" if group.about else ""
        parts.append("\n".join([f"{group.heading}{about and ' –'}{about[1:]}", *lines]))
    return "\n\n".join(parts) + "\n"


def settings_json(groups: Sequence[Group]) -> list[Json]:
    """The same, each setting an object."""
    return [
        {
            "path": path_text(one), "label": one.label, "of": one.what, "value": one.value, "unit": one.unit,
            "words": list(one.words), "is_given": one.is_given, "meaning": one.meaning,
        }
        for group in groups
        for one in group.settings
    ]  # fmt: skip


def told_text(told: Told, *, title: str = "") -> str:
    """Sentences, then a table for each bench at which something differs."""
    parts = [title] if title else []
    parts.append("\n".join(_filled(one) for one in told.source))
    parts.append("\n".join(_filled(one) for one in (*told.summary, *told.benches.values())))
    for bench, rows in groupby(told.rows, key=lambda one: one.bench):
        parts.append(f"{told.names[bench].upper()}\n{_table(list(rows))}")
    if told.rows:
        parts.append("Times are min:s.")
    return "\n\n".join(parts) + "\n"


def told_json(both: Both, difference: Difference, told: Told) -> Json:
    """All of it, figures with all digits; what can't be said is null."""
    return {
        "recording": both.source.path.name,
        "changes": [
            {
                "path": list(one.setting.path), "unit": one.setting.unit, "from": _plain(one.setting.value),
                "to": _plain(one.value),
            }
            for one in both.changes
        ],
        "is_same": difference.is_same,
        "sentences": [*told.source, *told.summary, *told.benches.values()],
        "values": [_plain(one._asdict()) for one in difference.values],
        "alarms": [_plain(one._asdict()) for one in difference.alarms],
        "bands": [_plain(one._asdict()) for one in difference.bands],
        "findings": [_plain(one._asdict()) | {"is_same": one.is_same} for one in difference.findings],
    }  # fmt: skip


def _filled(sentence: str) -> str:
    return textwrap.fill(sentence, WIDTH, subsequent_indent="  ")


def _table(rows: Sequence[Row]) -> str:
    cells = [_HEADINGS, *((one.what, one.before, one.after, one.change) for one in rows)]
    widths = [max(len(row[i]) for row in cells) for i in range(len(_HEADINGS))]
    return "\n".join(
        "  " + "  ".join(text.ljust(width) for text, width in zip(row, widths, strict=True)).rstrip()
        for row in cells
    )


def _plain(value: Any) -> Any:
    """As JSON holds it: named tuples as objects, NaN as null."""
    if isinstance(value, float) and math.isnan(value):
        return None
    if isinstance(value, dict):
        return {key: _plain(one) for key, one in value.items()}
    if hasattr(value, "_asdict"):
        return _plain(value._asdict())
    return [_plain(one) for one in value] if isinstance(value, list | tuple) else value
