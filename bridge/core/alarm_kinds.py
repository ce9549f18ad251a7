"""The kinds of alarms that judge something else than the value: its age, its quality, its class, findings."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from bridge.core.alarm_given import PLAIN_KINDS, AlarmGiven
from bridge.core.as_written import sum_as_written
from bridge.core.findings import Finding, FindingChange, FindingKind
from bridge.core.limits import NEVER_NS, AlarmWatch, Happened, LimitWatch
from bridge.core.rates import RateWatch, sided


class StaleWatch(AlarmWatch):
    """Watches the age of the newest value; exact at the instant at which it becomes too old.

    A board that has not given a value yet has none that could be old. A lost port does not stop the clock.
    """

    hears_all = True

    def __init__(self, given: AlarmGiven) -> None:
        super().__init__(given)
        self._old_after_ns = round(given.at * 1e9)
        self._newest_ns: int | None = None

    def take(self, _value: float, at_ns: int) -> None:
        """Take a good value: its age is zero."""
        self._newest_ns, self.turn_ns = at_ns, at_ns + self._old_after_ns
        self.measured = 0.0
        self.judge(at_ns, is_past=False, is_back=True)

    def is_quiet(self, times_ns: Sequence[int], _values: Sequence[float]) -> bool:
        """Whether no value comes too late, and none ends an alarm."""
        if self.active or self.delay_ns != NEVER_NS:
            return False
        older_ns = self._newest_ns if self._newest_ns is not None else times_ns[0]
        if times_ns[-1] - older_ns < self._old_after_ns:
            return True
        before = (older_ns, *times_ns)
        return all(b - a < self._old_after_ns for a, b in zip(before, times_ns, strict=False))

    def lose(self) -> None:
        """The value that was there gets older."""

    def turn(self, at_ns: int) -> None:
        """The value has become too old."""
        assert self._newest_ns is not None
        self.measured = (at_ns - self._newest_ns) / 1e9
        self.judge(at_ns, is_past=True, is_back=False)

    def resume_from(self, older: AlarmWatch) -> None:
        """Carry over where the alarm stands and when the newest value came."""
        super().resume_from(older)
        if isinstance(older, StaleWatch):
            self._newest_ns = older._newest_ns
            if self.given != older.given and self._newest_ns is not None:
                self.turn_ns = self._newest_ns + self._old_after_ns


class QualityWatch(AlarmWatch):
    """Watches the quality of the readings: it rises at one that is bad, and returns at one that is not."""

    hears_all = True

    def take(self, _value: float, at_ns: int) -> None:
        """Take a good value."""
        self.judge(at_ns, is_past=False, is_back=True)

    def is_quiet(self, _times_ns: Sequence[int], _values: Sequence[float]) -> bool:
        """Good values change nothing while all is well."""
        return not self.active and self.delay_ns == NEVER_NS

    def miss(self, at_ns: int, quality: str) -> None:
        """Take a reading of that quality: bad, or uncertain."""
        is_past = quality == "bad" or self.given.quality == "uncertain"
        self.judge(at_ns, is_past=is_past, is_back=not is_past)


class DeviationWatch(AlarmWatch):
    """Watches how far a bench is from the median of the class; judged whenever the median is told."""

    def __init__(self, given: AlarmGiven) -> None:
        super().__init__(given)
        self.is_by_class = True
        self._clear = sum_as_written(given.at, -given.deadband)

    def lose(self) -> None:
        """The next median tells it: what the bench itself knows may be ahead of the class."""

    def compare(self, value: float | None, median: float | None, n_benches: int, at_ns: int) -> None:
        """Take the bench's value and the class's median, both as they stood before that instant."""
        if value is None or median is None or n_benches < self.given.least_benches:
            self.delay_ns = NEVER_NS  # nobody can say that it was stayed through
            return
        # In decimal as printed: 23.2 is 1.1 from a median of 22.1.
        self.measured = sum_as_written(value, -median)
        difference = sided(self.measured, self.given.side)
        self.judge(at_ns, is_past=difference > self.given.at, is_back=difference <= self._clear)


def is_meant(given: AlarmGiven, finding: Finding) -> bool:
    """Whether the alarm is one on findings, and for that one."""
    if given.kind != "finding":
        return False
    if given.findings:
        return finding.kind in given.findings
    return finding.weight == "fault" or given.weight == "hint"


class FindingWatch(AlarmWatch):
    """Watches the findings of a bench: it stands while one of those that it is for stands."""

    def __init__(self, given: AlarmGiven) -> None:
        super().__init__(given)
        self.standing: frozenset[tuple[FindingKind, str]] = frozenset()

    def take_finding(self, change: FindingChange) -> Happened | None:
        """Take a finding that came, changed or went. One that comes on top calls again, if it was seen."""
        finding = change.finding
        had = self.standing
        is_there = is_meant(self.given, finding) and change.event != "gone"
        self.standing = had | {finding.key} if is_there else had - {finding.key}
        self.judge(change.at_ns, is_past=bool(self.standing), is_back=not self.standing)
        if self.active and self.standing - had:
            return self.apply("re-alarm", change.at_ns, "rule")
        return None

    def restate(self, findings: Iterable[Finding], at_ns: int) -> None:
        """Take all findings that stand: the alarm is for others now, or nobody has told it of them."""
        self.standing = frozenset(one.key for one in findings if is_meant(self.given, one))
        self.judge(at_ns, is_past=bool(self.standing), is_back=not self.standing)

    def lose(self) -> None:
        """Findings say themselves when they are gone."""

    def resume_from(self, older: AlarmWatch) -> None:
        """Carry over where the alarm stands and what it stands for."""
        super().resume_from(older)
        if isinstance(older, FindingWatch) and self.given.findings == older.given.findings:
            self.standing = older.standing


def watch_of(given: AlarmGiven) -> AlarmWatch:
    """The watch for an alarm of that kind."""
    if given.kind in PLAIN_KINDS:
        return LimitWatch(given)
    kinds: dict[str, type[AlarmWatch]] = {
        "rate of change": RateWatch,
        "deviation": DeviationWatch,
        "stale": StaleWatch,
        "bad quality": QualityWatch,
        "finding": FindingWatch,
    }
    return kinds[given.kind](given)
