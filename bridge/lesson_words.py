"""Words about what was found in a lesson file and what was probably meant."""

from __future__ import annotations

import difflib
import math
from collections.abc import Iterable, Mapping
from datetime import datetime

from bridge.lesson_syntax import TOLD, printable

_ESCAPED = {"\\": "\\\\", '"': '\\"'}


def nearest(word: str, among: Iterable[str]) -> str | None:
    """The word that was probably meant, None when none is near."""
    by_fold = {one.casefold(): one for one in among}
    # Cut: comparing takes the product of the lengths, and a key may be as long as the file.
    close = difflib.get_close_matches(word.casefold()[:60], by_fold, n=1, cutoff=0.6)
    return by_fold[close[0]] if close else None


def as_toml(value: object) -> str:
    """A value as it would stand in the file, cut short when long."""
    match value:
        case bool():
            words = "true" if value else "false"
        case str():
            words = f'"{printable(value[:80], also=_ESCAPED)}"'
        case int() if value.bit_length() > 128:
            words = "a very large whole number"
        case list() | tuple():
            # Lists inside are not opened: they may be hundreds deep.
            entries = ["[…]" if isinstance(one, list | tuple) else as_toml(one) for one in value[:6]]
            words = "[" + ", ".join(entries) + (", …]" if len(value) > 6 else "]")
        case dict():
            words = "a table"
        case _:
            words = str(value)
    return words if len(words) <= 60 else words[:56] + "…" + words[-3:]


def called_by(kind: str, values: Mapping[str, object], place: int) -> str:
    """How a person finds a table again: by its name or number, else by its place."""
    name = values.get("number" if kind == "bench" else "kind" if kind.endswith("limit") else "name")
    if kind == "bench" and isinstance(name, int) and not isinstance(name, bool):
        return f"bench {as_toml(name)}"
    if isinstance(name, str) and name.strip() and TOLD not in name:
        return f"{kind} {as_toml(name)}"
    return f"{kind} number {place + 1} in the file"


def kind_words(value: object) -> str:
    """What a value is, where its own look does not say it."""
    return "the text " if isinstance(value, str) else ""


def number_in_text(key: str, value: str) -> str | None:
    """The number that stands in a text, as a line to write."""
    try:
        number = float(value.strip().replace(",", "."))
    except ValueError:
        return None
    return f"{key} = {number:g}" if math.isfinite(number) else None


def is_iso_date(words: str) -> bool:
    """Whether a text is a date as ISO 8601 writes it, with or without a time."""
    try:
        datetime.fromisoformat(words)
    except ValueError:
        return False
    return True


def looks_like(key: str, value: float) -> str:
    """What a value out of range was probably meant to be, "" when nothing comes to mind."""
    if key == "reference_volts" and 100 <= value <= 24_000:
        return f"; that looks like millivolts, {value:g} mV are {value / 1000:g} V"
    return ""
