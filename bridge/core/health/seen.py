"""A field of a bench's text as the health of the board is judged by it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from bridge.core.roles import Role

_FIRST_TOLD: tuple[Role, ...] = ("count", "volts", "value", "")


@dataclass(frozen=True, slots=True, kw_only=True)
class ChannelSeen:
    """One field or channel of the bench's text."""

    name: str
    index: int  # of the field in a row
    unit: str
    role: Role
    width_bits: int  # of a count's converter: the lesson's, else the least that holds it; 0: unknown
    low_rail: float | None  # the printed number at the converter's lower end; None: unknown
    high_rail: float | None  # and at its upper end
    step: float = 0.0  # of the printed number: one count, or its last digit; 0: seen from the rows

    is_width_guessed: bool = False  # then its upper end is one only where the numbers stop just there

    @property
    def is_measured(self) -> bool:
        """Whether it stands for something measured: neither a clock nor a running number."""
        return self.role not in ("clock", "index")

    @property
    def span(self) -> float | None:
        """From rail to rail; None when a rail is not known."""
        if self.low_rail is None or self.high_rail is None:
            return None
        return abs(self.high_rail - self.low_rail) or None

    @property
    def rank(self) -> int:
        """Of several fields that tell the same, the one with the least rank is named: the count first."""
        return _FIRST_TOLD.index(self.role) if self.role in _FIRST_TOLD else len(_FIRST_TOLD)

    def shown(self, value: float) -> str:
        """A number of the field with its unit, in as many digits as it is printed with."""
        decimals = 0
        while decimals < 6 and abs(self.step * 10**decimals - round(self.step * 10**decimals)) > 1e-9:
            decimals += 1
        return f"{value:.{decimals}f}" + (f" {self.unit}" if self.unit else "")


def first_of_each_field(channels: Sequence[ChannelSeen], n_fields: int) -> tuple[ChannelSeen, ...]:
    """The channels, of those made from one field the first; none whose field a row does not have."""
    kept: dict[int, ChannelSeen] = {}
    for channel in channels:
        if 0 <= channel.index < n_fields:
            kept.setdefault(channel.index, channel)
    return tuple(kept.values())
