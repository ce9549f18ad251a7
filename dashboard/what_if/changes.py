"""From what is typed in a field to a value of the lesson, and back."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from dashboard.what_if.settings import Setting

_NUMBER = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d{1,3})?", re.ASCII)
_MOST_LENGTH = 400
NOTHING = "nothing"


class NoValueError(ValueError):
    """What stands in a field can't be read; the words say what to write."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """One setting with another value; None takes the key out of the lesson."""

    setting: Setting
    value: object

    @property
    def words(self) -> str:
        """ "from 5.0 V to 3.3 V"."""
        setting, value, besides = self.setting, self.value, ""
        if value is None and setting.without is not None:
            value, besides = setting.without, ", which holds where the lesson says nothing"
        return f"from {with_unit(setting.value, setting.unit)} to {with_unit(value, setting.unit)}{besides}"

    @property
    def sentence(self) -> str:
        """ "Reference voltage of conversion “sensor”: from 5.0 V to 3.3 V"."""
        label, what = self.setting.label, self.setting.what
        whose = what if self.setting.path[-1] == "at" else f"{label} of {what}"
        return f"{whose[:1].upper()}{whose[1:]}: {self.words}"

    @property
    def as_sent(self) -> tuple[Sequence[str | int], object]:
        """As the control `revise` and `bridge.try_changes` take it."""
        value = list(self.value) if isinstance(self.value, tuple) else self.value
        return self.setting.path, value


def change_of(setting: Setting, text: object) -> Change | None:
    """The change that a field's text asks for; None where it says what holds already.

    Raises:
        NoValueError: It can't be read.
    """
    value = value_of(setting, text)
    if value is None:
        return Change(setting=setting, value=None) if setting.is_given else None
    now = tuple(setting.value) if isinstance(setting.value, list) else setting.value
    return None if value == now else Change(setting=setting, value=value)


def value_of(setting: Setting, text: object) -> object:
    """The value that a field's text stands for; None for an empty field.

    Numbers may have a decimal comma; those of a list stand apart by blanks or semicolons, names by
    semicolons.

    Raises:
        NoValueError: It can't be read.
    """
    words = str("" if text is None else text).strip().replace("−", "-")
    if not words:
        return None
    if len(words) > _MOST_LENGTH:
        raise NoValueError("That is too long.")
    if setting.kind == "word":
        if words not in setting.words:
            raise NoValueError(f"“{words}” is none of {', '.join(setting.words)}.")
        return words
    if setting.kind == "texts":
        return tuple(part.strip() for part in words.split(";") if part.strip())
    if setting.kind == "numbers":
        parts = [part.rstrip(",") for part in re.split(r"[;\s]+", words.strip("[]")) if part.rstrip(",")]
        return tuple(_number(part, "5 10 14") for part in parts)
    number = _number(words, text_of(setting.value) or "20.5")
    if setting.kind == "whole number":
        if number != round(number):
            raise NoValueError(f"“{words}” is no whole number. Write for example 10.")
        return round(number)
    return number


def text_of(value: object) -> str:
    """A value as it stands in a field."""
    if value is None:
        return ""
    if isinstance(value, list | tuple):
        apart = "; " if any(isinstance(one, str) for one in value) else ", "
        return apart.join(text_of(one) for one in value)
    return str(value)


def with_unit(value: object, unit: str) -> str:
    """ "5.0 V"; "nothing" for none."""
    words = text_of(value)
    return f"{words} {unit}".strip() if words else NOTHING


def _number(words: str, example: str) -> float:
    plain = words.replace(",", ".")
    if not _NUMBER.fullmatch(plain):
        raise NoValueError(f"“{words}” is no number. Write for example {example}.")
    return float(plain)
