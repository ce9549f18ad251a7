"""Where the threads that read boards hand over what they read: the one door into the session.

One lock puts everything into one order: an item is stamped and queued under it, and the session takes `now`
and the items under it. What is stamped at or before that `now` has therefore been taken, so the session may
let everything that was due up to `now` happen, in an order that a replay can repeat.
"""

from __future__ import annotations

import threading
from collections.abc import Callable
from typing import Literal, NamedTuple

LinkState = Literal["searching", "open", "in use", "no permission", "lost", "released", "ended"]

MAX_BYTES_WAITING = 64 * 1024 * 1024
MAX_ITEMS_WAITING = 256 * 1024  # a chunk of one byte takes some 200 bytes of memory


class Arrived(NamedTuple):
    """Bytes of one bench, as they were read."""

    at_ns: int
    bench: int
    data: bytes


class LinkChanged(NamedTuple):
    """The way to a bench's board changed."""

    at_ns: int
    bench: int
    state: LinkState
    words: str  # what happened, for a person
    remedy: str  # what to do; "" when nothing is to be done
    breaks: bool  # bytes may be missing here: a half line before it and the first one after it are no lines
    port: str  # as it is opened now; "" when the board has not been found
    baud: int  # 0 where there is none (standard input, a pipe)


class Inbox:
    """Chunks and link changes of all benches, in the one order in which they count.

    Nothing that was read is ever dropped. The bounds are `max_bytes_waiting` and `max_items_waiting`: there
    `put` waits, the reading threads stand still, and the bytes stay in the operating system until the session
    takes again. So `put` belongs in threads of sources, never in the thread that takes. Link changes pass the
    bounds; their number is held down by the waits between attempts to open.
    """

    def __init__(
        self,
        clock_ns: Callable[[], int],
        wake: Callable[[], None],
        *,
        max_bytes_waiting: int = MAX_BYTES_WAITING,
        max_items_waiting: int = MAX_ITEMS_WAITING,
    ) -> None:
        """Start empty.

        Args:
            clock_ns: The session's time, steady. Called under the lock; from any thread.
            wake: Tells the session that there is something to take. Called from any thread, and only when the
                inbox was empty: a thousand chunks cost one wake-up.
            max_bytes_waiting: Bound in bytes of chunks; reached, the next chunk waits.
            max_items_waiting: Bound in items, whatever their size.
        """
        self.max_bytes_waiting = max_bytes_waiting
        self.max_items_waiting = max_items_waiting
        self._clock_ns = clock_ns
        self._wake = wake
        self._changed = threading.Condition(threading.Lock())
        self._items: list[Arrived | LinkChanged] = []
        self._n_bytes = 0
        self._earliest_ns = 0  # no stamp may come before it
        self._closed = False

    def put(self, bench: int, data: bytes) -> None:
        """Hand over bytes that were read just now; waits while the inbox is full."""
        with self._changed:
            while self._is_full() and not self._closed:
                self._changed.wait()
            if self._closed:
                return
            first = not self._items
            self._items.append(Arrived(self._stamp(), bench, data))
            self._n_bytes += len(data)
        if first:
            self._wake()

    def tell(
        self,
        bench: int,
        state: LinkState,
        *,
        words: str = "",
        remedy: str = "",
        breaks: bool = False,
        port: str = "",
        baud: int = 0,
    ) -> None:
        """Hand over that the way to a board changed; never waits."""
        with self._changed:
            if self._closed:
                return
            first = not self._items
            self._items.append(LinkChanged(self._stamp(), bench, state, words, remedy, breaks, port, baud))
        if first:
            self._wake()

    def take(self) -> tuple[int, list[Arrived | LinkChanged]]:
        """The time now and all that came up to it; every later item has a later stamp."""
        with self._changed:
            now_ns = max(self._clock_ns(), self._earliest_ns)
            self._earliest_ns = now_ns + 1  # a coarse clock may show the same instant again
            items, self._items = self._items, []
            self._n_bytes = 0
            self._changed.notify_all()
        return now_ns, items

    def close(self) -> None:
        """No one takes any more: what comes now is left out and wakes nobody. Stop the sources first."""
        with self._changed:
            self._closed = True
            self._changed.notify_all()

    @property
    def n_bytes_waiting(self) -> int:
        """Bytes of chunks that were not taken yet."""
        return self._n_bytes

    def _is_full(self) -> bool:
        return self._n_bytes >= self.max_bytes_waiting or len(self._items) >= self.max_items_waiting

    def _stamp(self) -> int:
        self._earliest_ns = max(self._clock_ns(), self._earliest_ns)
        return self._earliest_ns
