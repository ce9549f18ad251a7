"""What can be chosen on the compare page, and the comparison that the choices ask for."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from dash import dcc, html
from dash.development.base_component import Component

from dashboard.pages import compare_benches as at_benches
from dashboard.pages.number_fields import entry, group, labelled, number_of, pair

if TYPE_CHECKING:
    from dashboard.comparer import Asked

_ALIGNMENTS = {
    "instant": "the same instant",
    "onset": "the onset at each bench",
    "release": "the release",
    "peak": "the peak",
}
_RESPONSES = {"step": "to a step", "towards ambient": "towards ambient", "none": "no fit"}
_BETWEEN = {"linear": "a straight line", "previous": "the previous reading holds"}
_FIGURES = (
    "level in common",
    "level",
    "bias",
    "bias to reference",
    "noise",
    "resolution",
    "drift",
    "time constant",
    "rise time",
    "settling time",
    "overshoot",
    "onset",
    "ambient",
)
NUMBERS = {
    "from": "Window from",
    "to": "Window to",
    "reference": "Reference",
    "u_reference": "Uncertainty of the reference",
    "ambient": "Ambient",
    "u_ambient": "Uncertainty of the ambient",
}
PLAIN = ("channel", "unit", "other", "kind", "between", "response", "robust")
"""Names of the further choices, beside numbers and benches."""
NONE = {"label": "none", "value": ""}


def choices_form(offered: list[dict[str, str]]) -> Component:
    """The form; what depends on the recording comes once it is read."""
    return html.Form(
        className="panel compare-choices",
        children=[
            labelled("Recording", _dropdown("recording", offered, offered[0]["value"])),
            labelled("Laid over as a ghost", _dropdown("ghost", [NONE, *offered], "")),
            labelled("Channel", _dropdown("channel", [], None)),
            labelled("Unit", _dropdown("unit", [], "")),
            group("Compared since", _radios("kind", _ALIGNMENTS)),
            group(
                "Window in that time, s",
                pair(
                    labelled("from", entry("compare-from")),
                    labelled("to", entry("compare-to")),
                ),
            ),
            group("Between two readings", _radios("between", _BETWEEN)),
            group("Response", _radios("response", _RESPONSES)),
            group(
                "Ambient, where it is known; each bench may have its own below",
                _with_uncertainty("ambient"),
                name="compare-towards",
            ),
            group("Reference for the level", _with_uncertainty("reference")),
            group(
                "How far a bench lies from the class",
                dcc.Checklist(
                    id="compare-robust",
                    options={"robust": "also by a score that a few wrong values do not move (robust)"},
                    value=[],
                    className="compare-radios",
                ),
            ),
            labelled("Figure shown as dots", _dropdown("figure", list(_FIGURES), _FIGURES[0])),
            labelled("Another channel, upright", _dropdown("other", [NONE], "")),
            html.Fieldset(
                className="compare-benches",
                children=[
                    html.Legend("Benches that count"),
                    html.Div(id="compare-benches"),
                    html.Button("Leave out all with ⚠", id="compare-leave-out", type="button"),
                ],
            ),
        ],
    )


def _dropdown(name: str, options: Sequence[Any], value: Any) -> Component:
    return dcc.Dropdown(id=f"compare-{name}", options=options, value=value, clearable=False, searchable=False)


def _radios(name: str, options: Mapping[str, str]) -> Component:
    return dcc.RadioItems(
        id=f"compare-{name}", options=options, value=next(iter(options)), className="compare-radios"
    )


def _with_uncertainty(name: str) -> Component:
    return pair(
        labelled("value", entry(f"compare-{name}")),
        labelled("standard uncertainty", entry(f"compare-u_{name}")),
    )


def units_offered(found: Sequence[str]) -> list[dict[str, str]]:
    """The units that a channel may be shown in: those that benches print, and everyday ones of their kind."""
    from dashboard.comparing.units import kin_of

    most = max(found, key=found.count, default="")
    rest = [one for one in dict.fromkeys((*found, *kin_of(most))) if one]
    as_it_is = {"label": f"as most benches have it{f': {most}' if most else ''}", "value": ""}
    return [as_it_is, *({"label": one, "value": one} for one in rest)]


def asked_from(
    path: Path,
    lesson: Path | None,
    ghost: Path | None,
    plain: Mapping[str, Any],
    numbers: Mapping[str, object],
    benches: Sequence[int],
    of_benches: Sequence[Sequence[object]],
) -> Asked:
    """The comparison that the page's controls ask for.

    Args:
        path: The recording.
        lesson: Takes the place of its own.
        ghost: Another recording to lay over it.
        plain: By the names in `PLAIN`.
        numbers: Texts by the names in `NUMBERS`.
        benches: Their numbers.
        of_benches: Each control's values of all benches, in the order of `compare_benches.FIELDS`.

    Raises:
        NoNumberError: A number can't be read.
    """
    from dashboard.comparer import Asked

    given = {name: number_of(text, NUMBERS[name]) for name, text in numbers.items()}
    counted, why, set_at, ambient_at, u_ambient_at = of_benches
    is_instant, is_ambient = plain["kind"] == "instant", plain["response"] == "towards ambient"
    u_ambient = abs(given["u_ambient"] or 0.0)
    by_hand = at_benches.events(benches, set_at)
    own = at_benches.ambients(benches, ambient_at, u_ambient_at, u_common=u_ambient)
    return Asked(
        path=path,
        lesson=lesson,
        ghost=ghost,
        channel=plain["channel"],
        other_channel=plain["other"] or None,
        unit=plain["unit"] or None,
        kind=plain["kind"],
        interpolation=plain["between"],
        by_hand=() if is_instant else by_hand,
        from_seconds=given["from"],
        to_seconds=given["to"],
        left_out=at_benches.left_out(benches, counted, why),
        reference=given["reference"],
        u_reference=abs(given["u_reference"] or 0.0),
        response=plain["response"],
        ambient=given["ambient"] if is_ambient else None,
        u_ambient=u_ambient if is_ambient else 0.0,
        ambients=own if is_ambient else (),
        is_robust=bool(plain["robust"]),
    )
