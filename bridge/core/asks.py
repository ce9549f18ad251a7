"""What the groups said from their own pages: that they ask for help, or that they are done."""

from __future__ import annotations

from typing import Literal, NamedTuple, get_args

Want = Literal["help", "done", "nothing"]
"""What a group says; "nothing" takes back what it said before."""
WANTS: tuple[Want, ...] = get_args(Want)


class Said(NamedTuple):
    """What a group said last."""

    want: Want  # never "nothing"
    since_ns: int


class Asks:
    """What each group said last; nothing for a group that said nothing, or took it back."""

    def __init__(self) -> None:
        self.standing: dict[int, Said] = {}  # by bench

    def of(self, bench: int) -> Want:
        """What that group said."""
        said = self.standing.get(bench)
        return said.want if said else "nothing"

    def take(self, bench: int, want: Want, at_ns: int) -> bool:
        """Take what a group says; False where it said so before."""
        if want == self.of(bench):
            return False
        self.standing.pop(bench, None)
        if want != "nothing":
            self.standing[bench] = Said(want, at_ns)
        return True
