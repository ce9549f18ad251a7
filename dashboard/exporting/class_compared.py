"""The comparison of the class that reports and pictures show: all benches at the same instant."""

from __future__ import annotations

from dataclasses import replace

from dashboard.class_known import class_known
from dashboard.comparing import Choices, comparison_of
from dashboard.exporting.session import Session


def with_comparison(session: Session) -> Session:
    """The session with its benches compared in the first channel; as it was where nothing is to compare.

    What was found wrong with a bench is a mark at its figures; nobody is left out.
    """
    channel = session.first_channel
    if channel is None:
        return session
    known = class_known(session.kept, channel) if session.kept is not None else None
    choices = Choices(
        channel=channel,
        names={bench: session.group(bench).name for bench in session.benches},
        marks=known.marks if known is not None else {},
        band_edges=known.band_edges if known is not None else {},
        response="none",  # whether there is a step is for the instructor to say, to 'benchrow compare'
    )
    try:
        return replace(session, comparison=comparison_of(session.readings, choices))
    except ValueError:  # one bench has the channel in two units: its curves are still shown
        return session
