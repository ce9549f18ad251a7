"""What a field is, judged by how its numbers behave over the first lines."""

from __future__ import annotations

from typing import Literal, NamedTuple

Role = Literal["", "count", "volts", "value", "clock", "index"]


class RoleFound(NamedTuple):
    """What one field is."""

    role: Role = ""  # "": not known
    clock_ns: int = 0  # of a clock: ns in one of its ticks
    width_bits: int = 0  # of a count: the least n with 2**n above every number seen, from 8 on
