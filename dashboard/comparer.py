"""Comparisons for the page, computed beside its requests: one at a time, with how far each has come."""

from __future__ import annotations

import logging
import threading
from collections import OrderedDict
from collections.abc import Callable, Hashable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Generic, TypeVar

from bridge import BenchrowError, KeptSession, read_session
from dashboard.class_known import ClassKnown, channels_of, class_known
from dashboard.comparing import Alignment, Choices, Comparison, Figure, comparison_of
from dashboard.comparing.alignment import AlignmentKind
from dashboard.comparing.choices import ResponseKind
from dashboard.pictures import DARK, LIGHT, Picture, pictures_of

_log = logging.getLogger(__name__)
KEPT_SESSIONS = 3  # some MB each: the one that is looked at, its ghost, one before
KEPT_COMPARISONS = 6
KEPT_SHOWN = 4  # a MB each
_T = TypeVar("_T")


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """One comparison as the page asks for it."""

    path: Path
    lesson: Path | None = None
    ghost: Path | None = None
    channel: str
    other_channel: str | None = None  # for one channel over another
    kind: AlignmentKind = "instant"
    by_hand: tuple[tuple[int, float], ...] = ()
    from_seconds: float | None = None
    to_seconds: float | None = None
    left_out: tuple[int, ...] = ()
    reference: float | None = None
    u_reference: float = 0.0
    response: ResponseKind = "step"
    ambient: float | None = None
    u_ambient: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Compared:
    """What came out."""

    title: str
    known: ClassKnown
    comparison: Comparison
    ghost: Comparison | None
    other: Comparison | None
    ghost_words: str  # why there is none although one was asked for


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Shown:
    """With its pictures."""

    compared: Compared
    pictures: tuple[Picture, ...]


@dataclass(slots=True)
class Job(Generic[_T]):
    """Work that goes on, has ended, or failed. Written by the worker, read by requests."""

    share: float = 0.0
    words: str = "waiting"
    result: _T | None = None
    failure: str = ""  # in words for a person

    @property
    def is_done(self) -> bool:
        """Whether it ended, in whatever way."""
        return self.result is not None or bool(self.failure)


@dataclass(slots=True)
class _Kept(Generic[_T]):
    """The newest results; the oldest goes when there are too many."""

    most: int
    found: OrderedDict[Hashable, _T] = field(default_factory=OrderedDict)

    def get(self, key: Hashable) -> _T | None:
        if key in self.found:
            self.found.move_to_end(key)
        return self.found.get(key)

    def put(self, key: Hashable, value: _T) -> _T:
        self.found[key] = value
        while len(self.found) > self.most:
            self.found.popitem(last=False)
        return value

    def drop(self, unwanted: Callable[[Any], bool]) -> None:
        for key in [key for key in self.found if unwanted(key)]:
            del self.found[key]


class Comparer:
    """Reads recordings and compares them in a thread of its own. Requests ask again until it is done."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._worker = ThreadPoolExecutor(1, thread_name_prefix="comparing")
        self._sessions = _Kept[Job[KeptSession]](KEPT_SESSIONS)
        self._comparisons = _Kept[Job[Compared]](KEPT_COMPARISONS)
        self._shown = _Kept[Job[Shown]](KEPT_SHOWN)

    def session(self, path: Path, lesson: Path | None = None) -> Job[KeptSession]:
        """The whole recording; started when it was not asked for before."""
        return self._job(
            self._sessions, (path, lesson), lambda job: self._read(path, lesson, job), f"reading {path.name}"
        )

    def forget(self, path: Path) -> None:
        """Read it anew when it is asked for again: it has grown."""
        with self._lock:
            self._sessions.drop(lambda key: key[0] == path)
            self._comparisons.drop(lambda key: path in (key.path, key.ghost))
            self._shown.drop(lambda key: path in (key[0].path, key[0].ghost))

    def shown(self, asked: Asked, *, look: str, figure_name: str) -> Job[Shown]:
        """The comparison with its pictures."""
        key = (asked, look, figure_name)
        return self._job(self._shown, key, lambda job: self._show(asked, look, figure_name, job), "comparing")

    def close(self) -> None:
        """Begin nothing more."""
        self._worker.shutdown(wait=False, cancel_futures=True)

    def _job(self, kept: _Kept[Job[_T]], key: Hashable, make: Callable[[Job[_T]], _T], words: str) -> Job[_T]:
        with self._lock:
            known = kept.get(key)
            if known is not None:
                return known
            job = kept.put(key, Job[_T](words=words))
        self._worker.submit(_run, job, make)
        return job

    def _read(self, path: Path, lesson: Path | None, job: Job[Any]) -> KeptSession:
        job.words = f"reading {path.name}"

        def told(share: float) -> None:
            job.share = share

        found = read_session(path, lesson, progress=told)
        if not channels_of(found):
            raise BenchrowError(
                f"{path.name} holds no reading with a value yet", remedy="Wait for the first lines"
            )
        return found

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
        compared = known.result if known is not None and known.result is not None else None
        if compared is None:
            compared = self._compare(asked, job)
            with self._lock:
                self._comparisons.put(asked, Job(result=compared))
        job.words, job.share = "drawing", 0.0
        pictures = []
        for picture in pictures_of(
            compared.comparison,
            compared.known.looks,
            {"dark": DARK}.get(look, LIGHT),
            figure_name=figure_name,
            band_names=compared.known.band_names,
            ghost=compared.ghost,
            other_channel=compared.other,
        ):
            pictures.append(picture)
            job.share = min(1.0, len(pictures) / 8)
        return Shown(compared=compared, pictures=tuple(pictures))

    def _compare(self, asked: Asked, job: Job[Any]) -> Compared:
        session = self._now(asked.path, asked.lesson, job)
        shadow = self._now(asked.ghost, None, job) if asked.ghost is not None else None
        job.words, job.share = "comparing", 0.0
        is_instant = asked.kind == "instant"
        window = (asked.from_seconds, asked.to_seconds) if is_instant else (None, None)
        known = class_known(session, asked.channel, window)
        comparison = comparison_of(session.table, choices_of(asked, known, asked.channel))
        job.share = 0.4
        other = None
        if asked.other_channel is not None and asked.other_channel != asked.channel:
            # In the same time: events are looked for in the first channel and given to the second.
            events = {b: e.seconds for b, e in comparison.events.items() if e.seconds is not None}
            other = comparison_of(session.table, choices_of(asked, known, asked.other_channel, events))
        job.share = 0.7
        ghost, ghost_words = None, ""
        if shadow is not None:
            if asked.channel in channels_of(shadow):
                beside = class_known(shadow, asked.channel)
                ghost = comparison_of(shadow.table, choices_of(asked, beside, asked.channel, by_hand={}))
            else:
                ghost_words = f"the other recording has no channel {asked.channel!r}"
        return Compared(
            title=session.title,
            known=known,
            comparison=comparison,
            ghost=ghost,
            other=other,
            ghost_words=ghost_words,
        )


def choices_of(
    asked: Asked, known: ClassKnown, channel: str, by_hand: dict[int, float] | None = None
) -> Choices:
    """With what the session knows of its benches."""
    reference = None
    if asked.reference is not None:
        reference = Figure(name="reference", unit="", value=asked.reference, u=asked.u_reference)
    events = dict(asked.by_hand) if by_hand is None else by_hand
    return Choices(
        channel=channel,
        alignment=Alignment(kind=asked.kind, by_hand=events),
        from_seconds=asked.from_seconds,
        to_seconds=asked.to_seconds,
        left_out=dict.fromkeys(asked.left_out, ""),
        names=known.names,
        marks=known.marks,
        reference=reference,
        band_edges=known.band_edges,
        response=asked.response,
        ambient=asked.ambient,
        u_ambient=asked.u_ambient,
    )


def _run(job: Job[_T], make: Callable[[Job[_T]], _T]) -> None:
    try:
        job.result = make(job)
    except BenchrowError as error:
        job.failure = str(error)
    except ValueError as error:
        job.failure = f"{str(error)[:1].upper()}{str(error)[1:]}."
    except Exception as error:
        _log.exception("Comparing failed")
        job.failure = f"Benchrow met a fault of its own ({type(error).__name__}: {error})."
