"""Baud rates that are tried at benches, by a press or by themselves, and which of them are worth keeping."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from bridge.core.findings import Finding


class RateTrials:
    """Remembers what was tried: a rate that did not help is not tried by itself again."""

    def __init__(self) -> None:
        self._under_way: dict[int, tuple[int, int]] = {}  # bench: rate, since when
        self._tried: dict[int, set[int]] = {}

    def begin(self, bench: int, baud: int, at_ns: int) -> None:
        """The bench's board is read at that rate from now on."""
        self._under_way[bench] = (baud, at_ns)
        self._tried.setdefault(bench, set()).add(baud)

    def proposed(self, findings: Iterable[tuple[int, Finding]]) -> dict[int, int]:
        """Rates that findings name and that were not tried yet, by bench."""
        return {
            bench: one.try_baud
            for bench, one in findings
            if one.try_baud is not None and one.try_baud not in self._tried.get(bench, ())
        }

    def worth_keeping(self, newest_reading_ns: Mapping[int, int | None]) -> dict[int, int]:
        """The rates at which lines could be read since they were tried, by bench; told once."""
        kept: dict[int, int] = {}
        for bench, (baud, since_ns) in list(self._under_way.items()):
            newest_ns = newest_reading_ns.get(bench)
            if newest_ns is not None and newest_ns > since_ns:
                kept[bench] = baud
                del self._under_way[bench]
        return kept
