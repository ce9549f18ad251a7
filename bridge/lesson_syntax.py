"""From a lesson's text to TOML values, past a fault in one line to the next, so that all are told at once."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from types import MappingProxyType
from typing import NamedTuple

TOLD = "\ue0f1told\ue0f1"
"""Stands for a value that TOML can't read and that a fault was told about; so it causes no second one."""

MAX_LESSON_CHARACTERS = 1_000_000  # 64 benches in full take about 30,000
_MAX_FAULTS = 20  # a text with more is no lesson; each one costs another reading of the text

_PLACE = re.compile(r"^(.*?) \(at (?:line (\d+), column (\d+)|end of document)\)$", re.DOTALL)
_PAIR = re.compile(r"^(\s*(?:[A-Za-z0-9_-]+|\"[^\"\\]*\")(?:\s*\.\s*[A-Za-z0-9_-]+)*)\s*=\s*(.*?)\s*$")
_DECIMAL_COMMA = re.compile(r"^([+-]?\d+),(\d+)")
_LONE = re.compile("[\ud800-\udfff]")  # halves of a surrogate pair; UTF-8 has none
_SMART_QUOTES = re.compile("[„“”‚‘’«»]")


class Misread(NamedTuple):
    """A line that is not TOML."""

    line: int
    wrong: str
    write: str


class Parsed(NamedTuple):
    """What could be read."""

    values: dict[str, object] | None  # None: nothing that could be checked further
    misread: tuple[Misread, ...]
    text: str  # as it was read, line for line; bad values replaced by TOLD


def parsed(text: str) -> Parsed:
    """Read TOML; a value that can't be read becomes TOLD, other faults end the reading."""
    if len(text) > MAX_LESSON_CHARACTERS:
        wrong = f"the file has {len(text):,} characters, a lesson at most {MAX_LESSON_CHARACTERS:,}"
        return Parsed(None, (Misread(1, wrong, 'title = "A lesson"'),), "")
    if lone := _LONE.search(text):
        wrong = f"half a character, found {lone.group()!a}, which no file can hold"
        return Parsed(
            None, (Misread(text.count("\n", 0, lone.start()) + 1, wrong, 'title = "A lesson"'),), ""
        )
    lines = text.replace("\r\n", "\n").split("\n")
    misread: list[Misread] = []
    while len(misread) < _MAX_FAULTS:
        try:
            return Parsed(tomllib.loads("\n".join(lines)), tuple(misread), "\n".join(lines))
        except RecursionError:
            misread.append(
                Misread(1, "lists or tables stand too deep inside each other", "edges = [2.0, 5.0]")
            )
            break
        except ValueError as error:  # also a whole number of thousands of digits, which is no TOMLDecodeError
            at, what = _place(str(error), lines)
            misread.append(_misread(at, what, lines[at]))
            if not _replaced(lines, at, what):
                break
    return Parsed(None, tuple(misread), "\n".join(lines))


def _place(words: str, lines: list[str]) -> tuple[int, str]:
    """Index of the line, and what the parser says."""
    found = _PLACE.match(words)
    if not found:
        long = (i for i, line in enumerate(lines) if re.search(r"\d[\d_]{300}", line))
        return next(long, 0), "Too many digits"
    if found[2] is None:
        return max((i for i, line in enumerate(lines) if line.strip()), default=0), found[1]
    at = int(found[2]) - 1
    # A value that is missing is noticed at the start of the next line.
    if found[3] == "1" and at > 0 and lines[at - 1].rstrip().endswith("="):
        at -= 1
    return at, found[1]


def _replaced(lines: list[str], at: int, what: str) -> bool:
    """Whether the reading can go on: the line is `key = value`, and another value stands there now."""
    pair = _PAIR.match(lines[at])
    if pair is None or TOLD in lines[at]:
        return False
    lines[at] = "" if "overwrite" in what else f'{pair[1]} = "{TOLD}"'
    return True


def _misread(at: int, what: str, line: str) -> Misread:
    pair = _PAIR.match(line)
    if pair is None:
        return Misread(
            at + 1, f"this line can't be read: {_cut(line.strip())} ({_worded(what)})", _line_hint(line)
        )
    key, value = _cut(pair[1].strip()), pair[2]
    if "overwrite" in what:
        return Misread(
            at + 1, f"{key} stands here a second time", f"one line with {key} only; take the other away"
        )
    return Misread(
        at + 1,
        f"the value of {key} can't be read: {_cut(value)} ({_worded(what)})",
        f"{key} = {_hint(value)}",
    )


def _worded(what: str) -> str:
    return what[:1].lower() + what[1:].replace("\n", " ")


def printable(words: str, also: Mapping[str, str] = MappingProxyType({})) -> str:
    """Words that a terminal and a page can show: other characters by their escapes."""
    return "".join(
        also.get(one) or (one if one.isprintable() else one.encode("unicode_escape").decode())
        for one in words
    )


def _cut(words: str) -> str:
    words = printable(words[:80])
    return words if len(words) <= 60 else words[:58] + "…"


def _hint(value: str) -> str:
    """What was probably meant, as TOML."""
    bare = re.sub(r"\s+#.*$", "", value)
    if found := _DECIMAL_COMMA.match(bare):
        return f"{found[1]}.{found[2]}"
    if bare.casefold() in ("true", "yes", "on"):
        return "true"
    if bare.casefold() in ("false", "no", "off"):
        return "false"
    if re.fullmatch(r"[+-]?\.\d+", bare):
        return bare.replace(".", "0.")
    if re.fullmatch(r"[+-]?\d+\.", bare):
        return bare + "0"
    if found := re.match(r"^([+-]?\d+(?:\.\d+)?)\s*[^\d\s,.\]]\S*$", bare):
        return found[1]  # a unit behind the number
    if bare.startswith("["):
        return "[2.0, 5.0, 10.0]" if re.search(r"\d", bare) else '["room", "warm"]'
    words = re.sub(r'["\\\x00-\x1f\x7f]', "", _SMART_QUOTES.sub("", bare)).strip(" '")
    return f'"{_cut(words) or "text"}"'


def _line_hint(line: str) -> str:
    bare = line.strip()
    if bare.startswith("["):
        name = re.sub(r"[^A-Za-z0-9_.-]", "", bare)
        return f"[[{name or 'channel'}]]" if bare.startswith("[[") else f"[{name or 'channel.bands'}]"
    if ":" in bare and "=" not in bare:
        key, _, value = bare.partition(":")
        return f"{_cut(key.strip())} = {_hint(value.strip())}"
    return 'key = value, such as name = "temperature", or a # in front of a remark'
