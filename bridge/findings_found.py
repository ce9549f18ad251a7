"""The findings of what was kept: each with when it came and when it went."""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from bridge.core.class_watch import ClassWatch
from bridge.core.findings import Finding, FindingChange
from bridge.core.lesson import OPEN_LESSON, Lesson
from bridge.core.pipeline import BenchPipeline, Outcome
from bridge.core.readings import Change
from bridge.lesson_file import lesson_from_text
from bridge.recorded import Recorded
from bridge.table import outcomes_of, timed_portions


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
        data: All the bytes; their times are those of bytes sent without a pause at that rate.
        lesson: Its first bench counts; None: each field that is printed is a channel.
        baud: The rate at which they were read.
        cold: The bytes may begin inside a line.
    """
    used = lesson or OPEN_LESSON
    bench = next((one.number for one in used.benches), 1)
    pipeline, at_ns = BenchPipeline(used, bench, cold=cold), 0
    changes: list[Change] = [*pipeline.link("open", 0, baud=baud).changes]
    for portion, at_ns in timed_portions(data, baud):
        changes += pipeline.feed(portion, at_ns).changes
    changes += pipeline.finish(at_ns).changes
    return standings_of(changes)


def findings_of_recording(path: str | os.PathLike[str], *, lesson: Lesson | None = None) -> list[Standing]:
    """The findings of a recording, those of the whole class with them, in the order in which they were found.

    Raises:
        RecordingError: The recording can't be read.
    """
    with Recorded(os.fspath(path)) as recorded:
        used = lesson or _lesson_of(recorded)
        outcomes = outcomes_of(recorded.items(), lesson=lesson, end_ns=recorded.length_ns)
        return standings_of(_changes(outcomes, ClassWatch(used), recorded.length_ns))


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


def _lesson_of(recorded: Recorded) -> Lesson:
    """The recording's last lesson: what every bench measures hardly changes within a session."""
    return lesson_from_text(recorded.lessons[-1][1]) if recorded.lessons else OPEN_LESSON


def _changes(outcomes: Iterator[tuple[int, Outcome]], together: ClassWatch, end_ns: int) -> Iterator[Change]:
    for _, outcome in outcomes:
        together.take(outcome.readings)
        yield from outcome.changes
    yield from together.assess(end_ns)
