"""Fields that take a number as people write it: with comma or point, a time also as min:s."""

from __future__ import annotations

import re
from typing import Any

from dash import dcc, html
from dash.development.base_component import Component


class NoNumberError(Exception):
    """What stands in a field can't be read; the words say what to write."""


def number_of(text: object, what: str) -> float | None:
    """The number in a field, with decimal point or comma, times also as min:s; None for an empty one."""
    words = str(text or "").strip().replace("−", "-").replace(",", ".")
    if not words:
        return None
    if not re.fullmatch(r"[+-]?(\d+:)?\d*\.?\d+", words, re.ASCII):
        raise NoNumberError(f"{what}: “{text}” is no number. Write for example 20.5, a time also as 1:30.")
    minutes, sign, seconds = words.lstrip("+-").rpartition(":")
    size = float(seconds) + (60 * int(minutes) if sign else 0)
    return -size if words.startswith("-") else size


def entry(name: Any, *, placeholder: str = "", value: Any = None) -> Component:
    """A field for a number.

    Text, not "number": that one takes no decimal comma and no min:s, and its steppers take the room.
    """
    return dcc.Input(
        id=name,
        type="text",
        debounce=True,
        className="entry",
        autoComplete="off",
        placeholder=placeholder,
        **({} if value is None else {"value": value}),
    )


def labelled(label: str, control: Component, *, seen: bool = True) -> Component:
    """A control with its label above, or with one for those who do not see the place."""
    return html.Label(
        [html.Span(label, className="" if seen else "out-of-sight"), control], className="compare-field"
    )


def group(label: str, *controls: Component, name: str = "") -> Component:
    """Controls that belong together, with the words for all."""
    return html.Fieldset([html.Legend(label), *controls], className=f"compare-group {name}".strip())


def pair(*controls: Component) -> Component:
    """Two fields beside each other."""
    return html.Div(controls, className="compare-pair")
