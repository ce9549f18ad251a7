"""Where each key of a TOML text stands: the parsers at hand give values or formatting, but no lines."""

from __future__ import annotations

import contextlib
import re
import tomllib
from bisect import bisect_right
from collections.abc import Mapping
from dataclasses import dataclass, field

Path = tuple[str | int, ...]
"""Keys, and places from 0 in lists and arrays of tables: ("bench", 2, "channel", "temperature", "gain")."""

_BLANKS = re.compile(r"[ \t]*")
_GAPS = re.compile(r"(?:[ \t\n]|#[^\n]*)*")
_BARE_KEY = re.compile(r"[A-Za-z0-9_-]+")
_STRING = re.compile(
    r'"""(?:[^\\]|\\.)*?"{3,5}|' + r"'''.*?'{3,5}|" + r'"(?:[^"\\\n]|\\.)*"|' + r"'[^'\n]*'", re.DOTALL
)
_SCALAR = re.compile(r"\d{4}-\d\d-\d\d \d\d:[^\s,\]}#]*|[^\s,\]}#]+")


@dataclass(slots=True)
class Section:
    """The top of the file, or a header and the keys below it, up to the next header."""

    path: Path
    start: int  # of the header's line
    end: int  # behind the line of its last key; remarks below that go with the next header
    indent: str = ""
    pairs: dict[Path, tuple[int, int]] = field(default_factory=dict)  # whole lines of each `key = value`


@dataclass(slots=True)
class Outline:
    """Where everything stands in a text whose lines end by a line feed."""

    lines: dict[Path, int] = field(default_factory=dict)  # from 1
    values: dict[Path, tuple[int, int]] = field(
        default_factory=dict
    )  # from, up to; of what stands behind a key
    sections: list[Section] = field(default_factory=lambda: [Section((), 0, 0)])


def outline_of(text: str) -> Outline:
    """Where every key, table and list entry stands in a text that TOML accepts.

    Of any other text: what stands before the first place that can't be read.
    """
    scanner = _Scanner(text.replace("\r\n", "\n"))
    with contextlib.suppress(_LostError, RecursionError):
        scanner.scan()
    return scanner.outline


def line_in(lines: Mapping[Path, int], at: Path) -> int:
    """The line of that path, or of the nearest table around it."""
    while at and at not in lines:
        at = at[:-1]
    return lines.get(at, 1)


class _LostError(Exception):
    """The text is not what TOML allows here."""


class _Scanner:
    def __init__(self, text: str) -> None:
        self._text, self._at = text, 0
        self._ends = [found.start() for found in re.finditer("\n", text)]
        self._sizes: dict[Path, int] = {}  # arrays of tables, and how many tables they have so far
        self.outline = Outline()

    def scan(self) -> None:
        while self._skip(_GAPS) < len(self._text):
            start = self._at
            if self._took("[["):
                self._open(self._array_of_tables(self._keys(), start), start)
            elif self._took("["):
                table = self._inside((), self._keys())
                for depth in range(1, len(table) + 1):  # a header may open the tables around it too
                    self._note(table[:depth], start)
                self._open(table, start)
            else:
                section = self.outline.sections[-1]
                at = self._pair(section.path)
                section.end = self._line_end()
                section.pairs[at] = (self._text.rfind("\n", 0, start) + 1, section.end)

    def _open(self, table: Path, start: int) -> None:
        while self._took("]"):
            pass
        line_start = self._text.rfind("\n", 0, start) + 1
        indent = self._text[line_start:start]
        self.outline.sections.append(Section(table, line_start, self._line_end(), indent))

    def _line_end(self) -> int:
        end = self._text.find("\n", self._at)
        return len(self._text) if end < 0 else end + 1

    def _array_of_tables(self, keys: list[str], start: int) -> Path:
        array = (*self._inside((), keys[:-1]), keys[-1])
        size = self._sizes.get(array, 0)
        for depth in range(1, len(array)):
            self._note(array[:depth], start)
        self._sizes[array] = size + 1
        self._note(array, start)
        self._note((*array, size), start)
        return (*array, size)

    def _inside(self, table: Path, keys: list[str]) -> Path:
        """The path that keys lead to: through an array of tables it goes into the last one."""
        for key in keys:
            table = (*table, key)
            if size := self._sizes.get(table, 0):
                table = (*table, size - 1)
        return table

    def _pair(self, table: Path) -> Path:
        start = self._at
        for key in self._keys():
            table = (*table, key)
            self._note(table, start)
        if not self._took("="):
            raise _LostError
        self._skip(_BLANKS)
        self._value(table)
        return table

    def _value(self, at: Path) -> None:
        start = self._at
        if self._took("["):
            self._entries(at)
        elif self._took("{"):
            while self._skip(_GAPS) < len(self._text) and not self._took("}"):
                self._pair(at)
                self._skip(_GAPS)
                self._took(",")
        elif self._text.startswith(("'", '"'), self._at):
            self._match(_STRING)
        else:
            self._match(_SCALAR)
        self.outline.values.setdefault(at, (start, self._at))

    def _entries(self, at: Path) -> None:
        place = 0
        while self._skip(_GAPS) < len(self._text) and not self._took("]"):
            self._note((*at, place), self._at)
            self._value((*at, place))
            place += 1
            self._skip(_GAPS)
            self._took(",")

    def _keys(self) -> list[str]:
        keys: list[str] = []
        while True:
            self._skip(_BLANKS)
            if self._text.startswith(("'", '"'), self._at):
                keys.append(_unquoted(self._match(_STRING)))
            else:
                keys.append(self._match(_BARE_KEY))
            self._skip(_BLANKS)
            if not self._took("."):
                return keys

    def _note(self, path: Path, start: int) -> None:
        self.outline.lines.setdefault(path, bisect_right(self._ends, start - 1) + 1)

    def _skip(self, pattern: re.Pattern[str]) -> int:
        found = pattern.match(self._text, self._at)
        self._at = found.end() if found else self._at
        return self._at

    def _took(self, mark: str) -> bool:
        took = self._text.startswith(mark, self._at)
        self._at += len(mark) * took
        return took

    def _match(self, pattern: re.Pattern[str]) -> str:
        found = pattern.match(self._text, self._at)
        if not found:
            raise _LostError
        self._at = found.end()
        return found.group()


def _unquoted(key: str) -> str:
    if "\\" not in key:
        return key[1:-1]
    try:
        return str(tomllib.loads(f"key = {key}")["key"])
    except tomllib.TOMLDecodeError as error:
        raise _LostError from error
