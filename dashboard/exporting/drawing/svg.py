"""SVG elements as text. Whatever a board or a lesson calls itself is escaped here, in one place."""

from __future__ import annotations

import re
from xml.sax.saxutils import escape

FONT = "system-ui, 'Segoe UI', Roboto, 'Helvetica Neue', 'Liberation Sans', Arial, sans-serif"
INK = "#1a1a1a"
_not_xml = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")

Attribute = str | float


def escaped(text: str) -> str:
    """As text or within quotes of an attribute, in HTML as in XML; what XML can't hold becomes U+FFFD."""
    return escape(_not_xml.sub("\ufffd", text), {'"': "&quot;", "'": "&#39;"})


def element(tag: str, *children: str, **attributes: Attribute | None) -> str:
    """One element.

    Args:
        tag: Its name.
        children: As they stand: elements, or text that is escaped already.
        attributes: `stroke_width=1.5` is stroke-width="1.5"; None is left out. Values are escaped.
    """
    given = "".join(
        f' {name.rstrip("_").replace("_", "-")}="{_value(value)}"'
        for name, value in attributes.items()
        if value is not None
    )
    return f"<{tag}{given}>{''.join(children)}</{tag}>" if children else f"<{tag}{given}/>"


def text(
    words: str, x: float, y: float, *, size: float = 12, fill: str = INK, **attributes: Attribute
) -> str:
    """Words at a place; `text_anchor` and the like as attributes."""
    return element("text", escaped(words), x=x, y=y, font_size=size, fill=fill, **attributes)


def picture(
    *children: str, width: float, height: float, title: str, described: str = "", ground: str = "#ffffff"
) -> str:
    """The whole picture on its ground, named for those who do not see it."""
    named = [element("title", escaped(title))]
    if described:
        named.append(element("desc", escaped(described)))
    below = element("rect", width=width, height=height, fill=ground)
    return element(
        "svg",
        *named,
        below,
        *children,
        xmlns="http://www.w3.org/2000/svg",
        viewBox=f"0 0 {width:g} {height:g}",
        width=width,
        height=height,
        role="img",
        aria_label=title,
        font_family=FONT,
    )


def _value(value: Attribute) -> str:
    return (
        escaped(value)
        if isinstance(value, str)
        else f"{round(value, 2):g}"
        if abs(value) < 1e5
        else f"{value:.1f}"
    )
