"""Text in the cell of a table, so that no spreadsheet takes it for a formula."""

from __future__ import annotations

GUARD = "'"
GUARDED = (
    f"Text that begins with {GUARD}, = + - @, a tab or a line end has {GUARD} put before it, "
    "so that no spreadsheet takes it for a formula: take off one leading apostrophe to have it back"
)
# What a spreadsheet takes for the beginning of a formula, with the wide forms that some take for the same.
_BEGINS_FORMULA = (*"=+-@\t\r\n", "\uff1d", "\uff0b", "\uff0d", "\uff20")


def as_text_cell(text: str) -> str:
    """The text as a cell that a spreadsheet shows and does not compute; see `GUARDED`."""
    return GUARD + text if text.startswith((*_BEGINS_FORMULA, GUARD)) else text
