"""Reading back what was drawn and written, by a parser that forgives nothing."""

from __future__ import annotations

from html.parser import HTMLParser
from xml.etree import ElementTree


def parsed(svg: str) -> ElementTree.Element:
    """The picture, once it is well-formed XML."""
    return ElementTree.fromstring(svg)


class Page(HTMLParser):
    """What a browser would find in a page."""

    def __init__(self, html: str) -> None:
        super().__init__(convert_charrefs=True)
        self.tags: list[str] = []
        self.attributes: list[tuple[str, str | None]] = []
        self.words = ""
        self.feed(html)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.attributes += attrs

    def handle_data(self, data: str) -> None:
        self.words += data + " "
