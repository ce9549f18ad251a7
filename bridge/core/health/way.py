"""The way to a board: a plug that was pulled, a port that another program holds."""

from __future__ import annotations

from bridge.core.findings import FindingKind

from .signs import SECOND_NS, Signs

NOT_REACHED: FindingKind = "board not reached"
PATIENCE_NS = 5 * SECOND_NS  # a board that is plugged over, or starts anew by itself, is back before
_TOLD = {
    "lost": (
        "The board is gone: its port was lost",
        "Plug the board in again, or look at its cable; the bench connects by itself",
    ),
    "in use": (
        "Another program has the board's port open",
        "Close that program, or its window that shows the port; the bench then connects by itself",
    ),
    "no permission": (
        "This computer's account may not open the board's port",
        "See on the bench's page what gives it the right",
    ),
}


class Way:
    """Follows the link of one bench; a bench that never had a board is no trouble."""

    def __init__(self) -> None:
        self._state, self._since_ns = "", 0

    @property
    def is_broken(self) -> bool:
        """Whether the board can't be reached, and somebody should see to it."""
        return bool(self._state)

    def take(self, state: str, at_ns: int) -> None:
        """The link changed; while a lost board is searched, it is lost."""
        if state == "searching" and self._state == "lost":
            return
        broken = state if state in _TOLD else ""
        if broken != self._state:
            self._state, self._since_ns = broken, at_ns

    def signs(self, at_ns: int) -> list[Signs]:
        """What is seen of it."""
        if not self._state:
            return []
        words, remedy = _TOLD[self._state]
        seconds = (at_ns - self._since_ns) / 1e9
        return [
            Signs(
                NOT_REACHED, "", self._since_ns, words,
                f"for {seconds:.0f} s no byte can have come", remedy,
                size=seconds, patience_ns=PATIENCE_NS, lasts_ns=0,
            )
        ]  # fmt: skip
