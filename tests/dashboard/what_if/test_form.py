"""The what-if form's fields, without a browser: what is typed reaches the setting that it stands beside."""

from __future__ import annotations

import pytest
from dash import html

from dashboard.pages.what_if_form import SET, Filled, form_of
from dashboard.what_if import settings_of, text_of
from tests.dashboard.what_if.recorded import LESSON

WITHOUT_BANDS = LESSON[: LESSON.index("[channel.bands]")] + LESSON[LESSON.index("[[channel.limit]]") :]
SECOND_CHANNEL = """
[[channel]]
name = "light"
field = "light"
unit = "lx"
[[channel.limit]]
kind = "low"
at = 7.0
"""


@pytest.mark.parametrize("text", [LESSON, WITHOUT_BANDS, LESSON + SECOND_CHANNEL])
def test_what_is_typed_reaches_the_setting_that_it_stands_beside(text: str) -> None:
    groups = settings_of(text)
    fields = [
        (one.id[SET], one.value)
        for one in html.Div(form_of(groups))._traverse()  # type: ignore[no-untyped-call]  # of Dash
        if isinstance(getattr(one, "id", None), dict) and SET in one.id
    ]
    assert [place for place, _ in fields] == list(range(len(fields))), "as Dash gives them"
    filled = Filled(text, groups, [value for _, value in fields])
    assert [text_of(one.value) for one in filled.settings] == [value for _, value in fields]
    assert (filled.changes, filled.wrong) == ((), {})
