"""From framed lines to rows of numbers: by the lesson's layout, or by one that is learned from the text.

Nothing depends on how lines are handed over, nor on when the time is told: what falls due is done with the
lines that came before that instant, and bears that instant.
"""

from __future__ import annotations

import re
from collections import deque
from collections.abc import Sequence
from itertools import repeat
from typing import Literal, NamedTuple

from bridge.core.framing import Line
from bridge.core.layouts import LayoutReader, Values, reader_for
from bridge.core.learning import Learner
from bridge.core.lesson import Layout
from bridge.core.limits import NEVER_NS
from bridge.core.readings import Note
from bridge.core.roles import RoleFound

READ, SET_ASIDE, TEXT, WAITING = "read", "set aside", "text", "waiting"
Sure = Literal["lesson", "sure", "doubtful", "unknown"]

LEARN_NS = 5_000_000_000  # after so long it is decided by what there is
N_SAMPLES = 6  # newest raw texts that are kept to be shown
MAX_WAITING_LINES = 64  # lines that wait for a layout; of more, the oldest are set aside

_has_digit = re.compile(r"[0-9]").search
_Shown = list[tuple[Line, str]]


class TextRun(NamedTuple):
    """What became of lines, as long as the same layout held."""

    revision: int  # of the layout; with a new one the bench's channels are to be made anew from `reader`
    at_ns: int  # when that layout was found or given
    reader: LayoutReader | None  # None: nothing can be read yet
    fitting: list[Line]  # the lines that gave a row
    rows: list[Values]  # their numbers
    shown: _Shown  # lines with what became of them; a line that waited comes again when that is known
    notes: list[Note]


class TextFinding(NamedTuple):
    """Something wrong with the text as such."""

    kind: Literal["numbers run together", "text changed", "no text"]
    words: str
    evidence: str
    remedy: str


class TextReader:
    """Reads one bench's lines in their order, and learns how where the lesson gives no layout."""

    def __init__(self, bench: int, layout: Layout | None) -> None:
        self._bench = bench
        self.revision = 0  # rises when the layout changes
        self.n_set_aside = 0
        self.reader: LayoutReader | None = None
        self._layout: Layout | None = None
        self._learner: Learner | None = None
        self._waiting: list[Line] = []
        self._due_ns = NEVER_NS
        self._since_ns = 0  # when the layout was found or given
        self._samples: deque[str] = deque(maxlen=N_SAMPLES)
        self._start(layout, 0)

    @property
    def layout_words(self) -> str:
        """How the text is read, in words."""
        if self._layout is not None:
            return f"as the lesson says: {self._layout.name}"
        assert self._learner is not None
        return self._learner.words

    @property
    def doubt(self) -> str:
        """Why no line is read, when the text can be read in two ways."""
        return self._learner.doubt if self._learner is not None and self.reader is None else ""

    @property
    def alternatives(self) -> tuple[Layout, ...]:
        """The layouts between which the doubt is."""
        return self._learner.alternatives if self._learner is not None and self.doubt else ()

    @property
    def sure(self) -> Sure:
        """How sure the layout is."""
        if self._layout is not None:
            return "lesson"
        if self.doubt:
            return "doubtful"
        return "unknown" if self.reader is None else "sure"

    @property
    def roles(self) -> tuple[RoleFound, ...]:
        """What each field is by its behaviour, as far as known: in the order of the reader's names."""
        return () if self.reader is None else (RoleFound(),) * len(self.reader.names)

    @property
    def samples(self) -> tuple[str, ...]:
        """The newest raw texts."""
        return tuple(self._samples)

    @property
    def findings_of_text(self) -> tuple[TextFinding, ...]:
        """What is wrong with the text, as far as learning shows it."""
        return ()

    def take(self, lines: Sequence[Line]) -> list[TextRun]:
        """Read lines; more than one run when the layout changed within them."""
        if not lines:
            return []
        self._samples.extend([line.text for line in lines[-N_SAMPLES:]])
        return self._take(lines)

    def _take(self, lines: Sequence[Line]) -> list[TextRun]:
        return self._learn(lines) if self.reader is None else [self._read(lines)]

    def nothing(self) -> TextRun:
        """A run without lines: time went by, or bytes came that end no line."""
        return self._run()

    def tick(self, at_ns: int) -> list[TextRun]:
        """Tell the time: what fell due is decided."""
        if self._due_ns > at_ns:
            return []
        due_ns, self._due_ns = self._due_ns, NEVER_NS
        assert self._learner is not None
        self._learner.time_is_up()
        return self._begin(due_ns, [])

    def finish(self, at_ns: int) -> list[TextRun]:
        """No more lines will come: what waits is read if it can be."""
        runs = self.tick(at_ns)
        if self._learner is not None and self.reader is None:
            self._learner.finish()
            runs += self._begin(self._waiting[-1].at_ns if self._waiting else at_ns, [])
        return runs

    def break_off(self, cut: Sequence[Line]) -> _Shown:
        """The board's text broke off: forget a half record. `cut`: half lines, which are set aside."""
        if self.reader is not None:
            self.reader.break_off()
        return [(line, self._set_aside()) for line in cut]

    def set_layout(self, layout: Layout | None, at_ns: int) -> list[TextRun]:
        """The lesson gives another layout, or none: then it is learned anew."""
        return [] if layout == self._layout else self._start_anew(layout, at_ns)

    def relearn(self, at_ns: int) -> list[TextRun]:
        """Learn the layout anew, unless the lesson gives it."""
        return [] if self._layout is not None else self._start_anew(None, at_ns)

    def _start_anew(self, layout: Layout | None, at_ns: int) -> list[TextRun]:
        shown: _Shown = [(line, self._set_aside()) for line in self._waiting]
        self._start(layout, at_ns)
        return [self._run(shown=shown)]

    def _start(self, layout: Layout | None, at_ns: int) -> None:
        self._layout, self._waiting, self._due_ns, self._since_ns = layout, [], NEVER_NS, at_ns
        self._learner = Learner() if layout is None else None
        self.reader = None if layout is None else reader_for(layout)
        self.revision += 1

    def _run(
        self,
        fitting: list[Line] | None = None,
        rows: list[Values] | None = None,
        shown: _Shown | None = None,
        notes: list[Note] | None = None,
    ) -> TextRun:
        return TextRun(
            self.revision, self._since_ns, self.reader, fitting or [], rows or [], shown or [], notes or []
        )

    def _learn(self, lines: Sequence[Line]) -> list[TextRun]:
        """Show the lines to the learner; once it knows how to read, read all that waited, in order."""
        assert self._learner is not None
        shown: _Shown = []
        for i, line in enumerate(lines):
            if line.at_ns >= self._due_ns and (runs := self.tick(line.at_ns)):
                return [self._run_waiting(shown), *runs, *self._take(lines[i:])]
            if line.flaws:
                shown.append((line, self._set_aside()))
                continue
            self._learner.take(line.text)
            self._waiting.append(line)
            shown.append((line, WAITING))
            if self._learner.reader is not None:
                return [self._run_waiting(shown), *self._begin(line.at_ns, lines[i + 1 :])]
            if self._due_ns == NEVER_NS and self._learner.has_begun and not self._learner.is_late:
                self._due_ns = line.at_ns + LEARN_NS
            if len(self._waiting) > MAX_WAITING_LINES:
                shown.append((self._waiting.pop(0), self._set_aside()))
        return [self._run_waiting(shown)]

    def _run_waiting(self, shown: _Shown) -> TextRun:
        return TextRun(self.revision, self._since_ns, None, [], [], shown, [])

    def _begin(self, at_ns: int, rest: Sequence[Line]) -> list[TextRun]:
        """Read what waited, and the rest, when the learner knows how."""
        assert self._learner is not None
        if self._learner.reader is None:
            return []
        waited, self._waiting, self._due_ns = self._waiting, [], NEVER_NS
        self.reader, self._since_ns = self._learner.reader, at_ns
        self.revision += 1
        begun = self._run(notes=[Note(at_ns, self._bench, "layout", self._learner.words)])
        return [begun, self._read([*waited, *rest])]

    def _read(self, lines: Sequence[Line]) -> TextRun:
        reader = self.reader
        assert reader is not None
        if reader.is_one_line and not any(line.flaws for line in lines):
            found = reader.values_of([line.text for line in lines])
            rows = [row for row in found if row is not None]
            if len(rows) == len(lines):
                return self._run(list(lines), rows, list(zip(lines, repeat(READ), strict=False)))
        fitting: list[Line] = []
        rows = []
        shown: _Shown = []
        for line in lines:
            row, fate = self._row(reader, line)
            if row is not None:
                fitting.append(line)
                rows.append(row)
            shown.append((line, fate))
        return self._run(fitting, rows, shown)

    def _row(self, reader: LayoutReader, line: Line) -> tuple[Values | None, str]:
        if line.flaws:
            reader.break_off()
            return None, self._set_aside()
        row = reader.values(line.text)
        if row is not None or reader.partial:
            return row, READ
        return None, self._set_aside() if _has_digit(line.text) else TEXT

    def _set_aside(self) -> str:
        self.n_set_aside += 1
        return SET_ASIDE
