"""The clock of a replay: which session time is due at which steady time. It waits for nothing itself."""

from __future__ import annotations

SLOWEST, FASTEST = 0.25, 64.0


class Player:
    """Plays a recording's time along a steady clock.

    Every call is given the steady clock's ns, which must not go back. A new player is paused at its position.

    Args:
        length_ns: The end; the position never passes it.
        speed: Session ns per steady ns, 0.25 to 64.
        loop: Begin again at the end, without a pause.
        position_ns: Where to begin.
    """

    def __init__(
        self, length_ns: int, *, speed: float = 1.0, loop: bool = False, position_ns: int = 0
    ) -> None:
        if length_ns < 0:
            raise ValueError(f"a length of {length_ns} ns")
        self.length_ns = length_ns
        self._speed = _checked_speed(speed)
        self._loop = loop
        self._plays = False
        self._base_ns = min(max(position_ns, 0), length_ns)  # the position at _since_ns
        self._since_ns = 0
        self._n_turns = 0

    @property
    def is_playing(self) -> bool:
        """Whether the instructor lets it play; at the end it stays so, and the position stands."""
        return self._plays

    @property
    def speed(self) -> float:
        """Session ns per steady ns while it plays."""
        return self._speed

    @property
    def loop(self) -> bool:
        """Whether it begins again at the end."""
        return self._loop

    def position_ns(self, steady_ns: int) -> int:
        """The session time that is due now: everything up to it has happened in this turn."""
        return self._at(steady_ns)[0]

    def n_turns(self, steady_ns: int) -> int:
        """How often a loop has begun again: when it grew, the edge starts anew from 0."""
        return self._n_turns + self._at(steady_ns)[1]

    def has_ended(self, steady_ns: int) -> bool:
        """At the end, with no loop to begin again."""
        return not self._loops and self.position_ns(steady_ns) >= self.length_ns

    def due_in_ns(self, at_ns: int, steady_ns: int) -> int | None:
        """Steady ns until a session time of this turn is due; 0: it is, None: waiting never brings it."""
        position_ns = self.position_ns(steady_ns)
        if at_ns <= position_ns:
            return 0
        if not self._plays or at_ns > self.length_ns:
            return None
        rest_ns = (at_ns - self._base_ns) / self._speed - (steady_ns - self._since_ns)
        if self._n_turns != self.n_turns(steady_ns):
            rest_ns = (at_ns - position_ns) / self._speed
        return max(1, -int(-rest_ns // 1))  # rounded up: at that time it is due indeed

    def play(self, steady_ns: int) -> None:
        """Go on from here; from the start when it had ended."""
        if self.has_ended(steady_ns):
            self.seek(0, steady_ns)
        self._settle(steady_ns)
        self._plays = True

    def pause(self, steady_ns: int) -> None:
        """Stand still here."""
        self._settle(steady_ns)
        self._plays = False

    def set_speed(self, speed: float, steady_ns: int) -> None:
        """Go on at another speed from here.

        Raises:
            ValueError: The speed is not from 0.25 to 64.
        """
        checked = _checked_speed(speed)
        self._settle(steady_ns)
        self._speed = checked

    def seek(self, position_ns: int, steady_ns: int) -> None:
        """Go on from there, held inside the recording."""
        self._settle(steady_ns)
        self._base_ns = min(max(position_ns, 0), self.length_ns)

    def set_loop(self, loop: bool, steady_ns: int) -> None:
        """Begin again at the end, or stand there."""
        self._settle(steady_ns)
        self._loop = loop

    @property
    def _loops(self) -> bool:
        return self._loop and self.length_ns > 0  # nothing can be repeated without end in no time

    def _at(self, steady_ns: int) -> tuple[int, int]:
        """The position, and the turns since it was settled."""
        if not self._plays:
            return self._base_ns, 0
        position_ns = self._base_ns + int((steady_ns - self._since_ns) * self._speed)
        if position_ns < self.length_ns:
            return position_ns, 0
        if not self._loops:
            return self.length_ns, 0
        turns, position_ns = divmod(position_ns, self.length_ns)
        return position_ns, turns

    def _settle(self, steady_ns: int) -> None:
        self._base_ns, turns = self._at(steady_ns)
        self._n_turns += turns
        self._since_ns = steady_ns


def _checked_speed(speed: float) -> float:
    if not SLOWEST <= speed <= FASTEST:
        raise ValueError(f"the speed {speed:g} is not from {SLOWEST:g} to {FASTEST:g}")
    return speed
