"""Comparisons for the page, computed beside its requests: one at a time, with how far each has come."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Hashable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from typing import Any, TypeVar

from bridge import BenchrowError, GrowingSession, KeptSession, read_session
from dashboard.class_known import channels_of
from dashboard.comparison_asked import Asked as Asked
from dashboard.comparison_asked import Compared as Compared
from dashboard.comparison_asked import choices_of as choices_of
from dashboard.comparison_asked import compared
from dashboard.jobs import Job as Job
from dashboard.jobs import Kept, run
from dashboard.pictures import DARK, LIGHT, Picture, marked_of, pictures_of

KEPT_SESSIONS = 3  # some MB each: the one that is looked at, its ghost, one before
KEPT_COMPARISONS = 6
KEPT_SHOWN = 4  # a MB each
KEPT_GROWING = 1  # the one that is written now
REST = 3
"""Times as long as a look at a growing session took, none begins by itself: a quarter of one core at most."""
_T = TypeVar("_T")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Shown:
    """With its pictures."""

    compared: Compared
    pictures: tuple[Picture, ...]


class Comparer:
    """Reads recordings and compares them in a thread of its own. Requests ask again until it is done."""

    def __init__(self, clock: Callable[[], float] = time.monotonic) -> None:
        self._clock = clock
        self._lock = threading.Lock()
        self._worker = ThreadPoolExecutor(1, thread_name_prefix="comparing")
        self._sessions = Kept[Job[KeptSession]](KEPT_SESSIONS)
        self._comparisons = Kept[Job[Compared]](KEPT_COMPARISONS)
        self._shown = Kept[Job[Shown]](KEPT_SHOWN)
        self._growing = Kept[GrowingSession](KEPT_GROWING)
        self._worked_seconds = 0.0  # since a growing session was read last
        self._rests_until = 0.0

    def session(self, path: Path, lesson: Path | None = None, *, grows: bool = False) -> Job[KeptSession]:
        """The whole recording; started when it was not asked for before.

        Args:
            path: The recording.
            lesson: Takes the place of its own.
            grows: It is still written: it will be read on.
        """
        return self._job(
            self._sessions,
            (path, lesson),
            lambda job: self._read_on(path, job) if grows else self._read(path, lesson, job),
            f"reading {path.name}",
        )

    def read_on(self, path: Path, *, by_itself: bool) -> Job[KeptSession]:
        """What was added to a growing recording; the last reading while it goes on, or while it rests.

        Args:
            path: The recording.
            by_itself: Nobody asked for it just now: not before it has rested.
        """
        with self._lock:
            known = self._sessions.get((path, None))
            if known is not None and (not known.is_done or (by_itself and self._clock() < self._rests_until)):
                return known
            self._sessions.drop(lambda key: key == (path, None))
            self._worked_seconds = 0.0
        return self.session(path, grows=True)

    def forget(self, path: Path) -> None:
        """Read it anew when it is asked for again."""
        with self._lock:
            self._sessions.drop(lambda key: key[0] == path)
            self._growing.drop(lambda key: key == path)
        self._outdate(path)

    def shown(self, asked: Asked, *, look: str, figure_name: str) -> Job[Shown]:
        """The comparison with its pictures."""
        key = (asked, look, figure_name)
        return self._job(self._shown, key, lambda job: self._show(asked, look, figure_name, job), "comparing")

    def close(self) -> None:
        """Begin nothing more."""
        self._worker.shutdown(wait=False, cancel_futures=True)

    def _job(self, kept: Kept[Job[_T]], key: Hashable, make: Callable[[Job[_T]], _T], words: str) -> Job[_T]:
        with self._lock:
            known = kept.get(key)
            if known is not None:
                return known
            job = kept.put(key, Job[_T](words=words))
        self._worker.submit(self._run, job, make)
        return job

    def _run(self, job: Job[_T], make: Callable[[Job[_T]], _T]) -> None:
        began = self._clock()
        run(job, make)
        ended = self._clock()
        with self._lock:
            self._worked_seconds += ended - began
            self._rests_until = ended + REST * self._worked_seconds

    def _outdate(self, path: Path) -> None:
        with self._lock:
            self._comparisons.drop(lambda key: path in (key.path, key.ghost))
            self._shown.drop(lambda key: path in (key[0].path, key[0].ghost))

    def _read(self, path: Path, lesson: Path | None, job: Job[Any]) -> KeptSession:
        job.words = f"reading {path.name}"
        return _with_values(read_session(path, lesson, progress=_telling(job)), path)

    def _read_on(self, path: Path, job: Job[Any]) -> KeptSession:
        with self._lock:
            growing = self._growing.get(path) or self._growing.put(path, GrowingSession(path))
        found = growing.read_on(progress=_telling(job))
        self._outdate(path)
        return _with_values(found, path)

    def _now(self, path: Path, lesson: Path | None, job: Job[Any]) -> KeptSession:
        """Within the worker: what another job has read, else read now."""
        with self._lock:
            known = self._sessions.get((path, lesson))
        if known is not None and known.result is not None:
            return known.result
        own = Job[KeptSession]()
        own.result = self._read(path, lesson, job)
        with self._lock:
            self._sessions.put((path, lesson), own)
        return own.result

    def _show(self, asked: Asked, look: str, figure_name: str, job: Job[Any]) -> Shown:
        with self._lock:
            known = self._comparisons.get(asked)
        found = known.result if known is not None and known.result is not None else None
        if found is None:
            session = self._now(asked.path, asked.lesson, job)
            shadow = self._now(asked.ghost, None, job) if asked.ghost is not None else None
            job.words, job.share = "comparing", 0.0
            found = compared(session, asked, shadow=shadow, told=_telling(job))
            with self._lock:
                self._comparisons.put(asked, Job(result=found))
        job.words, job.share = "drawing", 0.0
        pictures: list[Picture] = []
        for picture in pictures_of(
            found.comparison,
            found.known.looks,
            {"dark": DARK}.get(look, LIGHT),
            figure_name=figure_name,
            marked=marked_of(self._now(asked.path, asked.lesson, job), found.comparison),
            ghost=found.ghost,
            other_channel=found.other,
        ):
            pictures.append(picture)
            job.share = min(1.0, len(pictures) / 8)
            if len(pictures) == 1:
                job.so_far = Shown(compared=found, pictures=tuple(pictures))
        return Shown(compared=found, pictures=tuple(pictures))


def _telling(job: Job[Any]) -> Callable[[float], None]:
    def told(share: float) -> None:
        job.share = share

    return told


def _with_values(session: KeptSession, path: Path) -> KeptSession:
    if not channels_of(session):
        raise BenchrowError(
            f"{path.name} holds no reading with a value yet", remedy="Wait for the first lines"
        )
    return session
