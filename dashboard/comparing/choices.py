"""What a person chose to compare, and how."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from dashboard.comparing.alignment import Alignment
from dashboard.comparing.bands import Stay
from dashboard.comparing.figure import Figure
from dashboard.comparing.response import SETTLING_BAND

ResponseKind = Literal["step", "towards ambient", "none"]
PARTS = 5


@dataclass(frozen=True, slots=True, kw_only=True)
class Choices:
    """One comparison, as it was asked for.

    Attributes:
        channel: Its name.
        unit: To which all are brought. None: the one that most benches have.
        alignment: The same instant, or the same event.
        from_seconds: The comparison's begin, in aligned time (session time, or since each bench's event).
            None: from the first reading on.
        to_seconds: Its end. None: the last.
        left_out: Benches that a person left out, each with the reason in words.
        names: Of benches, where they have one.
        marks: What is known against a bench: findings, a calibration that is out of date.
        reference: What the level should be, with its standard uncertainty. None: benches are compared with
            the class median alone.
        band_edges: By bench, in the common unit: its own baseline is in them; of bands that
            hold all the time.
        band_stays: By bench: when it was held in which band, in session time.
        band_names: From the lowest; () where there is no name for each.
        response: Which course is fitted.
        response_window: Where, in aligned time. None: a step from its event on; towards ambient the whole.
        settling_band: Half its width, as a share of the step.
        ambient: Given, in the common unit, with its standard uncertainty. None: fitted.
        u_ambient: See there.
        ambients: By bench: value and standard uncertainty of an ambient of its own, in place of the common
            one.
        is_robust: Whether z-scores are given by the median and a robust deviation too.
        parts: Into how many parts the common time is cut: each gives one result of each bench, for
            repeatability and reproducibility.
    """

    channel: str
    unit: str | None = None
    alignment: Alignment = field(default_factory=Alignment)
    from_seconds: float | None = None
    to_seconds: float | None = None
    left_out: Mapping[int, str] = field(default_factory=dict)
    names: Mapping[int, str] = field(default_factory=dict)
    marks: Mapping[int, tuple[str, ...]] = field(default_factory=dict)
    reference: Figure | None = None
    band_edges: Mapping[int, tuple[float, ...]] = field(default_factory=dict)
    band_stays: Mapping[int, tuple[Stay, ...]] = field(default_factory=dict)
    band_names: tuple[str, ...] = ()
    response: ResponseKind = "step"
    response_window: tuple[float, float] | None = None
    settling_band: float = SETTLING_BAND
    ambient: float | None = None
    u_ambient: float = 0.0
    ambients: Mapping[int, tuple[float, float]] = field(default_factory=dict)
    is_robust: bool = False
    parts: int = PARTS

    def __post_init__(self) -> None:
        if self.parts < 2:
            raise ValueError(f"repeatability needs at least two parts, not {self.parts}")
        since, until = self.from_seconds, self.to_seconds
        if since is not None and until is not None and until <= since:
            raise ValueError(f"the comparison ends ({until} s) before it begins ({since} s)")

    @property
    def n_bands(self) -> int:
        """Of the bench that has most."""
        most = max((one.band for stays in self.band_stays.values() for one in stays), default=-1)
        return max(len(self.band_names), most + 1)

    def ambient_at(self, bench: int) -> tuple[float | None, float]:
        """The ambient at a bench, with its standard uncertainty: its own, else the common one."""
        return self.ambients.get(bench, (self.ambient, self.u_ambient))
