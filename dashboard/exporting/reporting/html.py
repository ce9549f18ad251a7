"""The few kinds of HTML that a report is made of. Text is escaped on its way in; `Markup` is what was."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from typing import NewType

from dashboard.exporting.drawing.mark import mark
from dashboard.exporting.drawing.svg import element, escaped
from dashboard.exporting.session import Group

Markup = NewType("Markup", str)
"""HTML that may stand as it is."""

Content = str | Markup
NOTHING = Markup("")


_UNBROKEN, _PART = 24, 12  # letters: a longer word leaves no room to the other columns; where it may break
_long_words = re.compile(rf"\S{{{_UNBROKEN + 1},}}").sub
_parts = re.compile(rf"\S{{{_PART}}}(?=\S)").sub


def shown(words: str) -> Markup:
    """Words as HTML; one that no column could hold may break."""
    broken = _long_words(
        lambda word: _parts(lambda part: f"{part[0]}\0", word[0]), words.replace("\0", "\ufffd")
    )
    return Markup("<wbr>".join(escaped(part) for part in broken.split("\0")))


def joined(*parts: str) -> Markup:
    """Parts that are markup already, after each other."""
    return Markup("".join(parts))


def section(title: str, *parts: Markup) -> Markup:
    """A section with its heading; "" when nothing is in it."""
    content = "".join(parts)
    return Markup(element("section", element("h2", escaped(title)), content)) if content else NOTHING


def heading(words: str) -> Markup:
    """Within a section."""
    return Markup(element("h3", escaped(words))) if words else NOTHING


def paragraph(words: str, *, kind: str | None = None) -> Markup:
    """One paragraph; line ends within it stay."""
    lines = "<br>".join(escaped(line) for line in words.splitlines())
    return Markup(element("p", lines, class_=kind)) if lines else NOTHING


def bullets(items: Iterable[str]) -> Markup:
    """A list, "" without items."""
    lines = [element("li", escaped(item)) for item in items]
    return Markup(element("ul", *lines)) if lines else NOTHING


def code(words: str) -> Markup:
    """Text exactly as a board sent it."""
    return Markup(element("code", escaped(words))) if words else NOTHING


def table(headings: Sequence[str], rows: Sequence[Sequence[Markup]], *, kind: str | None = None) -> Markup:
    """A table whose first column names the row; "" without rows. `kind`: "numbers" sets them to the right."""
    if not rows:
        return NOTHING
    head = element("tr", *(element("th", escaped(one), scope="col") for one in headings))
    body = [
        element(
            "tr",
            element("th", row[0] or "&nbsp;", scope="row"),
            *(element("td", cell or "&nbsp;") for cell in row[1:]),
        )
        for row in rows
    ]
    return Markup(element("table", element("thead", head), element("tbody", *body), class_=kind))


def figure(svg: str, caption: str) -> Markup:
    """A picture with its caption."""
    return Markup(element("figure", svg, element("figcaption", escaped(caption))))


def named(group: Group) -> Markup:
    """A bench's mark with its name and number."""
    return joined(mark(group.shape, group.colour), "&nbsp;", shown(f"{group.name} ({group.bench})"))
