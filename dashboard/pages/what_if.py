"""The page that shows what would have been with another setting: how its parts follow each other."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

import dash
from dash import ALL, Input, Output, State, ctx, html, no_update

from bridge import BenchrowError
from dashboard.pages.what_if_form import SAYS, SET, Filled, form_of
from dashboard.pages.what_if_layout import OWN, layout
from dashboard.recordings import CURRENT, Recordings, is_from_here

if TYPE_CHECKING:  # what computes takes a second to import: the wall need not wait for it
    from dashboard.what_if import Group, Source
    from dashboard.what_if.worker import Job, Worker

__all__ = ["layout", "register"]

_OTHER = "What is shown is of the changes before. Show both again."


def register(app: dash.Dash, recordings: Recordings) -> None:
    """Add the page's callbacks to the app."""
    _choose(app, recordings)
    _fill(app, recordings)
    _compute(app, recordings, _Lazy())


class _Lazy:
    """The worker, made when the first result is asked for."""

    def __init__(self) -> None:
        self._made: Worker | None = None

    def worker(self) -> Worker:
        """The one of this page server."""
        if self._made is None:
            from dashboard.what_if.worker import Worker

            self._made = Worker()
        return self._made


def kept_lessons(recordings: Recordings, name: str) -> list[Path]:
    """The revisions that were kept for a recording, for who may see the folder."""
    from bridge import kept_revisions

    path = recordings.found(name, from_here=is_from_here())
    if path is None or recordings.data_dir is None or not is_from_here():
        return []
    return kept_revisions(recordings.data_dir, path)


def _source(recordings: Recordings, name: str, base: str) -> tuple[Source, tuple[Group, ...]]:
    """What is changed, and what may be changed of it.

    Raises:
        BenchrowError: It can't be read.
    """
    from dashboard.what_if import Source, settings_of

    path = recordings.found(name, from_here=is_from_here())
    if path is None:
        raise BenchrowError("this recording is not there any more", remedy="Choose another one")
    kept = next((one for one in kept_lessons(recordings, name) if one.name == base), None)
    source = Source.of(path, kept or (recordings.lesson if name == CURRENT else None))
    return source, settings_of(source.text)


def _choose(app: dash.Dash, recordings: Recordings) -> None:
    """The recording and the lesson that a change starts from."""

    @app.callback(
        Output("what-if-base", "options"),
        Output("what-if-base", "value"),
        Input("what-if-recording", "value"),
        Input("what-if-kept", "data"),
        State("what-if-base", "value"),
    )
    def bases(name: str, _: object, base: str) -> tuple[Any, Any]:
        own = "the recording's own lesson"
        if name == CURRENT and recordings.lesson is not None:
            own = f"the lesson of this replay, {recordings.lesson.name}"
        kept = kept_lessons(recordings, name)
        options = [{"label": own, "value": OWN}, *({"label": one.stem, "value": one.name} for one in kept)]
        # The same value once more would set the form up anew, without what was typed.
        return options, no_update if base in {one["value"] for one in options} else OWN

    @app.callback(
        Output("what-if-form", "children"),
        Output("what-if-source", "children"),
        Input("what-if-recording", "value"),
        Input("what-if-base", "value"),
        Input("what-if-undo", "n_clicks"),
    )
    def form(name: str, base: str, _: object) -> tuple[Any, Any]:
        from dashboard.what_if.words import source_sentences

        try:
            source, groups = _source(recordings, name, base)
        except BenchrowError as error:
            return [], str(error)
        if not groups:
            return [], "This recording has no lesson with a conversion, a band or a limit to change."
        return form_of(groups), " ".join(source_sentences(source, ()))


def _fill(app: dash.Dash, recordings: Recordings) -> None:
    """What is typed: told beside each field, and together."""

    @app.callback(
        Output({SAYS: ALL}, "children"),
        Output({SAYS: ALL}, "className"),
        Output("what-if-changes", "children"),
        Output("what-if-nothing", "hidden"),
        Output("what-if-undo", "hidden"),
        Output("what-if-show", "disabled"),
        Output("what-if-keep", "hidden"),
        Output("what-if-keep-here", "hidden"),
        Output("what-if-keep-button", "data-changes"),
        Input({SET: ALL}, "value"),
        State("what-if-recording", "value"),
        State("what-if-base", "value"),
    )
    def fill(typed: list[object], name: str, base: str) -> tuple[Any, ...]:
        quiet: list[str] = [""] * len(typed)
        try:
            source, groups = _source(recordings, name, base)
            filled = Filled(source.text, groups, typed)
        except (BenchrowError, ValueError):  # another lesson than the one whose fields these are
            return quiet, quiet, [], False, True, True, True, True, "[]"
        ready = bool(filled.changes) and filled.is_good
        is_shown_here = name == CURRENT and base == OWN and not recordings.is_live
        return (
            *filled.said(),
            filled.summary(),
            bool(filled.changes),
            not filled.changes and not filled.wrong,
            not ready,
            not ready,
            not (ready and is_shown_here),
            json.dumps([one.as_sent for one in filled.changes] if ready else []),
        )

    @app.callback(
        Output("what-if-file", "data"),
        Input("what-if-save", "n_clicks"),
        State({SET: ALL}, "value"),
        State("what-if-recording", "value"),
        State("what-if-base", "value"),
        prevent_initial_call=True,
    )
    def save(_: object, typed: list[object], name: str, base: str) -> Any:
        try:
            source, groups = _source(recordings, name, base)
            filled = Filled(source.text, groups, typed)
        except (BenchrowError, ValueError):
            return no_update
        file = {"content": filled.text, "filename": f"{source.path.stem}, changed.toml", "type": "text/plain"}
        return file if filled.is_good else no_update


def _compute(app: dash.Dash, recordings: Recordings, lazy: _Lazy) -> None:
    """Both results: begun, followed, stopped, shown."""

    @app.callback(
        Output("what-if-job", "data"),
        Output("what-if-done", "data"),
        Output("what-if-status", "children"),
        Output("what-if-progress", "value"),
        Output("what-if-progress", "hidden"),
        Output("what-if-stop", "hidden"),
        Output("what-if-again", "disabled"),
        Output("what-if-result", "data-busy"),
        Input("what-if-show", "n_clicks"),
        Input("what-if-stop", "n_clicks"),
        Input("what-if-again", "n_intervals"),
        State("what-if-job", "data"),
        State({SET: ALL}, "value"),
        State("what-if-recording", "value"),
        State("what-if-base", "value"),
        State("what-if-done", "data"),
        prevent_initial_call=True,
    )
    def run(*given: Any) -> tuple[Any, ...]:
        job_name, typed, name, base, done = given[3:]
        worker = lazy.worker()
        if ctx.triggered_id == "what-if-show":
            try:
                source, groups = _source(recordings, name, base)
                filled = Filled(source.text, groups, typed)
            except (BenchrowError, ValueError) as error:
                return no_update, no_update, str(error), "0", True, True, True, ""
            if not filled.changes or not filled.is_good:
                return no_update, no_update, "Change something first.", "0", True, True, True, ""
            if (before := worker.job(job_name)) is not None:
                before.stop()
            job_name = worker.begin(source, filled.changes)
        job = worker.job(job_name)
        if job is None:
            return no_update, no_update, "This was too long ago. Show both again.", "0", True, True, True, ""
        if ctx.triggered_id == "what-if-stop":
            job.stop()
        return job_name, *_progress(job, job_name, is_one_shown=done is not None)

    @app.callback(
        Output("what-if-status", "children", allow_duplicate=True),
        Input("what-if-changes", "children"),
        State({SET: ALL}, "value"),
        State("what-if-recording", "value"),
        State("what-if-base", "value"),
        State("what-if-again", "disabled"),
        State("what-if-done", "data"),
        prevent_initial_call=True,
    )
    def is_other(
        _: object, typed: list[object], name: str, base: str, is_idle: bool, done: str | None
    ) -> Any:
        """A result that stands there, beside other changes than those that it is of."""
        job = lazy.worker().job(done) if is_idle and done is not None else None
        if job is None or job.found is None:
            return no_update
        try:
            source, groups = _source(recordings, name, base)
            asked = source.path, source.lesson, Filled(source.text, groups, typed).changes
        except (BenchrowError, ValueError):
            return _OTHER
        both = job.found.both
        return "" if asked == (both.source.path, both.source.lesson, both.changes) else _OTHER

    @app.callback(
        Output("what-if-answer", "children"),
        Output("what-if-channel", "options"),
        Output("what-if-channel", "value"),
        Output("what-if-benches", "options"),
        Output("what-if-benches", "value"),
        Output("what-if-view-form", "hidden"),
        Input("what-if-done", "data"),
        prevent_initial_call=True,
    )
    def told(done: str | None) -> tuple[Any, ...]:
        from dashboard.pages.what_if_result import answer, bench_options, first_channel
        from dashboard.what_if import told_of

        job = lazy.worker().job(done)
        if job is None or job.found is None:
            return [], [], None, [], [], True
        said = told_of(job.found.both, job.found.difference)
        options = bench_options(job.found, said)
        return answer(job.found, said), list(job.found.channels), first_channel(job.found), *options, False

    @app.callback(
        Output("what-if-pictures", "children"),
        Output("what-if-table", "children"),
        Input("what-if-channel", "value"),
        Input("what-if-benches", "value"),
        Input("what-if-view", "value"),
        Input("what-if-look", "data"),
        State("what-if-done", "data"),
        prevent_initial_call=True,
    )
    def draw(
        channel: str | None, benches: list[int] | None, view: str, look: str, done: str
    ) -> tuple[Any, Any]:
        from dashboard.pages.what_if_result import pictures, table
        from dashboard.what_if import told_of

        job = lazy.worker().job(done)
        if job is None and done is not None:
            return html.P("This result is not kept any more. Show both again.", className="panel"), []
        if job is None or job.found is None or channel is None:
            return [], []
        shown = sorted(benches or [])
        said = told_of(job.found.both, job.found.difference)
        return pictures(job.found, channel, shown, view, look), table(job.found, said, shown)


def _progress(job: Job, name: str, *, is_one_shown: bool) -> tuple[Any, ...]:
    """What is shown of a job: done, status, progress, whether bar, stop and asking again are off, busy."""
    if not job.is_done:
        words = "Stopping …" if job.is_stopped else job.words
        return no_update, words, f"{job.share:.3f}", False, job.is_stopped, False, "busy"
    if job.failure:
        return no_update, job.failure, "0", True, True, True, ""
    if job.found is None:
        words = f"Stopped. {_OTHER if is_one_shown else ''}".rstrip()
        return no_update, words, "0", True, True, True, ""
    return name, f"Computed in {job.seconds:.1f} s.", "1", True, True, True, ""
