"""The compare page's reading of a recording: at once, on request, or by itself; and what it then offers."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any

import dash
from dash import ALL, Input, Output, State, ctx, no_update

from dashboard.pages.compare_benches import FIELDS, SIGN, bench_rows
from dashboard.pages.compare_choices import NONE, units_offered
from dashboard.recordings import CURRENT, Recordings, is_from_here

if TYPE_CHECKING:
    from bridge import KeptSession
    from dashboard.comparer import Comparer, Job

FOLLOWS = {"0": "when I ask for it", "2": "every 2 s", "10": "every 10 s", "60": "every minute"}
"""How often a class that goes on is compared by itself, at most; see also `comparer.REST`."""
FOLLOWS_FIRST = "10"
_GONE = "This recording is not there any more."
_NOTHING_NOW = "Nothing is recorded now. Begin to record on the wall, or choose another recording."


def register_follow(app: dash.Dash) -> None:
    """How often the page looks by itself."""

    @app.callback(
        Output("compare-follow-again", "interval"),
        Output("compare-follow-again", "disabled"),
        Input("compare-follow", "value"),
        prevent_initial_call=True,
    )
    def follow(every: str) -> tuple[Any, bool]:
        return (1000 * int(every), False) if every in FOLLOWS and every != "0" else (no_update, True)


def register_leave_out(app: dash.Dash) -> None:
    """Benches that something is against, left out by one press: what is against them is the reason."""

    @app.callback(
        Output({FIELDS[0]: ALL}, "value"),
        Output({FIELDS[1]: ALL}, "value"),
        Input("compare-leave-out", "n_clicks"),
        State({FIELDS[0]: ALL}, "value"),
        State({FIELDS[1]: ALL}, "value"),
        State({"compare-marks": ALL}, "children"),
        prevent_initial_call=True,
    )
    def leave_out(_: int, counted: list[Any], why: list[Any], marks: list[str]) -> tuple[Any, Any]:
        return (
            [[] if told else one for one, told in zip(counted, marks, strict=True)],
            [one or told.removeprefix(SIGN) for one, told in zip(why, marks, strict=True)],
        )


def register_read(app: dash.Dash, recordings: Recordings, comparer: Callable[[], Comparer]) -> None:
    """The recording that was chosen, and what can be chosen of it."""

    @app.callback(
        Output("compare-channel", "options"),
        Output("compare-channel", "value"),
        Output("compare-unit", "options"),
        Output("compare-unit", "value"),
        Output("compare-other", "options"),
        Output("compare-other", "value"),
        Output("compare-benches", "children"),
        Output("compare-read", "data"),
        Output("compare-reading", "children"),
        Output("compare-read-again", "disabled"),
        Input("compare-recording", "value"),
        Input("compare-again", "n_clicks"),
        Input("compare-follow-again", "n_intervals"),
        Input("compare-read-again", "n_intervals"),
        State("compare-channel", "value"),
        State("compare-unit", "value"),
        State("compare-other", "value"),
        State("compare-read", "data"),
        *(State({name: ALL}, "value") for name in FIELDS),
        State({FIELDS[0]: ALL}, "id"),
    )
    def read(name: str, *given: Any) -> tuple[Any, ...]:
        channel, unit, other, before = given[3:7]
        nothing = (no_update,) * 8
        path = recordings.found(name, from_here=is_from_here())
        if path is None:
            gone = name != CURRENT or not recordings.is_live
            return *nothing, _GONE if gone else _NOTHING_NOW, True
        grows = recordings.is_live and name == CURRENT
        is_asked_for = ctx.triggered_id == "compare-again"
        is_poll = ctx.triggered_id == "compare-read-again"
        if (
            grows
            and not is_poll
            and (is_asked_for or ctx.triggered_id == "compare-follow-again" or not before)
        ):
            job = comparer().read_on(path, by_itself=not is_asked_for)
        else:
            job = comparer().session(path, recordings.lesson if name == CURRENT else None, grows=grows)
        if job.failure:
            return *nothing, job.failure, True
        is_same = bool(before) and before["name"] == name
        if job.result is None:
            quiet = is_same and not is_asked_for
            return *nothing, "" if quiet else progress_words(job), False
        if is_same and before["length_ns"] == job.result.length_ns:
            return *nothing, "", True
        at_benches = _by_bench(given[7:-1], given[-1]) if is_same else {}
        offered, signature = _offered(job.result, channel, unit, other, at_benches)
        if is_same and before["offered"] == signature:  # whoever is typing goes on
            offered = (no_update,) * 7
        version = {"name": name, "length_ns": job.result.length_ns, "offered": signature, "again": is_same}
        return *offered, version, "", True


def _by_bench(columns: Sequence[Sequence[object]], ids: Sequence[dict[str, int]]) -> dict[int, list[object]]:
    """What stands in the controls of each bench."""
    return {one[FIELDS[0]]: list(values) for one, *values in zip(ids, *columns, strict=True)}


def _offered(
    session: KeptSession, channel: str | None, unit: str | None, other: str | None, before: Any
) -> tuple[tuple[Any, ...], str]:
    """What can be chosen of a session, and a text that changes with it; a choice that still can be stays."""
    from dashboard.class_known import channels_of, class_known

    channels = channels_of(session)
    chosen = channel if channel in channels else channels[0]
    known = class_known(session, chosen)
    of_benches = session.table.loc[session.table["channel"] == chosen, ["bench", "unit"]].drop_duplicates()
    units = units_offered(list(of_benches["unit"]))
    offered = (
        list(channels),
        chosen,
        units,
        unit if unit in [one["value"] for one in units] else "",
        [NONE, *({"label": one, "value": one} for one in channels)],
        other if other in channels else "",
        bench_rows(known, before),
    )
    return offered, repr((channels, units, known.names, known.looks, known.marks))


def progress_words(job: Job[Any]) -> str:
    """How far it is: "Reading class.benchrow … 40 %"."""
    return f"{job.words[:1].upper()}{job.words[1:]} … {job.share:.0%}"
