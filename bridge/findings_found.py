"""The findings of what was kept: each with when it came and when it went."""

from __future__ import annotations

import os
from collections.abc import Iterable
from dataclasses import dataclass, replace

from bridge.core.findings import Finding, FindingChange
from bridge.core.lesson import OPEN_LESSON, Lesson
from bridge.core.pipeline import BenchPipeline
from bridge.core.readings import Change
from bridge.recorded import Recorded
from bridge.table import outcomes_of, timed_portions

SECOND_NS = 1_000_000_000
PACE_NS = SECOND_NS // 4  # from line to line, or piece of one
AFTER_SECONDS = 10


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """One finding from the moment it was found until it went; times are session time."""

    bench: int
    found_ns: int
    gone_ns: int | None  # None: it stood to the end
    finding: Finding  # in its last words


def findings_of_bytes(
    data: bytes, *, lesson: Lesson | None = None, baud: int = 9600, cold: bool = False
) -> list[Standing]:
    """The findings of the raw bytes of one board, in the order in which they were found.

    Args:
        data: All the bytes. They are looked at four lines a second, as a class prints; told are the times of
            bytes sent without a pause at that rate.
        lesson: Its first bench counts; None: each field that is printed is a channel.
        baud: The rate at which they were read.
        cold: The bytes may begin inside a line.
    """
    used = lesson or OPEN_LESSON
    bench = next((one.number for one in used.benches), 1)
    pipeline = BenchPipeline(used, bench, cold=cold, is_timed=False)
    changes: list[Change] = [*pipeline.link("open", 0, baud=baud).changes]
    paced_ns, sent_ns = 0, [0]
    for portion, at_ns in timed_portions(data, baud):
        paced_ns += PACE_NS
        sent_ns.append(at_ns)
        changes += pipeline.feed(portion, paced_ns).changes
    for i in range(1, AFTER_SECONDS + 1):  # what is assessed every few seconds has its turn
        changes += pipeline.tick(paced_ns + i * SECOND_NS).changes
    return [_as_sent(one, sent_ns) for one in standings_of(changes)]


def _as_sent(one: Standing, sent_ns: list[int]) -> Standing:
    """From the times at which lines were looked at to those at which they would have been sent."""

    def sent(at_ns: int) -> int:
        return sent_ns[min(at_ns // PACE_NS, len(sent_ns) - 1)]

    gone_ns = None if one.gone_ns is None else sent(one.gone_ns)
    return replace(one, found_ns=sent(one.found_ns), gone_ns=gone_ns)


def findings_of_recording(path: str | os.PathLike[str], *, lesson: Lesson | None = None) -> list[Standing]:
    """The findings of a recording, those of the whole class with them, in the order in which they were found.

    Raises:
        RecordingError: The recording can't be read.
    """
    with Recorded(os.fspath(path)) as recorded:
        outcomes = outcomes_of(recorded.items(), lesson=lesson, end_ns=recorded.length_ns)
        return standings_of(change for _, outcome in outcomes for change in outcome.changes)


def standings_of(changes: Iterable[Change]) -> list[Standing]:
    """From single changes to findings with their beginning and end."""
    open_ones: dict[tuple[int, str, str], tuple[int, Finding]] = {}
    done: list[Standing] = []
    for change in changes:
        if not isinstance(change, FindingChange):
            continue
        key = (change.bench, *change.finding.key)
        if change.event != "gone":
            found_ns = open_ones[key][0] if key in open_ones else change.at_ns
            open_ones[key] = (found_ns, change.finding)
        elif key in open_ones:
            found_ns, finding = open_ones.pop(key)
            done.append(_standing(change.bench, found_ns, change.at_ns, finding))
    done += [_standing(key[0], found_ns, None, one) for key, (found_ns, one) in open_ones.items()]
    return sorted(done, key=lambda one: (one.found_ns, one.bench, one.finding.key))


def _standing(bench: int, found_ns: int, gone_ns: int | None, finding: Finding) -> Standing:
    return Standing(bench=bench, found_ns=found_ns, gone_ns=gone_ns, finding=finding)
