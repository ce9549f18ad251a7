"""The form of the what-if page: what may be changed in a lesson, each with its unit and what became of it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any

from dash import dcc, html
from dash.development.base_component import Component

if TYPE_CHECKING:
    from dashboard.what_if import Change, Group, Setting

SET, SAYS = "what-if-set", "what-if-says"
"""The types of the elements of a setting; each with its place among all settings of the lesson."""
_FEW_WORDS = 4  # so many stand beside each other; more go into a list
QUIET, CHANGED, WRONG = "what-if-says", "what-if-says changed", "what-if-says wrong"


def _as_they_stand(groups: Sequence[Group]) -> list[Group]:
    """The groups from the top of the form down: Dash gives what is typed in the order of the page."""
    return sorted(groups, key=lambda group: not group.is_chief)


def form_of(groups: Sequence[Group]) -> list[Component]:
    """Fields for all settings, in their order; what is seldom changed is folded away."""
    chief: list[Component] = []
    rest: list[Component] = []
    place = 0
    for group in _as_they_stand(groups):
        fields = [_field(place + i, one) for i, one in enumerate(group.settings)]
        place += len(fields)
        about = [html.P(group.about, className="soft")] if group.about else []
        (chief if group.is_chief else rest).append(
            html.Details([html.Summary(group.heading), *about, *fields], className="what-if-group")
        )
    if rest:
        folded = html.Details(
            [html.Summary("Single benches, and what is not there yet"), *rest], className="what-if-rest"
        )
        return [*chief, folded]
    return chief


def _field(place: int, setting: Setting) -> Component:
    from dashboard.what_if import text_of

    says = html.Span(id={SAYS: place}, className=QUIET)
    named: Any = {"title": setting.meaning}
    words = html.Span(setting.label, className="what-if-label", **named)
    value = text_of(setting.value)
    if setting.kind == "word":
        return html.Fieldset(
            [html.Legend(words), _choice(place, setting, value), says], className="what-if-field"
        )
    typed = dcc.Input(
        id={SET: place},
        type="text",
        value=value,
        debounce=True,
        className="entry",
        autoComplete="off",
        placeholder="nothing",
    )
    unit = html.Span(setting.unit, className="what-if-unit")
    entered = html.Span([typed, unit], className="what-if-entered")
    return html.Label([words, entered, says], className="what-if-field")


def _choice(place: int, setting: Setting, value: str) -> Component:
    if len(setting.words) <= _FEW_WORDS and all(len(one) < 12 for one in setting.words):
        return dcc.RadioItems(
            id={SET: place}, options=list(setting.words), value=value, className="what-if-radios"
        )
    return dcc.Dropdown(
        id={SET: place}, options=list(setting.words), value=value, clearable=False, searchable=False
    )


class Filled:
    """What stands in the form: the changes that it asks for, and what is wrong with which field."""

    def __init__(self, text: str, groups: Sequence[Group], typed: Sequence[object]) -> None:
        from bridge import try_changes

        self.settings = [one for group in _as_they_stand(groups) for one in group.settings]
        self.wrong: dict[int, str] = {}
        self.everywhere: list[str] = []  # faults that no single field brings
        self._by_place = dict(self._read(typed))
        self.changes = tuple(self._by_place.values())
        self.text = text
        if not self.changes:
            return
        tried = try_changes(text, [one.as_sent for one in self.changes])
        places = list(self._by_place)
        for fault in tried.faults:
            words = f"✕ {fault.fault.wrong}. Write for example: {fault.fault.write}"
            if fault.change is None:
                self.everywhere.append(words)
            else:
                self.wrong.setdefault(places[fault.change], words)
        self.text = tried.text

    @property
    def is_good(self) -> bool:
        """Whether it could be computed."""
        return not self.wrong and not self.everywhere

    def _read(self, typed: Sequence[object]) -> Iterator[tuple[int, Change]]:
        from dashboard.what_if import NoValueError, change_of

        for place, (setting, value) in enumerate(zip(self.settings, typed, strict=True)):
            try:
                change = change_of(setting, value)
            except NoValueError as error:
                self.wrong[place] = f"✕ {error}"
            else:
                if change is not None:
                    yield place, change

    def said(self) -> tuple[list[str], list[str]]:
        """Beside each field: words and class."""
        words, classes = [], []
        for place in range(len(self.settings)):
            change = self._by_place.get(place)
            wrong = self.wrong.get(place, "")
            words.append(wrong or (change.words if change else ""))
            classes.append(WRONG if wrong else CHANGED if change else QUIET)
        return words, classes

    def summary(self) -> list[Component]:
        """All changes below each other, and what is wrong with all of them together."""
        told = [html.Li(one.sentence) for one in self.changes]
        return [*told, *(html.Li(one, className="what-if-says wrong") for one in self.everywhere)]
