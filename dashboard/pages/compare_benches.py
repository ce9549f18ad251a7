"""The benches on the compare page: whether each counts, why not, its event, its ambient."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any
from urllib.parse import quote

from dash import dcc, html
from dash.development.base_component import Component

from dashboard.pages.number_fields import entry, labelled, number_of

if TYPE_CHECKING:
    from dashboard.class_known import BenchMark, ClassKnown
    from dashboard.comparer import Shown

EMPTY: tuple[str, ...] = ()
SIGN = "⚠ "
FIELDS = ("compare-in", "compare-why", "compare-event", "compare-ambient-at", "compare-u-ambient-at")
"""The controls of each bench, in this order; their elements have the bench's number behind these names."""


def bench_rows(known: ClassKnown, before: Mapping[int, Sequence[object]]) -> list[Component]:
    """A row for each bench.

    Args:
        known: The class.
        before: By bench, what stood in its controls: it stays.
    """
    return [
        _row(bench, name, known.looks[bench], known.marks.get(bench, EMPTY), before.get(bench, ()))
        for bench, name in known.names.items()
    ]


def _row(bench: int, name: str, look: BenchMark, marks: Sequence[str], before: Sequence[object]) -> Component:
    counts, why, event, ambient, u_ambient = before or (["in"], "", "", "", "")
    label = html.Span([mark_image(look), f" {name}"], className="compare-name")
    fields = [
        _field("event", f"Event of {name}", FIELDS[2], bench, event, "event, s"),
        _field("why", f"Reason to leave {name} out", FIELDS[1], bench, why, ""),
        _field("ambient", f"Ambient at {name}", FIELDS[3], bench, ambient, "as for all"),
        _field("ambient", f"Uncertainty of the ambient at {name}", FIELDS[4], bench, u_ambient, "as for all"),
    ]
    in_or_out: Any = counts
    return html.Div(
        className="compare-bench",
        children=[
            dcc.Checklist(id={FIELDS[0]: bench}, options=[{"label": label, "value": "in"}], value=in_or_out),
            *fields,
            html.Span(id={"compare-found": bench}, className="compare-found"),
            html.Span(
                f"{SIGN}{'; '.join(marks)}" if marks else "",
                id={"compare-marks": bench},
                className="compare-marks",
            ),
        ],
    )


def _field(role: str, label: str, name: str, bench: int, value: object, placeholder: str) -> Component:
    control = entry({name: bench}, placeholder=placeholder, value=value)
    is_plain = role == "event"  # what it is stands below it in words
    return html.Div(labelled(label, control, seen=not is_plain), className=f"compare-at-{role}")


def left_out(
    benches: Sequence[int], counted: Sequence[object], why: Sequence[object]
) -> tuple[tuple[int, str], ...]:
    """Benches that do not count, each with the reason that was written."""
    return tuple(
        (bench, " ".join(str(words or "").split()))
        for bench, counts, words in zip(benches, counted, why, strict=True)
        if not counts
    )


def events(benches: Sequence[int], texts: Sequence[object]) -> tuple[tuple[int, float], ...]:
    """Benches whose event a person set, in session time.

    Raises:
        NoNumberError: One can't be read.
    """
    found = [
        (bench, number_of(text, f"Event of bench {bench}"))
        for bench, text in zip(benches, texts, strict=True)
    ]
    return tuple((bench, at) for bench, at in found if at is not None)


def ambients(
    benches: Sequence[int], texts: Sequence[object], u_texts: Sequence[object], *, u_common: float
) -> tuple[tuple[int, float, float], ...]:
    """Benches with an ambient of their own; without an uncertainty of its own it has the common one.

    Raises:
        NoNumberError: One can't be read.
    """
    found = []
    for bench, text, u_text in zip(benches, texts, u_texts, strict=True):
        value = number_of(text, f"Ambient at bench {bench}")
        u = number_of(u_text, f"Uncertainty of the ambient at bench {bench}")
        if value is not None:
            found.append((bench, value, u_common if u is None else abs(u)))
    return tuple(found)


def found_words(shown: Shown, bench: int) -> str:
    """Where the bench's event is, and who set it there."""
    event = shown.compared.comparison.events.get(bench)
    if event is None:
        return ""
    if event.seconds is None:
        return f"no {event.kind} found: {event.words}"
    by = "set by hand" if event.by == "hand" else "found"
    return f"{event.kind} at {event.seconds:.2f} s, {by}"


def mark_image(look: BenchMark, alt: str = "") -> Component:
    """A bench's mark as an image; its outline goes by the colour scheme."""
    from dashboard.marks import OUTLINES, hex_of

    path = OUTLINES.get(look.shape, OUTLINES["circle"])
    text = (
        '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 24 24">'
        "<style>path{stroke:black}@media(prefers-color-scheme:dark){path{stroke:white}}</style>"
        f'<path d="{path}" fill="{hex_of(look.colour)}" fill-rule="evenodd" stroke-width="1.6"/>'
        "</svg>"
    )
    return html.Img(src=f"data:image/svg+xml,{quote(text)}", className="compare-mark", alt=alt)
