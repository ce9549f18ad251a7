"""The instructor's passcode: compared in constant time, wrong ones slowed down and counted."""

from __future__ import annotations

import hmac
import secrets
from collections import deque

FIRST_WAIT_SECONDS = 0.5  # after a connection's first wrong code; doubles with each further one
LONGEST_WAIT_SECONDS = 8.0
MAX_WRONG = 30  # wrong codes of all connections together within
WRONG_WINDOW_SECONDS = 60.0  # this stretch; beyond it none is compared: a six-digit code lasts for weeks


def new_passcode() -> str:
    """Six digits, easy to read out and type; guessing is slowed down so that they last for weeks."""
    return f"{secrets.randbelow(1_000_000):06d}"


class Passcode:
    """Knows the passcode and how many wrong ones came. Time is passed in."""

    def __init__(self, passcode: str) -> None:
        if not passcode:
            raise ValueError("an empty passcode would let everybody in")
        self._passcode = passcode.encode()
        self._wrong_seconds: deque[float] = deque(maxlen=MAX_WRONG)

    def is_worn_out(self, steady_seconds: float) -> bool:
        """Whether so many wrong codes came lately that none is compared."""
        full = len(self._wrong_seconds) == MAX_WRONG
        return full and steady_seconds - self._wrong_seconds[0] < WRONG_WINDOW_SECONDS

    def is_right(self, shown: str, steady_seconds: float) -> bool:
        """Compare what was shown; a wrong one is counted."""
        is_right = hmac.compare_digest(shown.encode("utf-8", "replace"), self._passcode)
        if not is_right:
            self._wrong_seconds.append(steady_seconds)
        return is_right


def wait_after(n_wrong: int) -> float:
    """Seconds that a connection waits after its n-th wrong code."""
    return min(LONGEST_WAIT_SECONDS, FIRST_WAIT_SECONDS * 2.0 ** min(n_wrong - 1, 10))
