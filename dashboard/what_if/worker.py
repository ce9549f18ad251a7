"""Both results for the page, computed beside its requests: one at a time, with how far each has come."""

from __future__ import annotations

import logging
import math
import secrets
import threading
import time
from collections import OrderedDict
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

from bridge import BenchrowError, KeptSession, LessonError
from dashboard.class_known import channels_of, clock_words
from dashboard.what_if.both import Both, Source, StoppedError, both_of
from dashboard.what_if.changes import Change
from dashboard.what_if.differing import Difference, difference_of

_log = logging.getLogger(__name__)
KEPT_JOBS = 4  # each holds two sessions; the oldest goes
KEPT_BEFORE = 2  # what a recording shows, for the next change of it
KEPT_READINGS = 3_000_000  # of all these together, some 200 bytes each; beyond it the oldest go first
_TOLD_FROM = 0.05  # of the work: before it the time that is left can't be told
Clock = Callable[[], float]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Found:
    """What came out."""

    both: Both
    difference: Difference
    channels: tuple[str, ...]


class Job:
    """Work that waits, goes on, or has ended in one of three ways. The worker writes it, requests read it."""

    def __init__(self, clock: Clock = time.monotonic) -> None:
        self._clock = clock
        self._began: float | None = None
        self._ended: float | None = None
        self.share = 0.0  # never falls
        self.found: Found | None = None
        self.failure = ""  # in words for a person
        self.is_stopped = False

    @property
    def is_done(self) -> bool:
        """Whether it ended, in whatever way."""
        return self._ended is not None

    @property
    def seconds(self) -> float:
        """How long it has taken so far."""
        if self._began is None:
            return 0.0
        return (self._clock() if self._ended is None else self._ended) - self._began

    @property
    def words(self) -> str:
        """ "Computing both … 40 %, about 3 s left"."""
        if self._began is None:
            return "Waiting for what was begun before …"
        if self.share < _TOLD_FROM:
            return f"Computing both … {self.share:.0%}"
        left = math.ceil(self.seconds * (1 - self.share) / self.share)
        told = f"{left} s" if left < 60 else f"{clock_words(left)} min"
        return f"Computing both … {self.share:.0%}, about {told} left"

    def stop(self) -> None:
        """End it as soon as may be."""
        self.is_stopped = True

    def begin(self) -> None:
        """The worker has come to it."""
        self._began = self._clock()

    def told(self, share: float) -> bool:
        """So much is done; whether to go on."""
        self.share = max(self.share, share)
        return not self.is_stopped

    def end(self) -> None:
        """Nothing follows."""
        self._ended = self._clock()


class Worker:
    """Computes in a thread of its own; requests ask again until it is done."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._thread = ThreadPoolExecutor(1, thread_name_prefix="what-if")
        self._jobs: OrderedDict[str, Job] = OrderedDict()
        self._before: OrderedDict[Source, KeptSession] = OrderedDict()

    def begin(self, source: Source, changes: Sequence[Change]) -> str:
        """Start; the answer is the name to ask by."""
        job = Job()
        name = secrets.token_urlsafe(9)  # nobody else finds it: who asks may not see every recording
        with self._lock:
            self._jobs[name] = job
            while len(self._jobs) > KEPT_JOBS:
                _, old = self._jobs.popitem(last=False)
                old.stop()
        self._thread.submit(self._run, job, source, tuple(changes))
        return name

    def job(self, name: str | None) -> Job | None:
        """The job of that name; None for one that is not kept any more."""
        with self._lock:
            return self._jobs.get(name or "")

    def close(self) -> None:
        """Begin nothing more, and end what goes on."""
        with self._lock:
            for job in self._jobs.values():
                job.stop()
        self._thread.shutdown(wait=False, cancel_futures=True)

    def _run(self, job: Job, source: Source, changes: tuple[Change, ...]) -> None:
        job.begin()
        try:
            job.found = self._compute(job, source, changes)
        except StoppedError:
            pass
        except LessonError as error:
            job.failure = " ".join(str(fault.wrong) + "." for fault in error.faults)
        except BenchrowError as error:
            job.failure = str(error)
        except Exception as error:
            _log.exception("Computing what would have been shown failed")
            job.failure = f"Benchrow met a fault of its own ({type(error).__name__}: {error})."
        finally:
            job.end()

    def _compute(self, job: Job, source: Source, changes: tuple[Change, ...]) -> Found:
        if not job.told(0.0):
            raise StoppedError
        both = both_of(source, changes, told=job.told, before=self._before.get(source))
        self._before[source] = both.before  # only this thread uses it
        self._before.move_to_end(source)
        self._let_go(both)
        channels = tuple(dict.fromkeys([*channels_of(both.after), *channels_of(both.before)]))
        return Found(both=both, difference=difference_of(both.before, both.after), channels=channels)

    def _let_go(self, newest: Both) -> None:
        """Of what is kept, the oldest: there are too many, or they are too long."""
        with self._lock:
            for name in [name for name, job in self._jobs.items() if job.found is not None]:
                if self._n_readings(newest) > KEPT_READINGS:
                    del self._jobs[name]
            while len(self._before) > 1 and (
                len(self._before) > KEPT_BEFORE or self._n_readings(newest) > KEPT_READINGS
            ):
                self._before.popitem(last=False)

    def _n_readings(self, newest: Both) -> int:
        """Of all sessions that are kept; what two jobs share counts once."""
        boths = [newest, *(job.found.both for job in self._jobs.values() if job.found is not None)]
        sessions = [*self._before.values(), *(one.before for one in boths), *(one.after for one in boths)]
        return sum(len(one.table) for one in {id(one): one for one in sessions}.values())
