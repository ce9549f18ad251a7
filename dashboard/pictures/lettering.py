"""How wide a text is, near enough to keep it from running into its neighbour: no browser is asked."""

from __future__ import annotations

import html

# Of the type's size, rather too wide than too narrow, for the fonts of `look.Look.family`.
_NARROW, _NARROW_WIDTH = frozenset("ijlI.,:;'|!()[]{}ft /\\-"), 0.35
_WIDE, _WIDE_WIDTH = frozenset("mwMW@%&—…⚠<>=+~×#"), 1.0
_CAPITAL_WIDTH, _OTHER_WIDTH, _FAR_EASTERN = 0.72, 0.58, "\u1100"


def width_of(text: str, size_px: float) -> float:
    """The width of one line in px."""
    return size_px * sum(map(_letter, text))


def fitted(text: str, room_px: float, size_px: float) -> str:
    """The text, or as much of its beginning as fits, with an ellipsis; safe for plotly."""
    if width_of(text, size_px) <= room_px:
        return html.escape(text, quote=False)
    kept = text
    while kept and width_of(f"{kept}…", size_px) > room_px:
        kept = kept[:-1]
    return html.escape(f"{kept.rstrip()}…", quote=False)


def lines_of(text: str, room_px: float, size_px: float) -> list[str]:
    """The text broken at blanks into lines that fit; a word that is too long has a line of its own."""
    lines: list[str] = []
    for word in text.split():
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and width_of(longer, size_px) <= room_px:
            lines[-1] = longer
        else:
            lines.append(word)
    return lines


def _letter(letter: str) -> float:
    if letter in _NARROW:
        return _NARROW_WIDTH
    if letter in _WIDE or (letter >= _FAR_EASTERN and letter not in "−–“”’‘"):
        return _WIDE_WIDTH
    return _CAPITAL_WIDTH if letter.isupper() else _OTHER_WIDTH
