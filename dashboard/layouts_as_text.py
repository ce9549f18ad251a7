"""How benches' text is read, for a person to look at, or as one JSON object a line for each bench."""

from __future__ import annotations

import json
import unicodedata
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, TextIO

if TYPE_CHECKING:
    from bridge import FieldFound, LayoutFound

_SURE = {
    "lesson": "given by the lesson",
    "sure": "certain",
    "doubtful": "doubtful: nothing is read until somebody chooses",
    "unknown": "not known yet",
}
_TICKS = {1_000_000_000: "s", 1_000_000: "ms", 1_000: "µs"}
_ROLES = {
    "": "not known yet",
    "volts": "volts",
    "value": "a value",
    "index": "a running number",
    "clock": "the board's clock",
    "count": "a count",
}


def write_layouts(layouts: Sequence[LayoutFound], out: TextIO, *, as_json: bool) -> None:
    """Write one part for each bench."""
    for one in layouts:
        if as_json:
            json.dump(_as_object(one), out, ensure_ascii=False, allow_nan=False)
            out.write("\n")
        else:
            out.writelines(f"{_plain(line)}\n" for line in _lines(one))


def _plain(line: str) -> str:
    """Without what a terminal would obey: a JSON text may name a field with an escape character."""
    return "".join("\N{REPLACEMENT CHARACTER}" if unicodedata.category(c) == "Cc" else c for c in line)


def _lines(one: LayoutFound) -> Iterator[str]:
    yield f"Bench {one.bench}: {one.words} ({one.n_read} lines read, {one.n_set_aside} set aside)"
    yield f"  {_SURE[one.sure]}"
    if one.fields:
        rows = [(field.name, _role(field), field.unit, field.text) for field in one.fields]
        yield from _table(("field", "what it is", "unit", "example"), rows)
    for number, way in enumerate(one.alternatives, start=1):
        yield f"  {number}: {way.words}"
        yield from _table(way.columns, way.rows)
    if one.alternatives:
        yield "  The newest lines:"
        yield from (f"    {text}" for text in one.samples)
    for finding in one.findings:
        yield f"  {finding.words} ({finding.evidence}). {finding.remedy}."


def _role(field: FieldFound) -> str:
    found = field.role
    words = _ROLES[found.role]
    if found.clock_ns:
        return f"{words}, in {_TICKS.get(found.clock_ns, f'{found.clock_ns} ns')}"
    return f"{words} that {found.width_bits} bits hold" if found.width_bits else words


def _table(head: Sequence[str], rows: Sequence[Sequence[str]]) -> Iterator[str]:
    """Columns of the same width, indented."""
    cells = [list(head), *map(list, rows)]
    widths = [max(map(len, column)) for column in zip(*cells, strict=True)]
    for row in cells:
        yield "    " + "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip()


def _as_object(one: LayoutFound) -> dict[str, object]:
    return {
        "bench": one.bench,
        "words": one.words,
        "sure": one.sure,
        "fields": [
            {
                "name": field.name,
                "role": field.role.role,
                "unit": field.unit,
                "text": field.text,
                "clock_ns": field.role.clock_ns,
                "width_bits": field.role.width_bits,
            }
            for field in one.fields
        ],
        "doubt": one.doubt,
        "alternatives": [
            {"words": way.words, "columns": list(way.columns), "rows": [list(row) for row in way.rows]}
            for way in one.alternatives
        ],
        "samples": list(one.samples),
        "findings": [finding._asdict() for finding in one.findings],
        "n_read": one.n_read,
        "n_set_aside": one.n_set_aside,
    }
