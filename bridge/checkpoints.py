"""States kept on the way through a recording: a replay that moves there again need not begin at the start.

A state is the processor with all that hangs on it, its hub too, as bytes: one that is kept can't change, and
costs the collector nothing. Never kept are states in which somebody took a hand, who moves elsewhere alone.
"""

from __future__ import annotations

import asyncio
import io
import logging
import pickle
import zlib
from typing import NamedTuple

from bridge.core.checking.curve import Curve
from bridge.core.checking.space import Space
from bridge.core.checking.telling_apart import Readings
from bridge.core.conversion import Converter
from bridge.core.lesson import Lesson
from bridge.processing import Processor

_log = logging.getLogger(__name__)

EVERY_NS = 120_000_000_000  # at first; beyond the bound half of them go, and they come half as often
MAX_CHECKPOINT_BYTES = 256 << 20  # compressed: two hours of 24 benches, every two to four minutes
_NEVER_NS = 1 << 62
_SHARED = frozenset((Lesson, Space, Converter, Curve, Readings))
"""What never changes once it is made, and holds functions or is large: kept once for all states."""
_LEAST_EFFORT = 1  # a third of the size for the time that the state itself takes; more effort saves little


class Checkpoint(NamedTuple):
    """One state."""

    at_ns: int  # everything up to there was taken, and no time told since
    order: int | None  # of the recording's last item that was taken; None: not one
    state: bytes


class Checkpoints:
    """The states of one way through a recording: with another lesson it is another way."""

    def __init__(self, *, every_ns: int = EVERY_NS, max_bytes: int = MAX_CHECKPOINT_BYTES) -> None:
        self._every_ns, self._max_bytes = every_ns, max_bytes
        self._kept: dict[int, Checkpoint] = {}  # by their instants, rising
        self._shared: dict[int, object] = {}

    @property
    def n_bytes(self) -> int:
        """What the kept states take."""
        return sum(len(one.state) for one in self._kept.values())

    def __len__(self) -> int:
        return len(self._kept)

    def newest(self, until_ns: int) -> Checkpoint | None:
        """The last one at or before that instant."""
        return max((one for one in self._kept.values() if one.at_ns <= until_ns), default=None)

    def next_ns(self, after_ns: int) -> int:
        """When a state is to be kept next; one that is kept already is not kept again."""
        next_ns = (after_ns // self._every_ns + 1) * self._every_ns
        while next_ns in self._kept:
            next_ns += self._every_ns
        return next_ns

    async def keep(self, at_ns: int, order: int | None, processor: Processor) -> None:
        """Keep the state as it is now."""
        try:
            state = kept(processor, self._shared)
        except (pickle.PicklingError, AttributeError, TypeError):  # an error of ours: going back takes longer
            _log.exception("a state of the replay can't be kept: it goes back by way of its start")
            self._every_ns = _NEVER_NS
            return
        compressed = await asyncio.to_thread(zlib.compress, state, _LEAST_EFFORT)
        self._kept[at_ns] = Checkpoint(at_ns, order, compressed)
        while self.n_bytes > self._max_bytes and len(self._kept) > 1:
            self._every_ns *= 2
            self._kept = {at_ns: one for at_ns, one in self._kept.items() if at_ns % self._every_ns == 0}

    def restored(self, checkpoint: Checkpoint) -> Processor:
        """The processor as it was then; each time another one, with a hub of its own."""
        processor = restored(zlib.decompress(checkpoint.state), self._shared)
        assert isinstance(processor, Processor)
        return processor


def kept(state: object, shared: dict[int, object]) -> bytes:
    """A state as bytes; what never changes goes into `shared` instead."""
    file = io.BytesIO()
    _Pickler(file, shared).dump(state)
    return file.getvalue()


def restored(state: bytes, shared: dict[int, object]) -> object:
    """The state again, new but for what is shared; only of bytes that this process has made itself."""
    return _Unpickler(io.BytesIO(state), shared).load()


class _Pickler(pickle.Pickler):
    """Leaves what is shared out of the bytes."""

    def __init__(self, file: io.BytesIO, shared: dict[int, object]) -> None:
        super().__init__(file, protocol=5)
        self._shared = shared

    def persistent_id(self, obj: object) -> int | None:
        if type(obj) not in _SHARED:
            return None
        self._shared[id(obj)] = obj  # which keeps it, so that no other object gets its id
        return id(obj)


class _Unpickler(pickle.Unpickler):
    """Puts what is shared back in; reads nothing but what this process kept itself."""

    def __init__(self, file: io.BytesIO, shared: dict[int, object]) -> None:
        super().__init__(file)
        self._shared = shared

    def persistent_load(self, pid: int) -> object:
        return self._shared[pid]
