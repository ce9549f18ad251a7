"""Changes values in a lesson's text where they stand, so that all around them stays as it was written.

The text is edited, not the parser's tree: that puts new keys behind the remarks of the next table.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date
from typing import Any

import tomlkit
from tomlkit.exceptions import TOMLKitError

from bridge.errors import Fault, LessonError
from bridge.lesson_keys import KEY_OF, Key, names_in
from bridge.lesson_lines import Outline, Path, Section, outline_of
from bridge.lesson_lists import applied, list_edits
from bridge.lesson_removing import item_at, without
from bridge.lesson_tables import unknown_key
from bridge.lesson_words import as_toml

Step = str | int
# What tells the tables of an array apart; the others have names.
_SELECTORS = {"bench": "number", "channel.limit": "kind"}
_KEYED = {"channel.limit": "kind", "alarm": "finding"}  # by name, else by the kind
_TABLES = ("table", "tables", "tables by name")


def changed(text: str, changes: Iterable[tuple[Sequence[Step], object]], *, file: str) -> str:
    """The text with these values; it must be TOML and its lines end by a line feed.

    Raises:
        LessonError: A path leads to no key of a lesson, or a value can't stand in a file.
    """
    faults: list[Fault] = []
    for path, value in changes:
        try:
            for steps, leaf in _leaves(_steps_of(path), value):
                text = _Edit(text, steps).made(leaf)
        except _RefusedError as error:
            faults.append(Fault(file=file, line=1, wrong=error.wrong, write=error.write))
        except RecursionError:
            wrong = "a value stands too deep in lists or tables"
            faults.append(Fault(file=file, line=1, wrong=wrong, write="edges = [2.0, 5.0]"))
    if faults:
        raise LessonError(tuple(faults), file=file)
    return text


class _RefusedError(Exception):
    def __init__(self, wrong: str, write: str) -> None:
        super().__init__(wrong)
        self.wrong, self.write = wrong, write


def _steps_of(path: object) -> tuple[Step, ...]:
    # A client's JSON comes here as it was sent.
    if isinstance(path, list | tuple) and all(isinstance(step, str | int) for step in path):
        return tuple(path)
    raise _RefusedError(
        f"a path is a list of names and numbers, found {as_toml(path)}", '["bench", 3, "name"]'
    )


def _leaves(path: tuple[Step, ...], value: object) -> Iterator[tuple[tuple[Step, ...], object]]:
    if isinstance(value, Mapping):
        for key, one in value.items():
            yield from _leaves(_steps_of((*path, key)), one)
    else:
        yield path, value


class _Edit:
    """One value's way into the text."""

    def __init__(self, text: str, steps: tuple[Step, ...]) -> None:
        self._text, self._steps = text, steps
        self._outline: Outline = outline_of(text)
        try:
            self._data: dict[str, Any] = tomllib.loads(text)
        except ValueError as error:  # what an earlier change did; the text as it came was TOML
            raise self._refused(
                f"an earlier change can't stand there ({error})", 'title = "A lesson"'
            ) from error

    def made(self, value: object) -> str:
        """The text with the value in it; with None, without the key or the whole table."""
        at, key = self._resolved(may_be_table=value is None)
        if value is None:
            return without(self._text, self._outline, self._data, at, rendered=_rendered)
        if key.kind == "number" and type(value) is int and abs(value) < 1e15:
            value = float(value)  # 20 typed into a form stands as 20.0, like its neighbours
        if key.kind == "date" and isinstance(value, str):
            value = _as_date(value)
        if at not in self._outline.values:
            return self._with_new(at, _rendered(value))
        edits = list_edits(self._text, self._outline, at, item_at(self._data, at), value, rendered=_rendered)
        text = applied(self._text, edits)
        if isinstance(value, list | tuple) and not _holds(text, at, value):  # commas in odd places
            text = applied(self._text, [(*self._outline.values[at], _rendered(value))])
        return text

    def _resolved(self, *, may_be_table: bool) -> tuple[Path, Key]:
        """The place in this text and its key; a table that is not there yet comes last in its array."""
        at: Path = ()
        schema = ""
        steps = iter(self._steps)
        for step in steps:
            key = self._key(schema, step)
            schema, at = key.path, (*at, str(step))
            if key.kind not in _TABLES:
                if next(steps, None) is not None:
                    raise self._refused(f"nothing stands below {key.name}", key.example)
                return at, key
            if key.kind == "tables":
                at = (*at, self._place(schema, at, next(steps, None)))
            elif key.kind == "tables by name":
                at = (*at, str(self._selector(next(steps, None), key)))
                schema += ".*"
        if may_be_table and at and isinstance(at[-1], str):  # a single table, not one of an array
            return at, key
        raise self._refused("the path ends at a table, not at a key in it", 'title = "A lesson"')

    def _key(self, schema: str, step: object) -> Key:
        path = f"{schema}.{step}" if schema else str(step)
        if not isinstance(step, str) or path not in KEY_OF:
            raise _RefusedError(*unknown_key("", schema, str(step), names_in(schema)))
        return KEY_OF[path]

    def _selector(self, selector: Step | None, key: Key) -> Step:
        if not isinstance(selector, str | int) or isinstance(selector, bool):
            raise self._refused(f"behind {key.name} must stand which one is meant", key.example)
        return selector

    def _place(self, schema: str, at: Path, selector: Step | None) -> int:
        selector = self._selector(selector, KEY_OF[schema])
        array = item_at(self._data, at)
        tables = array if isinstance(array, list) else []
        name = _SELECTORS.get(schema, "name")
        for place, table in enumerate(tables):
            if not isinstance(table, dict):
                continue
            found = table.get(name)
            if schema in _KEYED:
                found = table.get("name", table.get("kind", _KEYED[schema]))
            if found == selector:
                return place
        return len(tables)

    def _refused(self, why: str, write: str) -> _RefusedError:
        path = " / ".join(str(step)[:40] for step in self._steps)
        return _RefusedError(f"{why}, found the path {path[:200]}", write)

    def _with_new(self, at: Path, value: str) -> str:
        for depth in range(len(at) - 1, 0, -1):  # the nearest table around it that is there
            around = at[:depth]
            if around in self._outline.values:
                return self._inside_brackets(around, at[depth:], value)
            if section := self._dotted(around):
                return self._below(section, f"{_dotted_keys(at[len(section.path) :])} = {value}\n")
            if section := self._headed(around):
                return self._below_header(section, around, at, value)
        root = self._outline.sections[0]
        if len(at) == 1:
            return self._below(root, f"{_dotted_keys(at)} = {value}\n")
        return self._new_table(self._outline.sections[-1], (), at, value)

    def _dotted(self, around: Path) -> Section | None:
        """The section where the table was written as `table.key = value`."""
        for section in self._outline.sections:
            inside = len(around) > len(section.path)
            if inside and any(path[: len(around)] == around and path != around for path in section.pairs):
                return section
        return None

    def _headed(self, around: Path) -> Section | None:
        """The last section of that table or of a table inside it."""
        sections = [one for one in self._outline.sections if one.path[: len(around)] == around]
        return sections[-1] if sections else None

    def _below_header(self, last: Section, around: Path, at: Path, value: str) -> str:
        own = next((one for one in self._outline.sections if one.path == around), None)
        if own is not None and len(at) == len(around) + 1:
            return self._below(own, f"{own.indent}{_dotted_keys(at[-1:])} = {value}\n")
        return self._new_table(last, around, at, value)

    def _new_table(self, last: Section, around: Path, at: Path, value: str) -> str:
        """A header with its key, behind the section; new tables of arrays get what tells them apart."""
        lines: list[str] = []
        for depth in range(len(around), len(at) - 1):
            if isinstance(at[depth], int):
                lines += ["", f"[[{_dotted_keys(at[:depth])}]]"]
                name, selector = self._told_apart(at, depth)
                if at[depth + 1 :] != (name,):
                    lines.append(f"{name} = {selector}")
        if isinstance(at[-2], str):
            lines += ["", f"[{_dotted_keys(at[:-1])}]"]
        lines.append(f"{_dotted_keys(at[-1:])} = {value}")
        return self._below(last, "".join(f"{last.indent * bool(line)}{line}\n" for line in lines))

    def _told_apart(self, at: Path, depth: int) -> tuple[str, str]:
        """Key and value by which the path chose that table of an array; paths and places run side by side."""
        array = ".".join(step for step in at[:depth] if isinstance(step, str))
        selector = self._steps[depth]
        name = _SELECTORS.get(array, "name")
        if array == "channel.limit" and selector not in KEY_OF["channel.limit.kind"].words:
            name = "name"
        return name, _rendered(selector)

    def _below(self, section: Section, lines: str) -> str:
        before = self._text[: section.end]
        if before and not before.endswith("\n"):
            before += "\n"
        return before + (lines.lstrip("\n") if not before else lines) + self._text[section.end :]

    def _inside_brackets(self, around: Path, below: Path, value: str) -> str:
        start, end = self._outline.values[around]
        bracket = self._text[start]
        if bracket != ("[" if isinstance(below[0], int) else "{"):
            raise self._refused(f"{around[-1]} is not what holds such keys", 'title = "A lesson"')
        if isinstance(below[0], int):
            name, selector = self._told_apart((*around, *below), len(around))
            apart = "" if below[1:] == (name,) else f"{name} = {selector}, "
            entry = f"{{ {apart}{_dotted_keys(below[1:])} = {value} }}"
            # Right behind the last entry: further on may be a remark, which would swallow it.
            start = self._outline.values[(*around, below[0] - 1)][1] if below[0] else start + 1
            return f"{self._text[:start]}{', ' * bool(below[0])}{entry}{self._text[start:]}"
        body = self._text[start : end - 1].rstrip()
        comma = "" if body == "{" else ","
        return f"{self._text[:start]}{body}{comma} {_dotted_keys(below)} = {value} }}{self._text[end:]}"


def _holds(text: str, at: Path, value: Sequence[object]) -> bool:
    """Whether the value stands at that place of the text."""
    try:
        return _rendered(item_at(tomllib.loads(text), at)) == _rendered(value)
    except ValueError:
        return False


def _as_date(words: str) -> object:
    """A date that a program sends as text, as TOML writes dates; anything else as it came."""
    try:
        return date.fromisoformat(words)
    except ValueError:
        return words


def _dotted_keys(path: Path) -> str:
    """A path as it stands in a header or before an equals sign; places in arrays do not show."""
    return ".".join(tomlkit.key(step).as_string() for step in path if isinstance(step, str))


def _rendered(value: object) -> str:
    if isinstance(value, Mapping):
        pairs = [f"{_dotted_keys((str(key),))} = {_rendered(one)}" for key, one in value.items()]
        return f"{{ {', '.join(pairs)} }}" if pairs else "{}"
    if isinstance(value, list | tuple):
        return "[" + ", ".join(_rendered(one) for one in value) + "]"
    try:
        return tomlkit.item(value).as_string()
    except (TOMLKitError, ValueError, TypeError, RecursionError) as error:
        wrong = f"the value {as_toml(value)} can't stand in a lesson file"
        write = 'a text, a number, true, false or a list, such as title = "A lesson"'
        raise _RefusedError(wrong, write) from error
