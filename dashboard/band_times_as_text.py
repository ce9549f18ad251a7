"""Times in bands as lines of text: CSV, or JSON with the same names; one row for each band."""

from __future__ import annotations

import csv
import json
from collections.abc import Iterable, Iterator
from typing import TextIO

from bridge import BandTimes
from dashboard.text_cells import as_text_cell

COLUMNS = (
    "bench", "channel", "phases", "band", "name", "low", "high", "seconds", "entries", "changes",
    "edge_changes", "edge_changes_without_deadband", "edge_changes_avoided",
)  # fmt: skip


def write_band_times(found: Iterable[tuple[int, BandTimes]], out: TextIO, *, as_json: bool) -> None:
    """Band 0 lies below the first edge. The last four columns are of all bands of the channel together."""
    if as_json:
        for row in _rows(found):
            json.dump(dict(zip(COLUMNS, row, strict=True)), out, ensure_ascii=False, allow_nan=False)
            out.write("\n")
        return
    write = csv.writer(out, lineterminator="\n").writerow
    write(COLUMNS)
    for row in _rows(found):
        write([as_text_cell(one) if isinstance(one, str) else one for one in row])


def _rows(found: Iterable[tuple[int, BandTimes]]) -> Iterator[tuple[object, ...]]:
    for bench, times in found:
        ends = (None, *times.edges, None)
        for band, total in enumerate(times.totals):
            yield (
                bench, times.channel, ", ".join(times.phases), band, times.names[band], ends[band],
                ends[band + 1], round(total.seconds, 3), total.n_entries, times.n_changes,
                times.n_edge_changes, times.n_plain_edge_changes, times.n_avoided,
            )  # fmt: skip
