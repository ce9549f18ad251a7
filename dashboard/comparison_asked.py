"""One comparison as it is asked for, and what comes out: figures, the ghost, the other channel."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path

import pandas as pd

from bridge import KeptSession, utc_ns_of
from dashboard.class_known import ClassKnown, channels_of, class_known
from dashboard.comparing import Alignment, Choices, Comparison, Figure, comparison_of
from dashboard.comparing.alignment import AlignmentKind, Interpolation
from dashboard.comparing.choices import ResponseKind
from dashboard.comparing.units import rescaling


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What to compare, and how; numbers are in the unit of the comparison."""

    path: Path
    lesson: Path | None = None
    ghost: Path | None = None
    channel: str
    other_channel: str | None = None  # for one channel over another
    unit: str | None = None  # None: the one that most benches have
    kind: AlignmentKind = "instant"
    interpolation: Interpolation = "linear"
    by_hand: tuple[tuple[int, float], ...] = ()  # bench and its event, in session time
    from_seconds: float | None = None
    to_seconds: float | None = None
    left_out: tuple[tuple[int, str], ...] = ()  # bench and the reason, "" without one
    reference: float | None = None
    u_reference: float = 0.0
    response: ResponseKind = "step"
    ambient: float | None = None
    u_ambient: float = 0.0
    ambients: tuple[tuple[int, float, float], ...] = ()  # bench, its own ambient, standard uncertainty
    is_robust: bool = False


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Compared:
    """What came out."""

    title: str
    known: ClassKnown
    comparison: Comparison
    ghost: Comparison | None
    other: Comparison | None
    ghost_words: str  # why there is none although one was asked for
    length_seconds: float  # of the session, as far as it was read


def compared(
    session: KeptSession,
    asked: Asked,
    *,
    shadow: KeptSession | None = None,
    told: Callable[[float], None] = lambda _: None,
) -> Compared:
    """Compare the benches of a session.

    Args:
        session: Of `asked.path`.
        asked: What and how.
        shadow: Of `asked.ghost`: compared the same way, its events as they are found.
        told: Hears how far it has come.

    Raises:
        ValueError: A choice can't be met.
    """
    window = (asked.from_seconds, asked.to_seconds) if asked.kind == "instant" else (None, None)
    known = class_known(session, asked.channel, window)
    comparison = comparison_in(session, choices_of(asked, known, asked.channel))
    told(0.4)
    other = None
    if asked.other_channel is not None and asked.other_channel != asked.channel:
        # In the same time: events are looked for in the first channel and given to the second.
        events = {b: e.seconds for b, e in comparison.events.items() if e.seconds is not None}
        other = comparison_in(session, _choices_of_other(asked, known, events))
    told(0.7)
    ghost, ghost_words = None, ""
    if shadow is not None:
        if asked.channel in channels_of(shadow):
            beside = class_known(shadow, asked.channel)
            ghost = comparison_in(shadow, choices_of(asked, beside, asked.channel, by_hand={}))
        else:
            ghost_words = f"the other recording has no channel {asked.channel!r}"
    return Compared(
        title=session.title,
        known=known,
        comparison=comparison,
        ghost=ghost,
        other=other,
        ghost_words=ghost_words,
        length_seconds=session.length_ns / 1e9,
    )


def comparison_in(session: KeptSession, choices: Choices) -> Comparison:
    """Compare the benches of a session, in session time: that of findings, phases, markers and alarms.

    Raises:
        ValueError: Nobody has the channel, or a choice can't be met.
    """
    started = pd.Timestamp(utc_ns_of(0, session.anchors), unit="ns", tz="UTC")
    return comparison_of(session.table, choices, seconds=session.seconds, started=started)


def choices_of(
    asked: Asked, known: ClassKnown, channel: str, by_hand: Mapping[int, float] | None = None
) -> Choices:
    """With what the session knows of its benches.

    Raises:
        ValueError: The choices contradict each other, or the unit can't be reached.
    """
    reference = None
    if asked.reference is not None:
        reference = Figure(name="reference", unit="", value=asked.reference, u=asked.u_reference)
    return Choices(
        channel=channel,
        unit=asked.unit,
        alignment=Alignment(
            kind=asked.kind,
            by_hand=dict(asked.by_hand) if by_hand is None else by_hand,
            interpolation=asked.interpolation,
        ),
        from_seconds=asked.from_seconds,
        to_seconds=asked.to_seconds,
        left_out=dict(asked.left_out),
        names=known.names,
        marks=known.marks,
        reference=reference,
        band_edges=_edges_in(known, asked.unit),
        band_stays=known.band_stays,
        band_names=known.band_names,
        response=asked.response,
        ambient=asked.ambient,
        u_ambient=asked.u_ambient,
        ambients={bench: (value, u) for bench, value, u in asked.ambients},
        is_robust=asked.is_robust,
    )


def _choices_of_other(asked: Asked, known: ClassKnown, by_hand: Mapping[int, float]) -> Choices:
    """For the upright channel: it has a unit of its own, in which what was given means nothing."""
    return Choices(
        channel=asked.other_channel or "",
        alignment=Alignment(kind=asked.kind, by_hand=by_hand, interpolation=asked.interpolation),
        from_seconds=asked.from_seconds,
        to_seconds=asked.to_seconds,
        left_out=dict(asked.left_out),
        names=known.names,
        marks=known.marks,
        response="none",
    )


def _edges_in(known: ClassKnown, unit: str | None) -> Mapping[int, tuple[float, ...]]:
    """Band edges in the unit of the comparison: the lesson gives them in the channel's own."""
    if unit is None or unit == known.unit or not known.band_edges:
        return known.band_edges
    factor, offset = rescaling(known.unit, unit)
    return {
        bench: tuple(sorted(factor * edge + offset for edge in edges))
        for bench, edges in known.band_edges.items()
    }
