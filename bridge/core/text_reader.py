"""From framed lines to rows of numbers: by the lesson's layout, or by one that is learned from the text.

Nothing depends on how lines are handed over, nor on when the time is told: what falls due is done with the
lines that came before that instant, and bears that instant.
"""

from __future__ import annotations

import re
from bisect import bisect_left
from collections import deque
from collections.abc import Callable, Sequence
from functools import partial
from itertools import repeat
from operator import attrgetter
from typing import Literal, NamedTuple

from bridge.core.behaviour import Behaviour
from bridge.core.changing import change_between, swapped_layout
from bridge.core.doubts import Doubt
from bridge.core.framing import DAMAGED, Line
from bridge.core.headings import heading_cells, name_and_unit
from bridge.core.layout_words import LayoutShown, layout_shown, layout_words
from bridge.core.layouts import LayoutReader, Values, reader_for
from bridge.core.learning import Learner
from bridge.core.lesson import Layout
from bridge.core.limits import NEVER_NS
from bridge.core.misfits import Misfits
from bridge.core.one_line import ColumnsReader
from bridge.core.readings import Note
from bridge.core.roles import RoleFound
from bridge.core.text_findings import (
    N_NOISE,
    NoiseSeen,
    TextFinding,
    changed_finding,
    noise_finding,
    not_as_the_lesson_finding,
    run_together_finding,
)

READ, SET_ASIDE, TEXT, WAITING = "read", "set aside", "text", "waiting"
Sure = Literal["lesson", "sure", "doubtful", "unknown"]

LEARN_NS = 5_000_000_000  # after so long it is decided by what there is
N_SAMPLES = 6  # newest raw texts that are kept to be shown
N_BACK = 10  # lines in a row that fit again end a doubt about a change
MAX_WAITING_LINES = 64  # lines that wait for a layout; of more, the oldest are set aside
BLOCK_LINES = 4096  # read at once; one line that does not fit makes its block be read line by line

_has_digit = re.compile(r"[0-9]").search
_at_ns = attrgetter("at_ns")
_Shown = list[tuple[Line, str]]


class TextRun(NamedTuple):
    """What became of lines, as long as the same layout held and the same was known of its fields."""

    revision: int  # of the layout; with a new one the bench's channels are to be made anew from `reader`
    at_ns: int  # when that layout was found or given, or its roles were
    reader: LayoutReader | None  # None: nothing can be read yet
    roles: tuple[RoleFound, ...]  # what each field is, as far as known for these rows
    fitting: list[Line]  # the lines that gave a row
    rows: list[Values]  # their numbers
    shown: _Shown  # lines with what became of them; a line that waited comes again when that is known
    notes: list[Note]


class _Asked(NamedTuple):
    """What somebody must choose before anything is read."""

    doubt: Doubt
    readers: tuple[LayoutReader, ...]  # of the alternatives: lines that none reads are another change
    learner: Learner | None = None  # that may still find it out
    before: LayoutReader | None = None  # what read the text before it changed
    can_return: bool = False  # its lines can be told from those that come now
    n_back: int = 0  # lines in a row that fit it again


class TextReader:
    """Reads one bench's lines in their order, and learns how where the lesson gives no layout."""

    def __init__(self, bench: int, layout: Layout | None) -> None:
        self._bench = bench
        self.revision = 0  # rises when the layout changes
        self.n_set_aside = 0
        self.reader: LayoutReader | None = None
        self._layout: Layout | None = None  # the lesson's
        self._learner = Learner()
        self._words = ""
        self._asked: _Asked | None = None
        self._behaviour: Behaviour | None = None
        self._misfits = Misfits()
        self._waiting: list[Line] = []
        self._due_ns = NEVER_NS  # for the learner
        self._since_ns = 0  # when the layout was found or given, or its roles were
        self._noise: deque[NoiseSeen] = deque(maxlen=N_NOISE)  # the newest lines since one was read
        self._samples: deque[str] = deque(maxlen=N_SAMPLES)
        self._start(layout, 0)

    @property
    def layout_words(self) -> str:
        """How the text is read, in words."""
        if self._layout is not None:
            return f"as the lesson says: {self._layout.name}"
        return self.doubt or self._words or "not known yet"

    @property
    def doubt(self) -> str:
        """Why no line is read, when the text can be read in more than one way."""
        return self._asked.doubt.words if self._asked is not None else ""

    @property
    def alternatives(self) -> tuple[Layout, ...]:
        """The layouts between which the doubt is."""
        return self._asked.doubt.alternatives if self._asked is not None else ()

    def side_by_side(self) -> tuple[LayoutShown, ...]:
        """How each alternative reads the newest texts."""
        return tuple(layout_shown(one, self.samples) for one in self.alternatives)

    @property
    def sure(self) -> Sure:
        """How sure the layout is."""
        if self._layout is not None:
            return "lesson"
        if self._asked is not None:
            return "doubtful"
        return "unknown" if self.reader is None else "sure"

    @property
    def roles(self) -> tuple[RoleFound, ...]:
        """What each field is by its behaviour, as far as known: in the order of the reader's names."""
        return self._behaviour.roles if self._behaviour is not None else ()

    @property
    def samples(self) -> tuple[str, ...]:
        """The newest raw texts."""
        return tuple(self._samples)

    @property
    def findings_of_text(self) -> tuple[TextFinding, ...]:
        """What is wrong with the text now, as far as learning shows it."""
        newest = self.samples[-1] if self.samples else ""
        found = [noise_finding(self._noise)]
        texts = self._learner.run_together if self._is_learning else self._misfits.run_together
        field = self._behaviour.run_together if self._behaviour is not None else ""
        found.append(run_together_finding(texts, field, newest))
        if self._layout is not None and self._misfits.is_told:
            found.append(not_as_the_lesson_finding(self._layout.name, self._misfits.n, self._misfits.newest))
        elif self._asked is not None and self._asked.before is not None:
            found.append(changed_finding(self.doubt, newest))
        return tuple(one for one in found if one is not None)

    def take(self, lines: Sequence[Line]) -> list[TextRun]:
        """Read lines; more than one run when something changed within them."""
        self._samples.extend([line.text for line in lines[-N_SAMPLES:]])
        runs: list[TextRun] = []
        self._take_all(lines, runs)
        return _joined(runs)

    def _take_all(self, lines: Sequence[Line], runs: list[TextRun]) -> None:
        """Take lines, and decide what falls due between them."""
        while lines:
            due_ns = self._next_due()
            if due_ns <= lines[0].at_ns:
                self._decide_due(due_ns, runs)
                continue
            n = len(lines) if due_ns == NEVER_NS else bisect_left(lines, due_ns, key=_at_ns)
            n = min(n, BLOCK_LINES)
            n_taken = self._take(lines if n == len(lines) else lines[:n], runs)
            if n_taken == len(lines):
                return
            lines = lines[n_taken:]

    def nothing(self) -> TextRun:
        """A run without lines: time went by, or bytes came that end no line."""
        return self._run()

    def tick(self, at_ns: int) -> list[TextRun]:
        """Tell the time: what fell due is decided."""
        runs: list[TextRun] = []
        while (due_ns := self._next_due()) <= at_ns:
            self._decide_due(due_ns, runs)
        return _joined(runs)

    def finish(self, at_ns: int) -> list[TextRun]:
        """No more lines will come: what waits is read if it can be."""
        runs = self.tick(at_ns)
        if self._is_learning:
            self._learner.finish()
            self._begin(self._waiting[-1].at_ns if self._waiting else at_ns, runs)
        if self._behaviour is not None and self._behaviour.due_ns < NEVER_NS and self._behaviour.look():
            self._since_ns = at_ns
            runs.append(self._run())
        return _joined(runs)

    def break_off(self, cut: Sequence[Line]) -> _Shown:
        """The board's text broke off: forget a half record. `cut`: half lines, which are set aside."""
        if self.reader is not None:
            self.reader.break_off()
        for line in cut:
            self._take_flawed(line)
        return [(line, self._set_aside()) for line in cut]

    def set_layout(self, layout: Layout | None, at_ns: int) -> list[TextRun]:
        """The lesson gives another layout, or none: then it is learned anew."""
        return [] if layout == self._layout else self._start_anew(layout, at_ns)

    def relearn(self, at_ns: int) -> list[TextRun]:
        """Learn the layout anew, unless the lesson gives it."""
        return [] if self._layout is not None else self._start_anew(None, at_ns)

    # --- the layout that holds

    @property
    def _is_learning(self) -> bool:
        return self.reader is None and self._asked is None

    def _start_anew(self, layout: Layout | None, at_ns: int) -> list[TextRun]:
        shown: _Shown = [(line, self._set_aside()) for line in self._waiting]
        self._start(layout, at_ns)
        return [self._run(shown=shown)]

    def _start(self, layout: Layout | None, at_ns: int) -> None:
        self._layout, self._learner, self._due_ns = layout, Learner(), NEVER_NS
        self._hold(None if layout is None else reader_for(layout), at_ns)

    def _hold(self, reader: LayoutReader | None, at_ns: int, asked: _Asked | None = None) -> None:
        """From here on the text is read so, or by nobody."""
        self.reader, self._asked, self._since_ns = reader, asked, at_ns
        self._behaviour = None if reader is None else Behaviour(reader)
        self._misfits = Misfits()
        self._waiting = []
        self.revision += 1

    def _next_due(self) -> int:
        of_roles = self._behaviour.due_ns if self._behaviour is not None else NEVER_NS
        return min(self._due_ns, of_roles)

    def _decide_due(self, due_ns: int, runs: list[TextRun]) -> None:
        if self._due_ns <= due_ns:
            self._due_ns = NEVER_NS
            self._learner.time_is_up()
            self._begin(due_ns, runs)
        elif self._behaviour is not None and self._behaviour.look():
            self._since_ns = due_ns
            runs.append(self._run())

    def _run(
        self,
        fitting: list[Line] | None = None,
        rows: list[Values] | None = None,
        shown: _Shown | None = None,
        notes: list[Note] | None = None,
        *,
        roles: tuple[RoleFound, ...] | None = None,
    ) -> TextRun:
        return TextRun(
            self.revision, self._since_ns, self.reader, self.roles if roles is None else roles,
            fitting or [], rows or [], shown or [], notes or [],
        )  # fmt: skip

    def _note(self, at_ns: int, kind: str, words: str) -> Note:
        return Note(at_ns, self._bench, kind, words)

    def _take(self, lines: Sequence[Line], runs: list[TextRun]) -> int:
        """Take lines until something changes; how many were taken."""
        if self.reader is not None:
            return self._read(self.reader, lines, runs)
        return (
            self._learn(lines, runs)
            if self._asked is None
            else self._wait_for_answer(self._asked, lines, runs)
        )

    # --- learning

    def _learn(self, lines: Sequence[Line], runs: list[TextRun]) -> int:
        """Show the lines to the learner until it knows how to read; then read all that waited, in order."""
        shown: _Shown = []
        for i, line in enumerate(lines, start=1):
            if line.flaws:
                self._take_flawed(line)
                shown.append((line, self._set_aside()))
                continue
            self._noise.append(NoiseSeen(is_damaged=False, n_bytes=len(line.raw)))
            self._learner.take(line.text)
            self._waiting.append(line)
            shown.append((line, WAITING))
            if self._learner.reader is not None or self._learner.doubt is not None:
                runs.append(self._run(shown=shown))
                self._begin(line.at_ns, runs)
                return i
            if len(self._waiting) > MAX_WAITING_LINES:
                shown.append((self._waiting.pop(0), self._set_aside()))
            if self._due_ns == NEVER_NS and self._learner.has_begun and not self._learner.is_late:
                self._due_ns = line.at_ns + LEARN_NS
                runs.append(self._run(shown=shown))
                return i  # the lines that follow may come after that instant
        runs.append(self._run(shown=shown))
        return len(lines)

    def _begin(self, at_ns: int, runs: list[TextRun]) -> None:
        """Read what waited when the learner knows how; ask when it knows that nobody can."""
        learner, waited = self._learner, self._waiting
        if learner.reader is None:
            if learner.doubt is not None:
                self._ask(learner.doubt, at_ns, runs, learner=learner)
            return
        self._due_ns, self._words = NEVER_NS, learner.words
        self._hold(learner.reader, at_ns)
        runs.append(self._run(notes=[self._note(at_ns, "layout", learner.words)]))
        self._take_all(waited, runs)

    # --- reading

    def _read(self, reader: LayoutReader, lines: Sequence[Line], runs: list[TextRun]) -> int:
        behaviour = self._behaviour
        assert behaviour is not None
        if not behaviour.has_begun:
            lines = lines[:1]  # what follows the first row may come after the first look at the rows
        if not reader.is_one_line or any(line.flaws for line in lines):
            return self._read_each(reader, behaviour, lines, runs)
        found = reader.values_of([line.text for line in lines])
        rows = [row for row in found if row is not None]
        if len(rows) < len(lines):
            return self._read_each(reader, behaviour, lines, runs)
        roles = behaviour.roles
        n = behaviour.take(lines, rows)
        self._fits()
        if n is not None:
            lines, rows = lines[:n], rows[:n]
        shown = list(zip(lines, repeat(READ), strict=False))
        runs.append(self._run(list(lines), rows, shown, roles=roles))
        if n is not None:
            self._act_on_look(reader, behaviour, lines[-1].at_ns, runs)
        return len(lines)

    def _read_each(
        self, reader: LayoutReader, behaviour: Behaviour, lines: Sequence[Line], runs: list[TextRun]
    ) -> int:
        """Read line by line, until something happens that may make the next line fall due."""
        fitting: list[Line] = []
        rows: list[Values] = []
        shown: _Shown = []
        then: Callable[[], None] | None = None
        roles = behaviour.roles
        for line in lines:
            row, fate = self._row(reader, line)
            shown.append((line, fate))
            if fate == READ:
                self._fits()
            if row is not None:
                fitting.append(line)
                rows.append(row)
                begins = not behaviour.has_begun
                if behaviour.take((line,), (row,)) is not None:
                    then = partial(self._act_on_look, reader, behaviour, line.at_ns, runs)
                if begins or then is not None:
                    break
            elif fate == TEXT and (layout := self._renamed(reader, line.text)) is not None:
                then = partial(self._go_on, layout, line.at_ns, runs, "the heading has another order")
                break
            elif fate != READ and not line.flaws and self._misfits.take(line):
                then = partial(self._follow_change, line.at_ns, runs)
                break
        runs.append(self._run(fitting, rows, shown, roles=roles))
        if then is not None:
            then()
        return len(shown)

    def _fits(self) -> None:
        self._misfits.end()
        self._noise.clear()

    def _act_on_look(
        self, reader: LayoutReader, behaviour: Behaviour, at_ns: int, runs: list[TextRun]
    ) -> None:
        """A look at the newest rows found something: it holds from here on."""
        if behaviour.swapped and self._layout is None:
            swapped = swapped_layout(reader.layout, behaviour.swapped)
            self._ask_about_change("the columns have changed places", (swapped, reader.layout), at_ns, runs)
            return
        self._since_ns = at_ns
        runs.append(self._run())

    def _row(self, reader: LayoutReader, line: Line) -> tuple[Values | None, str]:
        if line.flaws:
            reader.break_off()
            self._take_flawed(line)
            return None, self._set_aside()
        row = reader.values(line.text)
        if row is not None or reader.partial:
            return row, READ
        self._noise.append(NoiseSeen(is_damaged=False, n_bytes=len(line.raw)))
        return None, self._set_aside() if _has_digit(line.text) else TEXT

    # --- the text changes

    def _follow_change(self, at_ns: int, runs: list[TextRun]) -> None:
        """Lines do not fit any more: go on by a layout that does, ask, or tell that there is none."""
        misfits = self._misfits
        if self._layout is not None:
            if not misfits.is_told:
                misfits.is_told = True
                runs.append(self._run(notes=[self._note(at_ns, "layout", _not_as_the_lesson(self._layout))]))
            return
        found = misfits.learn()
        if found is None:
            return
        if found.reader is None:
            if found.doubt is not None:
                self._ask(found.doubt, at_ns, runs, learner=found, before=self._before, can_return=True)
            return
        after, before = found.reader.layout, self._before
        if before is None:
            self._go_on(after, at_ns, runs, "the text has changed")
            return
        decimals = self._behaviour.decimals if self._behaviour is not None else (None,) * len(before.names)
        change = change_between(before.layout, decimals, after, found.reader.newest() or ())
        if change.words:
            self._ask_about_change(change.words, change.layouts, at_ns, runs, can_return=True)
        else:
            self._go_on(change.layouts[0], at_ns, runs, "the text has changed")

    @property
    def _before(self) -> LayoutReader | None:
        """What reads the text, or read it before somebody was asked."""
        return self._asked.before if self._asked is not None else self.reader

    def _go_on(self, layout: Layout, at_ns: int, runs: list[TextRun], why: str) -> None:
        self._words = layout_words(layout)
        self._hold(reader_for(layout), at_ns)
        words = f"{why}: {self._words}" if why else self._words
        runs.append(self._run(notes=[self._note(at_ns, "layout", words)]))

    def _renamed(self, reader: LayoutReader, text: str) -> Layout | None:
        """The layout with its columns in the order of a heading that names the same columns otherwise."""
        layout = reader.layout
        if self._layout is not None or not isinstance(reader, ColumnsReader):
            return None
        cells = heading_cells(text, layout.separator, len(layout.fields))
        names = [name_and_unit(cell)[0] for cell in cells]
        if names == list(reader.names) or sorted(names) != sorted(reader.names):
            return None
        return swapped_layout(layout, [reader.names.index(name) for name in names])

    def _ask_about_change(
        self,
        words: str,
        alternatives: tuple[Layout, ...],
        at_ns: int,
        runs: list[TextRun],
        *,
        can_return: bool = False,
    ) -> None:
        told = f"{words[0].upper()}{words[1:]}. Say which is which; until then nothing is read"
        self._ask(Doubt(told, alternatives), at_ns, runs, before=self._before, can_return=can_return)

    def _ask(
        self,
        doubt: Doubt,
        at_ns: int,
        runs: list[TextRun],
        *,
        learner: Learner | None = None,
        before: LayoutReader | None = None,
        can_return: bool = False,
    ) -> None:
        shown: _Shown = [(line, self._set_aside()) for line in self._waiting]
        self._due_ns = NEVER_NS
        readers = tuple(map(reader_for, doubt.alternatives))
        self._hold(None, at_ns, _Asked(doubt, readers, learner, before, can_return))
        runs.append(self._run(shown=shown, notes=[self._note(at_ns, "doubt", doubt.words)]))

    def _wait_for_answer(self, asked: _Asked, lines: Sequence[Line], runs: list[TextRun]) -> int:
        """Nothing is read; but the text may change again, or be again what it was."""
        shown: _Shown = []
        then: Callable[[], None] | None = None
        for line in lines:
            if line.flaws:
                self._take_flawed(line)
                shown.append((line, self._set_aside()))
                continue
            self._noise.append(NoiseSeen(is_damaged=False, n_bytes=len(line.raw)))
            has_digit = bool(_has_digit(line.text))
            shown.append((line, self._set_aside() if has_digit else TEXT))
            if asked.learner is not None:
                asked.learner.take(line.text)
                if asked.learner.reader is not None:
                    layout = asked.learner.reader.layout
                    then = partial(self._go_on, layout, line.at_ns, runs, "more lines have shown it")
                    break
            if asked.can_return and asked.before is not None and has_digit:
                n_back = asked.n_back + 1 if asked.before.values(line.text) is not None else 0
                asked = self._asked = asked._replace(n_back=n_back)
                if n_back >= N_BACK and asked.before is not None:
                    layout = asked.before.layout
                    then = partial(self._go_on, layout, line.at_ns, runs, "the text is what it was before")
                    break
            if any(one.values(line.text) is not None or one.partial for one in asked.readers):
                self._misfits.end()
                continue
            if self._misfits.take(line):
                then = partial(self._follow_change, line.at_ns, runs)
                break
        runs.append(self._run(shown=shown))
        if then is not None:
            then()
        return len(shown)

    # --- what is wrong

    def _take_flawed(self, line: Line) -> None:
        self._noise.append(NoiseSeen(DAMAGED in line.flaws, len(line.raw)))

    def _set_aside(self) -> str:
        self.n_set_aside += 1
        return SET_ASIDE


def _joined(runs: list[TextRun]) -> list[TextRun]:
    """As few runs as there were changes: those of one layout and the same roles as one."""
    if len(runs) < 2:
        return runs
    joined = [runs[0]]
    for run in runs[1:]:
        last = joined[-1]
        if (run.revision, run.at_ns, run.roles) != (last.revision, last.at_ns, last.roles):
            joined.append(run)
            continue
        joined[-1] = last._replace(
            fitting=last.fitting + run.fitting,
            rows=last.rows + run.rows,
            shown=last.shown + run.shown,
            notes=last.notes + run.notes,
        )
    return joined


def _not_as_the_lesson(layout: Layout) -> str:
    return f"the lines do not fit the lesson's layout {layout.name!r}"
