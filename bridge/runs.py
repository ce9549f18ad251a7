"""A recording's items in runs: the chunks between two other items, bench by bench, to be read in bulk."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from bridge.recorded import Chunk, Item

MAX_RUN_CHUNKS = 50_000  # of all benches together: what is in memory at a time

Run = dict[int, list[tuple[bytes, int]]]
"""bench -> its (bytes, at_ns), in order."""


def runs_of(items: Iterable[Item], *, max_chunks: int = MAX_RUN_CHUNKS) -> Iterator[Run | Item]:
    """Runs of chunks, and between them every other item, in its place.

    A bench's own order stays. The order between benches does not: no bench's readings depend on another's.
    """
    run: Run = {}
    n_chunks = 0
    for item in items:
        if isinstance(item, Chunk) and n_chunks < max_chunks:
            run.setdefault(item.bench, []).append((item.data, item.at_ns))
            n_chunks += 1
            continue
        if run:
            yield run
        run, n_chunks = {}, 0
        if isinstance(item, Chunk):
            run[item.bench], n_chunks = [(item.data, item.at_ns)], 1
        else:
            yield item
    if run:
        yield run
