"""From what is seen at each instant to findings that come, stand and go without flapping."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import NamedTuple

from bridge.core.findings import Finding, FindingChange, FindingKind, Weight

SECOND_NS = 1_000_000_000
RENEW_NS = 10 * SECOND_NS  # a standing finding gets newer words no more often
MATTERS = 1.5  # and only when what is seen has grown or shrunk by this factor
LASTS_NS = 3 * SECOND_NS

Key = tuple[FindingKind, str]


class Signs(NamedTuple):
    """What a detector sees of one fault at one instant."""

    kind: FindingKind
    channel: str
    since_ns: int
    words: str
    evidence: str
    remedy: str
    weight: Weight = "fault"
    try_baud: int | None = None
    size: float = 1.0  # how much there is of it: newer words when it has changed
    patience_ns: int = 0  # told when it has been seen for so long
    lasts_ns: int = LASTS_NS  # gone when it has not been seen for so long
    doubt: str = ""  # why the fields named in `indices` should not be trusted
    indices: tuple[int, ...] = ()

    @property
    def finding(self) -> Finding:
        """As it is told."""
        return Finding(
            kind=self.kind, channel=self.channel, weight=self.weight, since_ns=self.since_ns,
            words=self._sentence(self.words), evidence=self._sentence(self.evidence),
            remedy=self._sentence(self.remedy), try_baud=self.try_baud,
        )  # fmt: skip

    def _sentence(self, words: str) -> str:
        """With a capital, unless it begins with the channel's own name."""
        is_name = bool(self.channel) and words.startswith(self.channel)
        return words if is_name else words[:1].upper() + words[1:]


@dataclass(slots=True)
class _Entry:
    signs: Signs
    first_ns: int  # seen without a pause since
    last_ns: int
    finding: Finding | None = None  # None: not told yet
    told_ns: int = 0
    told_size: float = 1.0


class Book:
    """The findings of one bench, or of the class at one bench."""

    def __init__(self, bench: int) -> None:
        self.bench = bench
        self.doubts: dict[int, str] = {}  # by field, of all findings that stand
        self._entries: dict[Key, _Entry] = {}

    def stands(self, kind: FindingKind, channel: str = "") -> bool:
        """Whether that finding is told: a detector asks for less to keep it than to tell it."""
        entry = self._entries.get((kind, channel))
        return entry is not None and entry.finding is not None

    @property
    def findings(self) -> tuple[Finding, ...]:
        """Those that stand, faults first, then by their beginning."""
        found = [entry.finding for entry in self._entries.values() if entry.finding is not None]
        return tuple(sorted(found, key=lambda one: (one.weight != "fault", one.since_ns, one.key)))

    def take(self, at_ns: int, signs: Iterable[Signs]) -> list[FindingChange]:
        """What is seen at an instant; the answer is what came, changed and went."""
        seen = {(one.kind, one.channel): one for one in signs}
        if not seen and not self._entries:
            return []
        changes = self._gone(at_ns, seen.keys())
        for key, one in sorted(seen.items()):
            changes += self._seen(at_ns, key, one)
        self._settle()
        return changes

    def clear(
        self, at_ns: int, *, keep: Iterable[FindingKind] = (), only: Iterable[FindingKind] | None = None
    ) -> list[FindingChange]:
        """All go, but those of some kinds; with `only` none but those of these kinds."""
        kept = set(keep)
        wanted = None if only is None else set(only)
        going = [
            key
            for key in sorted(self._entries)
            if key[0] not in kept and (wanted is None or key[0] in wanted)
        ]
        entries = [self._entries.pop(key) for key in going]
        self._settle()
        told = [one.finding for one in entries if one.finding is not None]
        return [FindingChange(at_ns, self.bench, "gone", finding) for finding in told]

    def _gone(self, at_ns: int, seen: Iterable[Key]) -> list[FindingChange]:
        changes: list[FindingChange] = []
        for key in sorted(self._entries.keys() - set(seen)):
            entry = self._entries[key]
            if at_ns - entry.last_ns >= entry.signs.lasts_ns or entry.finding is None:
                del self._entries[key]
                if entry.finding is not None:
                    changes.append(FindingChange(at_ns, self.bench, "gone", entry.finding))
        return changes

    def _seen(self, at_ns: int, key: Key, signs: Signs) -> list[FindingChange]:
        entry = self._entries.get(key)
        if entry is None:
            entry = self._entries[key] = _Entry(signs, at_ns, at_ns)
        entry.signs, entry.last_ns = signs, at_ns
        if entry.finding is None:
            if at_ns - entry.first_ns < signs.patience_ns:
                return []
            return self._tell(at_ns, entry, "found", signs.finding)
        finding = signs.finding
        told = entry.finding
        is_other = (finding.weight, finding.try_baud) != (told.weight, told.try_baud)
        if is_other or (at_ns - entry.told_ns >= RENEW_NS and _matters(signs.size, entry.told_size)):
            since_ns = min(told.since_ns, finding.since_ns)
            return self._tell(at_ns, entry, "changed", signs._replace(since_ns=since_ns).finding)
        return []

    def _tell(self, at_ns: int, entry: _Entry, event: str, finding: Finding) -> list[FindingChange]:
        assert event in ("found", "changed")
        entry.finding, entry.told_ns, entry.told_size = finding, at_ns, entry.signs.size
        return [FindingChange(at_ns, self.bench, "found" if event == "found" else "changed", finding)]

    def _settle(self) -> None:
        doubts: dict[int, str] = {}
        for _, entry in sorted(self._entries.items()):
            if entry.finding is not None and entry.signs.doubt:
                for index in entry.signs.indices:
                    doubts.setdefault(index, entry.signs.doubt)
        self.doubts = doubts


def _matters(size: float, told: float) -> bool:
    low, high = sorted((abs(size), abs(told)))
    return high > low * MATTERS
