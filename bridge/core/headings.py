"""Names of fields: from a heading over columns, or from the label beside a number."""

from __future__ import annotations

import re
from collections.abc import Sequence

from .columns_seen import SEPARATORS
from .lesson import FieldSpec
from .units import canonical_unit, is_unit

_GREETING_WORDS = frozenset(
    ("ready", "start", "started", "starting", "hello", "hi", "boot", "booting", "init", "ok", "done", "begin")
)
# Words around a name that say nothing: "The temperature is", "and humidity =".
_FILLERS_AHEAD = frozenset(("the", "and", "a", "my", "current", "die", "der", "das", "und", "la", "le", "et"))
_FILLERS_BEHIND = frozenset(("is", "was", "at", "of", "ist", "beträgt", "est", "es"))
# A sentence over one column is a greeting, one word (with its unit) a heading.
_one_word = re.compile(r"[\w°%/()\[\].-]+(?:\s*[(\[].+[)\]])?").fullmatch
_unit_behind_name = re.compile(r"(.*?)\s*(?:\((.+)\)|\[(.+)\]|/\s*(\S+))").fullmatch
_is_no_heading = re.compile(r"\b0[xX][0-9a-fA-F]|\bv(?:er\w*)?\.? ?[0-9]|[a-z]:[0-9]", re.IGNORECASE).search
_has_letter = re.compile(r"[^\W\d_]").search


def heading_cells(text: str, separator: str, n: int) -> list[str]:
    """The names of n columns, when the text is a heading of so many; else none."""
    if _is_no_heading(text):
        return []
    others = [one for one in SEPARATORS if one != " "]  # words with blanks between may be anything
    for one in dict.fromkeys((separator, *others)):
        cells = [cell.strip(" \t\"'#") for cell in (text.split() if one == " " else text.split(one))]
        cells = cells[1:] if one == " " and len(cells) == n + 1 and not cells[0] else cells
        if len(cells) == n + 1 and not cells[-1]:
            del cells[-1]
        if len(cells) == n and all(map(_has_letter, cells)):
            is_name = n > 1 or _one_word(cells[0])
            is_greeting = cells[-1].casefold().strip(".!") in _GREETING_WORDS or text.rstrip().endswith(
                ("!", ".")
            )
            return cells if is_name and not is_greeting else []
    return []


def column_fields(headings: Sequence[str], separator: str, units: Sequence[str]) -> tuple[FieldSpec, ...]:
    """The fields of columns: named by the newest heading that fits, else counted from the left."""
    n = len(units)
    for heading in reversed(headings):
        names = heading_cells(heading, separator, n)
        if names:
            pairs = zip(map(name_and_unit, names), units, strict=True)
            return _with_names_of_their_own(
                [FieldSpec(name=name, unit=unit or own) for (name, own), unit in pairs]
            )
    if n == 1:
        return (FieldSpec(name="value", unit=units[0]),)
    return tuple(FieldSpec(name=f"column {i}", unit=unit) for i, unit in enumerate(units, start=1))


def labelled_fields(
    labels: Sequence[str], units: Sequence[str], *, is_behind: bool = False
) -> tuple[FieldSpec, ...]:
    """The fields of labelled numbers; numbers before the first label are counted."""
    n_bare = sum(not label for label in labels)
    fields: list[FieldSpec] = []
    for i, (label, unit) in enumerate(zip(labels, units, strict=True), start=1):
        if label:
            fields.append(_labelled(label, unit, is_behind=is_behind))
        else:
            fields.append(FieldSpec(name=f"number {i}" if n_bare > 1 else "number", label="", unit=unit))
    return _with_names_of_their_own(fields)


def name_and_unit(text: str) -> tuple[str, str]:
    """`temp (°C)`, `temp [C]` and `temp/°C` name a unit behind the name."""
    found = _unit_behind_name(text)
    if found and found[1]:
        unit = found[2] or found[3] or found[4]
        if is_unit(unit):
            return found[1], canonical_unit(unit)
    return text, ""


def _labelled(label: str, unit: str, *, is_behind: bool) -> FieldSpec:
    name, own = name_and_unit(label)
    # "2.50 V 45 %": the label is all there is. Before a number, "A:" or "min:" is a name, "volts:" is both.
    says_unit = is_unit(label) and label != "min" and (is_behind or len(label) > 2 or label == "%")
    unit = unit or own or (canonical_unit(label) if says_unit else "")
    return FieldSpec(name=_without_fillers(name), label=label, unit=unit)


def _without_fillers(name: str) -> str:
    words = name.split()
    while len(words) > 1 and words[0].casefold() in _FILLERS_AHEAD:
        del words[0]
    while len(words) > 1 and words[-1].casefold() in _FILLERS_BEHIND:
        del words[-1]
    return " ".join(words)


def _with_names_of_their_own(fields: Sequence[FieldSpec]) -> tuple[FieldSpec, ...]:
    """No two fields of one name: the second `temp` becomes `temp 2`."""
    taken: set[str] = set()
    named: list[FieldSpec] = []
    for field in fields:
        name, i = field.name, 2
        while name in taken:
            name, i = f"{field.name} {i}", i + 1
        taken.add(name)
        named.append(FieldSpec(name=name, label=field.label, unit=field.unit, decimals=field.decimals))
    return tuple(named)
