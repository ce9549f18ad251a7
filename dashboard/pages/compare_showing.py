"""The compare page's answer to what is chosen: figures and pictures, as soon as they are there."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

import dash
from dash import ALL, Input, Output, State, ctx, no_update

from dashboard.pages.compare_benches import FIELDS, found_words
from dashboard.pages.compare_choices import NUMBERS, PLAIN, asked_from
from dashboard.pages.compare_reading import progress_words
from dashboard.pages.compare_result import failed, result
from dashboard.pages.number_fields import NoNumberError
from dashboard.recordings import CURRENT, Recordings, is_from_here

if TYPE_CHECKING:
    from dashboard.comparer import Comparer, Job, Shown


def register_show(app: dash.Dash, recordings: Recordings, comparer: Callable[[], Comparer]) -> None:
    """The comparison that is chosen: sentences, tables, pictures, and where each bench's event is."""

    @app.callback(
        output={
            "result": Output("compare-result", "children"),
            "busy": Output("compare-result", "data-busy"),
            "status": Output("compare-status", "children"),
            "is_idle": Output("compare-show-again", "disabled"),
            "lanes": Output("compare-lanes", "data-lanes"),
            "found": Output({"compare-found": ALL}, "children"),
        },
        inputs={
            "read": Input("compare-read", "data"),
            "polled": Input("compare-show-again", "n_intervals"),
            "look": Input("compare-look", "data"),
            "ghost": Input("compare-ghost", "value"),
            "figure_name": Input("compare-figure", "value"),
            "plain": {name: Input(f"compare-{name}", "value") for name in PLAIN},
            "numbers": {name: Input(f"compare-{name}", "value") for name in NUMBERS},
            "of_benches": [Input({name: ALL}, "value") for name in FIELDS],
            "name": State("compare-recording", "value"),
            "ids": State({FIELDS[0]: ALL}, "id"),
            "busy": State("compare-result", "data-busy"),
        },
        prevent_initial_call=True,
    )
    def show(**given: Any) -> dict[str, Any]:
        read, name, plain = given["read"], given["name"], given["plain"]
        benches = [one[FIELDS[0]] for one in given["ids"]]
        idle = {
            "result": no_update,
            "busy": "",
            "status": "",
            "is_idle": True,
            "lanes": no_update,
            "found": [no_update] * len(benches),
        }
        from_here = is_from_here()
        path = recordings.found(name, from_here=from_here)
        if read is None or read["name"] != name or not plain["channel"] or path is None:
            return idle
        lesson = recordings.lesson if name == CURRENT else None
        ghost = recordings.found(given["ghost"], from_here=from_here) if given["ghost"] else None
        try:
            asked = asked_from(path, lesson, ghost, plain, given["numbers"], benches, given["of_benches"])
        except NoNumberError as error:
            return idle | {"status": str(error)}
        job = comparer().shown(asked, look=given["look"], figure_name=given["figure_name"])
        is_live = recordings.is_live and name == CURRENT
        if job.failure:
            return idle | {"result": failed(job.failure), "lanes": ""}
        if job.result is None:
            return idle | _meanwhile(
                job, given["busy"], is_live=is_live, is_quiet=read["again"] and _is_of_itself(given["busy"])
            )
        return idle | {
            "result": result(job.result, is_live=is_live),
            "lanes": _lanes(job.result),
            "found": [found_words(job.result, bench) for bench in benches],
        }


def _is_of_itself(busy: str) -> bool:
    """Whether what is computed is the same class a little later, which nobody waits for."""
    return ctx.triggered_id == "compare-read" or busy == "quiet"


def _meanwhile(job: Job[Any], busy: str, *, is_live: bool, is_quiet: bool) -> dict[str, Any]:
    """While it is computed: the first picture as soon as there is one, else how far it has come."""
    if is_quiet:
        return {"busy": "quiet", "is_idle": False}
    told = {"status": progress_words(job), "is_idle": False}
    if job.so_far is None:
        return told | {"busy": "busy"}
    if busy == "first":
        return told | {"busy": "first"}
    return told | {
        "busy": "first",
        "result": result(job.so_far, is_live=is_live),
        "lanes": _lanes(job.so_far),
    }


def _lanes(shown: Shown) -> str:
    from dashboard.comparison_lanes import lanes_text

    return lanes_text(shown.compared.comparison, shown.compared.known.looks)
