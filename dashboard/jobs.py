"""Work beside the requests of the page server: how far it has come, what came out, what is kept of it."""

from __future__ import annotations

import logging
from collections import OrderedDict
from collections.abc import Callable, Hashable
from dataclasses import dataclass, field
from typing import Any, Generic, TypeVar

from bridge import BenchrowError

_log = logging.getLogger(__name__)
_T = TypeVar("_T")


@dataclass(slots=True)
class Job(Generic[_T]):
    """Work that goes on, has ended, or failed. Written by the worker, read by requests."""

    share: float = 0.0
    words: str = "waiting"
    so_far: _T | None = None  # what can be looked at before all is done
    result: _T | None = None
    failure: str = ""  # in words for a person

    @property
    def is_done(self) -> bool:
        """Whether it ended, in whatever way."""
        return self.result is not None or bool(self.failure)


@dataclass(slots=True)
class Kept(Generic[_T]):
    """The newest results; the oldest goes when there are too many."""

    most: int
    found: OrderedDict[Hashable, _T] = field(default_factory=OrderedDict)

    def get(self, key: Hashable) -> _T | None:
        """What is kept under a key; it counts as new again."""
        if key in self.found:
            self.found.move_to_end(key)
        return self.found.get(key)

    def put(self, key: Hashable, value: _T) -> _T:
        """Keep it."""
        self.found[key] = value
        self.found.move_to_end(key)
        while len(self.found) > self.most:
            self.found.popitem(last=False)
        return value

    def drop(self, unwanted: Callable[[Any], bool]) -> None:
        """Let go of what has such a key."""
        for key in [key for key in self.found if unwanted(key)]:
            del self.found[key]


def run(job: Job[_T], make: Callable[[Job[_T]], _T]) -> None:
    """Do the work; what it raises becomes words."""
    try:
        job.result = make(job)
    except BenchrowError as error:
        job.failure = str(error)
    except ValueError as error:
        job.failure = f"{str(error)[:1].upper()}{str(error)[1:]}."
    except Exception as error:
        _log.exception("Work beside the page failed")
        job.failure = f"Benchrow met a fault of its own ({type(error).__name__}: {error})."
