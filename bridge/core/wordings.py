"""What wording one line shows by itself: numbers in columns, labels before or behind, a JSON object.

Some lines can be seen in more than one way: `1,234` is two columns, or one number with a decimal comma, or
one with thousands. All ways are given; the lines together decide (`bridge.core.learning`).
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from .columns_seen import CLOCK, columns
from .labels_seen import bare_pairs, json_line, labels_behind, pairs
from .wording import ValueSeen, Wording, wordings_with

MAX_AROUND = 3  # pieces before the fields: `[12] 12:30:05 > T: 5` has three

_hexadecimal = re.compile(r"\b0[xX][0-9a-fA-F]+").search
_LEADS = tuple(
    re.compile(pattern).match
    for pattern in (
        rf"\s*{CLOCK}\s*(?:->|[,;|>:\t]|-(?![0-9.]))?\s*",
        r"\s*(?:\[[^\]]*\]|\([^)]*\)|<[^>]*>)\s*(?:->|[,;|>:]|-(?![0-9.]))?\s*",
        r"\s*(?:-+>|=+>|[>#$*~@!&]+)\s*",
        r"\s*[0-9]+\s*(?:[:)>]|\.(?=\s))\s*",
        r"\s*\w{1,8}\s*[\[(][0-9]+[\])]\s*\w*\s*:\s*",
    )
)
_word_lead = re.compile(r"\s*(?:[^\W\d_][^:=,;|\t0-9]*[0-9]*\s*(?:[:=]|-+>)|[^\W\d_]\w*\s*[,;|\t])\s*").match
_bare_word = re.compile(r"\s*[^\W\d_]\w*\s+(?=[-+.]?[0-9])").match
_brackets = {"(": ")", "[": "]", "{": "}", "<": ">", '"': '"'}
_tail = re.compile(r"(?:\s*[.!;*#\"'\])}>]+|(?:\s+[^\W\d_]+){1,3})\s*").fullmatch
_number_end = re.compile(r"^(.*[0-9]\s*(?:[°%µΩ*']?[^\W\d_]{0,4}%?)?)(.*)$", re.DOTALL).match


def wordings_of(text: str) -> tuple[Wording, ...]:
    """The wordings that a line shows; none for a text that is no record: a greeting, a heading, garbage."""
    if _hexadecimal(text):
        return ()
    found = _inside(text)
    if found:
        return found
    for lead, body, tail in _peeled(text):
        found = _inside(body) or _after_a_word(body) or _after_a_bare_word(body)
        if found:
            return tuple(_around(one, lead, tail) for one in found)
    return ()


def _inside(text: str) -> tuple[Wording, ...]:
    """The wordings of a line with nothing around the fields."""
    for read in (json_line, pairs, columns, bare_pairs, labels_behind):
        found = read(text)
        if found:
            return found
    return ()


def _peeled(text: str) -> Iterator[tuple[str, str, str]]:
    """The line with more and more taken off before and behind it: lead, body, tail."""
    start = 0
    for i in range(MAX_AROUND + 1):
        body, lead = text[start:], text[:start].strip()
        if i:
            yield lead, body, ""
        ends = _number_end(body)
        if ends and ends[2].strip() and _tail(ends[2]):
            yield lead, ends[1], ends[2].strip()
        bare = body.strip()
        if len(bare) > 2 and _brackets.get(bare[0]) == bare[-1]:
            yield f"{lead} {bare[0]}".strip(), bare[1:-1], bare[-1]
        if not i:
            yield "", body, ""
        found = next(filter(None, (match(text, start) for match in _LEADS)), None)
        if found is None or found.end() in (start, len(text)):
            return
        start = found.end()


def _after_a_word(text: str) -> tuple[Wording, ...]:
    """`Reading: 512, 2.50` and `DATA,512,2.50`: a word before columns; before one number it is its name."""
    found = _word_lead(text)
    if found is None:
        return ()
    word, body = found[0].strip(), text[found.end() :]
    inner = json_line(body) or columns(body)
    if len(inner) == 1 and len(inner[0].texts) == 1 and inner[0].kind == "columns" and word[-1] in ",;|\t":
        return wordings_with(
            "pairs", word[-1], [ValueSeen(word[:-1].strip(), inner[0].texts[0], inner[0].units[0])]
        )
    return tuple(_around(one, word, "") for one in inner)


def _after_a_bare_word(text: str) -> tuple[Wording, ...]:
    """`raw 512 | 2.50 V`: a word before columns that blanks do not separate."""
    found = _bare_word(text)
    if found is None:
        return ()
    inner = [one for one in columns(text[found.end() :]) if len(one.texts) > 1 and one.separator != " "]
    return tuple(_around(one, found[0].strip(), "") for one in inner)


def _around(wording: Wording, lead: str, tail: str) -> Wording:
    return wording._replace(lead=f"{lead} {wording.lead}".strip(), tail=f"{wording.tail} {tail}".strip())
