"""One table of a lesson while it is read: gives checked values, notes each fault with its line."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping
from datetime import date

from bridge.errors import Fault
from bridge.lesson_keys import KEY_OF, REQUIRED, Key, header_of, names_in
from bridge.lesson_lines import Path, line_in
from bridge.lesson_syntax import TOLD
from bridge.lesson_words import (
    as_toml,
    called_by,
    is_iso_date,
    kind_words,
    looks_like,
    nearest,
    number_in_text,
)


class Faults:
    """Every fault found so far, and where the keys stand."""

    def __init__(self, file: str, lines: Mapping[Path, int], *, recovered: bool) -> None:
        self._file, self._lines = file, lines
        self.recovered = recovered  # a value may be TOLD
        self.found: list[Fault] = []
        self.asked: set[str] = (
            set()
        )  # the key paths that the reader knows; a test compares them with the table

    def note(self, at: Path, wrong: str, write: str) -> None:
        """One more."""
        self.found.append(Fault(file=self._file, line=line_in(self._lines, at), wrong=wrong, write=write))

    def is_told(self, value: object) -> bool:
        """Whether the value's fault was told already."""
        return self.recovered and value == TOLD


class Table:
    """A table of the file; `path` is the one in the table of keys, `at` the place in this file."""

    def __init__(
        self, values: Mapping[str, object], faults: Faults, *, path: str, at: Path, called: str
    ) -> None:
        self._values, self._path, self._called = values, path, called
        self.faults, self.at = faults, at
        self._n_before = len(faults.found)
        self._bad: set[str] = set()
        self._refuse_unknown()

    @property
    def is_good(self) -> bool:
        """No fault since it was opened: a value can be made of it."""
        return len(self.faults.found) == self._n_before and not self._bad

    def has(self, key: str) -> bool:
        """Whether the key is given, rightly or not."""
        return key in self._values

    def are_good(self, *keys: str) -> bool:
        """None of these keys had a fault so far."""
        return not self._bad.intersection(keys)

    def wrong(self, key: str, wrong: str, write: str | None = None, *, entry: int | None = None) -> None:
        """Note a fault of a key, or of one entry of its list."""
        self._bad.add(key)
        at = (*self.at, key) if entry is None else (*self.at, key, entry)
        self.faults.note(at, f"{self._called}{wrong}", write or self._key(key).example)

    def lacks(self, key: str, wrong: str, write: str) -> None:
        """Note that a key is not there, which must be because of others."""
        self._bad.add(key)
        self.refuse(wrong, write)

    def refuse(self, wrong: str, write: str) -> None:
        """Note a fault of the table itself."""
        self.faults.note(self.at, f"{self._called}{wrong}", write)

    def name(self, key: str) -> str | None:
        """A text that is not blank and stands on one line."""
        value = self._text(key)
        if value is not None and (not value.strip() or not value.isprintable()):
            self.wrong(key, f"{key} must be a text on one line that is not empty, found {as_toml(value)}")
            return None
        return value

    def text(self, key: str) -> str:
        """Any text."""
        return self._text(key) or ""

    def word(self, key: str) -> str | None:
        """One of the words that may stand there."""
        value, words = self._text(key), self._key(key).words
        if value is None or value in words:
            return value
        meant = nearest(value, words)
        may = ", ".join(as_toml(word) for word in words)
        hint = f" (did you mean {as_toml(meant)}?)" if meant else ""
        self.wrong(
            key,
            f"{key} must be one of {may}, found {as_toml(value)}{hint}",
            f"{key} = {as_toml(meant or words[0])}",
        )
        return None

    def number(self, key: str) -> float:
        """A number inside the key's range; 0 when it is faulty."""
        return self.number_or_none(key) or 0.0

    def number_or_none(self, key: str) -> float | None:
        """A number inside the key's range, None when there is none."""
        value = self._given(key)
        return None if value is None else self._in_range(key, self._number(key, value))

    def whole(self, key: str) -> int:
        """A whole number inside the key's range; 0 when it is faulty."""
        return self.whole_or_none(key) or 0

    def whole_or_none(self, key: str) -> int | None:
        """A whole number inside the key's range, None when there is none."""
        value = self._given(key)
        if value is None:
            return None
        if isinstance(value, bool) or not isinstance(value, int):
            self._mistyped(key, "a whole number", value)
            return None
        checked = self._in_range(key, self._number(key, value))
        return None if checked is None else value

    def flag(self, key: str) -> bool:
        """True or false."""
        value = self._given(key)
        if value is not None and not isinstance(value, bool):
            self._mistyped(key, "true or false", value)
        return value is True

    def entries(self, key: str) -> list[object] | None:
        """A list of anything, None when there is none."""
        value = self._given(key)
        if value is not None and not isinstance(value, list):
            self._mistyped(key, "a list in square brackets", value)
            return None
        return value

    def numbers(self, key: str) -> tuple[float, ...]:
        """A list of numbers; the faulty ones are left out."""
        found = [self._number(key, one, entry=i) for i, one in enumerate(self.entries(key) or ())]
        return tuple(one for one in found if one is not None)

    def number_lists(self, key: str) -> tuple[tuple[float, ...], ...]:
        """A list of lists of numbers; the faulty ones are left out."""
        found = []
        for i, one in enumerate(self.entries(key) or ()):
            if isinstance(one, list):
                numbers = [self._number(key, number, entry=i) for number in one]
                found.append(tuple(number for number in numbers if number is not None))
            else:
                self._mistyped(key, "a list of numbers", one, entry=i)
        return tuple(found)

    def date(self, key: str) -> str:
        """A date, with or without a time, as ISO 8601 text; "" when there is none."""
        value = self._given(key)
        if isinstance(value, date):  # a date with a time is one too
            return value.isoformat()
        if isinstance(value, str) and (value == "" or is_iso_date(value)):
            return value
        if value is not None:
            self._mistyped(key, "a date, year-month-day", value)
        return ""

    def texts(self, key: str) -> tuple[str, ...] | None:
        """A list of texts, None when there is none; the faulty ones are left out."""
        entries = self.entries(key)
        for i, one in enumerate(entries or ()):
            if not isinstance(one, str):
                self._mistyped(key, "text", one, entry=i)
        return None if entries is None else tuple(one for one in entries if isinstance(one, str))

    def table(self, key: str) -> Table | None:
        """A table inside this one."""
        value = self._given(key)
        if value is None:
            return None
        if not isinstance(value, dict):
            self._mistyped(key, f"a table headed {header_of(self._below(key))}", value)
            return None
        return self._open(value, self._below(key), (*self.at, key), f"{self._called}{key}: ")

    def tables(self, key: str, *, called: str) -> Iterator[Table]:
        """The tables of an array of tables, one after the other."""
        value = self._given(key)
        header = header_of(self._below(key))
        if isinstance(value, dict):
            self.wrong(key, f"{key} must have double square brackets, found a single table", header)
        elif isinstance(value, list):
            for i, one in enumerate(value):
                if isinstance(one, dict):
                    yield self.entry(key, i, one, called=called_by(self._called + called, one, i))
                else:
                    self._mistyped(key, f"a table headed {header}", one, entry=i)
        elif value is not None:
            self._mistyped(key, f"a table headed {header}", value)

    def entry(self, key: str, place: int, value: Mapping[str, object], *, called: str) -> Table:
        """One table of a list."""
        return self._open(value, self._below(key), (*self.at, key, place), f"{called}: ")

    def tables_by_name(self, key: str) -> Iterator[tuple[str, Table]]:
        """Tables under names that the lesson chooses."""
        value = self._given(key)
        path = f"{self._below(key)}.*"
        if value is not None and not isinstance(value, dict):
            self._mistyped(key, f"tables headed {header_of(path)}", value)
            return
        for name, one in (value or {}).items():
            if isinstance(one, dict):
                yield (
                    name,
                    self._open(one, path, (*self.at, key, name), f"{self._called}channel {as_toml(name)}: "),
                )
            elif not self.faults.is_told(one):
                self._bad.add(key)
                wrong = f"{self._called}{key}.{name} must be a table, found {as_toml(one)}"
                self.faults.note((*self.at, key, name), wrong, KEY_OF[self._below(key)].example)

    def _open(self, values: Mapping[str, object], path: str, at: Path, called: str) -> Table:
        return Table(values, self.faults, path=path, at=at, called=called)

    def _below(self, key: str) -> str:
        return f"{self._path}.{key}" if self._path else key

    def _key(self, key: str) -> Key:
        path = self._below(key)
        self.faults.asked.add(path)
        return KEY_OF[path]

    def _given(self, key: str) -> object:
        """The value or its default; None when it is missing, which is noted where it must be there."""
        spec = self._key(key)
        if key in self._values:
            value = self._values[key]
            if self.faults.is_told(value):
                self._bad.add(key)
                return None
            return value
        if spec.default is REQUIRED:
            self._bad.add(key)
            self.faults.note(self.at, f"{self._called}{key} is missing", spec.example)
            return None
        return spec.default

    def _text(self, key: str) -> str | None:
        value = self._given(key)
        if value is None or isinstance(value, str):
            return value
        self._mistyped(key, "text in quotation marks", value)
        return None

    def _number(self, key: str, value: object, *, entry: int | None = None) -> float | None:
        if isinstance(value, bool) or not isinstance(value, int | float):
            self._mistyped(key, "a number", value, entry=entry)
            return None
        # Beyond this a whole number is no float any more, and no quantity of a classroom.
        if abs(value) > 1e300 or not math.isfinite(value):
            self.wrong(key, f"{key} must be a finite number, found {as_toml(value)}", entry=entry)
            return None
        return float(value)

    def _in_range(self, key: str, value: float | None) -> float | None:
        spec = self._key(key)
        if value is None:
            return None
        low = (spec.least is not None and value < spec.least) or (
            spec.above is not None and value <= spec.above
        )
        if low or (spec.most is not None and value > spec.most):
            found = as_toml(self._values.get(key))
            self.wrong(key, f"{key} must be {spec.range_words}, found {found}{looks_like(key, value)}")
            return None
        return value

    def _mistyped(self, key: str, expected: str, value: object, *, entry: int | None = None) -> None:
        if self.faults.is_told(value):
            self._bad.add(key)
            return
        spec = self._key(key)
        write = spec.example
        if entry is None and isinstance(value, str) and expected.endswith("number"):
            write = number_in_text(key, value) or write
        which = key if entry is None else f"entry {entry + 1} of {key}"
        self.wrong(
            key, f"{which} must be {expected}, found {kind_words(value)}{as_toml(value)}", write, entry=entry
        )

    def _refuse_unknown(self) -> None:
        known = names_in(self._path)
        for key in self._values:
            if key in known:
                continue
            self._bad.add(key)
            self.faults.note((*self.at, key), *unknown_key(self._called, self._path, key, known))


def unknown_key(called: str, path: str, key: str, known: Iterable[str]) -> tuple[str, str]:
    """What is wrong and what to write for a key that no lesson has there."""
    known = tuple(known)
    wrong = f"{called}there is no key {as_toml(key)} here"
    if meant := nearest(key, known):
        write = KEY_OF[f"{path}.{meant}" if path else meant].example
        return f"{wrong} (did you mean {as_toml(meant)}?)", write
    if elsewhere := next((one for one in KEY_OF.values() if one.name == key), None):
        where = header_of(elsewhere.table) if elsewhere.table else "the top of the file, above every table"
        return f"{wrong}; it belongs to {where}", elsewhere.example
    return f"{wrong}; there may be {', '.join(known)}", KEY_OF[
        f"{path}.{known[0]}" if path else known[0]
    ].example
