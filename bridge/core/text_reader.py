"""From framed lines to rows of numbers: by the lesson's layout, or by one that is learned from the text.

Nothing depends on how lines are handed over, nor on when the time is told: what falls due is done with the
lines that came before that instant, and bears that instant.
"""

from __future__ import annotations

from bisect import bisect_left
from collections import deque
from collections.abc import Sequence
from operator import attrgetter
from typing import Literal

from bridge.core.asking import Asking
from bridge.core.changing import change_between, swapped_layout
from bridge.core.doubts import Doubt
from bridge.core.framing import Line
from bridge.core.layout_words import LayoutShown, layout_shown, layout_words
from bridge.core.layouts import LayoutReader, reader_for
from bridge.core.learning import Learner
from bridge.core.lesson import Layout
from bridge.core.limits import NEVER_NS
from bridge.core.misfits import Misfits
from bridge.core.reading_lines import Reading, Taken
from bridge.core.readings import Note
from bridge.core.roles import RoleFound
from bridge.core.text_findings import (
    TextFinding,
    changed_finding,
    noise_finding,
    not_as_the_lesson_finding,
    run_together_finding,
)
from bridge.core.text_runs import READ as READ
from bridge.core.text_runs import SET_ASIDE as SET_ASIDE
from bridge.core.text_runs import TEXT as TEXT
from bridge.core.text_runs import WAITING as WAITING
from bridge.core.text_runs import Fates, Shown, joined
from bridge.core.text_runs import TextRun as TextRun

Sure = Literal["lesson", "sure", "doubtful", "unknown"]

LEARN_NS = 5_000_000_000  # after so long it is decided by what there is
N_SAMPLES = 6  # newest raw texts that are kept to be shown
MAX_WAITING_LINES = 64  # lines that wait for a layout; of more, the oldest are set aside
BLOCK_LINES = 4096  # read at once; one line that does not fit makes its block be read line by line

_at_ns = attrgetter("at_ns")


class TextReader:
    """Reads one bench's lines in their order, and learns how where the lesson gives no layout."""

    def __init__(self, bench: int, layout: Layout | None) -> None:
        self._bench = bench
        self.revision = 0  # rises when the layout changes
        self._fates = Fates()
        self._layout: Layout | None = None  # the lesson's
        self._words = ""
        # One of three: a layout holds, somebody is asked, or it is learned.
        self._reading: Reading | None = None
        self._asking: Asking | None = None
        self._learner = Learner()
        self._waiting: list[Line] = []
        self._due_ns = NEVER_NS  # for the learner
        self._since_ns = 0  # when the layout was found or given, or its roles were
        self._samples: deque[str] = deque(maxlen=N_SAMPLES)
        self._start(layout, 0)

    @property
    def reader(self) -> LayoutReader | None:
        """What reads the lines; None: nothing can be read yet."""
        return self._reading.reader if self._reading is not None else None

    @property
    def n_set_aside(self) -> int:
        """Lines that became no reading, though they are no plain text either."""
        return self._fates.n_set_aside

    @property
    def layout_words(self) -> str:
        """How the text is read, in words."""
        if self._layout is not None:
            return f"as the lesson says: {self._layout.name}"
        return self.doubt or self._words or "not known yet"

    @property
    def doubt(self) -> str:
        """Why no line is read, when the text can be read in more than one way."""
        return self._asking.doubt.words if self._asking is not None else ""

    @property
    def alternatives(self) -> tuple[Layout, ...]:
        """The layouts between which the doubt is."""
        return self._asking.doubt.alternatives if self._asking is not None else ()

    def side_by_side(self) -> tuple[LayoutShown, ...]:
        """How each alternative reads the newest texts."""
        return tuple(layout_shown(one, self.samples) for one in self.alternatives)

    @property
    def sure(self) -> Sure:
        """How sure the layout is."""
        if self._layout is not None:
            return "lesson"
        if self._asking is not None:
            return "doubtful"
        return "unknown" if self.reader is None else "sure"

    @property
    def roles(self) -> tuple[RoleFound, ...]:
        """What each field is by its behaviour, as far as known: in the order of the reader's names."""
        return self._reading.behaviour.roles if self._reading is not None else ()

    @property
    def samples(self) -> tuple[str, ...]:
        """The newest raw texts."""
        return tuple(self._samples)

    @property
    def findings_of_text(self) -> tuple[TextFinding, ...]:
        """What is wrong with the text now, as far as learning shows it."""
        newest = self.samples[-1] if self.samples else ""
        misfits = self._misfits
        texts = self._learner.run_together if misfits is None else misfits.run_together
        field = self._reading.behaviour.run_together if self._reading is not None else ""
        found = [noise_finding(self._fates.noise), run_together_finding(texts, field, newest)]
        if self._layout is not None and misfits is not None and misfits.is_told:
            found.append(not_as_the_lesson_finding(self._layout.name, misfits.n, misfits.newest))
        elif self._layout is not None and self._reading is not None and self._reading.behaviour.swapped:
            words = "The columns have changed places: they are not those of the lesson's layout"
            found.append(changed_finding(words, newest))
        elif self._asking is not None and self._asking.before is not None:
            found.append(changed_finding(self.doubt, newest))
        return tuple(one for one in found if one is not None)

    def take(self, lines: Sequence[Line]) -> list[TextRun]:
        """Read lines; more than one run when something changed within them."""
        self._samples.extend([line.text for line in lines[-N_SAMPLES:]])
        runs: list[TextRun] = []
        self._take_all(lines, runs)
        return joined(runs)

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
        return joined(runs)

    def finish(self, at_ns: int) -> list[TextRun]:
        """No more lines will come: what waits is read if it can be."""
        runs = self.tick(at_ns)
        if self._reading is None and self._asking is None:
            self._learner.finish()
            self._begin(self._waiting[-1].at_ns if self._waiting else at_ns, runs)
        behaviour = self._reading.behaviour if self._reading is not None else None
        if behaviour is not None and behaviour.due_ns < NEVER_NS and behaviour.look():
            self._since_ns = at_ns
            runs.append(self._run())
        return joined(runs)

    def break_off(self, cut: Sequence[Line]) -> Shown:
        """The board's text broke off: forget a half record. `cut`: half lines, which are set aside."""
        if self.reader is not None:
            self.reader.break_off()
        return [(line, self._fates.flawed(line)) for line in cut]

    def set_layout(self, layout: Layout | None, at_ns: int) -> list[TextRun]:
        """The lesson gives another layout, or none: then it is learned anew."""
        return [] if layout == self._layout else self._start_anew(layout, at_ns)

    def relearn(self, at_ns: int) -> list[TextRun]:
        """Learn the layout anew, unless the lesson gives it."""
        return [] if self._layout is not None else self._start_anew(None, at_ns)

    # --- the layout that holds

    @property
    def _misfits(self) -> Misfits | None:
        """The lines that do not fit what is known."""
        state = self._reading or self._asking
        return state.misfits if state is not None else None

    def _start_anew(self, layout: Layout | None, at_ns: int) -> list[TextRun]:
        shown: Shown = [(line, self._fates.set_aside()) for line in self._waiting]
        self._start(layout, at_ns)
        return [self._run(shown=shown)]

    def _start(self, layout: Layout | None, at_ns: int) -> None:
        self._layout, self._learner = layout, Learner()
        self._hold(None if layout is None else reader_for(layout), at_ns)

    def _hold(self, reader: LayoutReader | None, at_ns: int, asking: Asking | None = None) -> None:
        """From here on the text is read so, or somebody is asked, or it is learned."""
        self._reading = None
        if reader is not None:
            self._reading = Reading(reader, self._fates, is_learned=self._layout is None)
        self._asking, self._since_ns = asking, at_ns
        self._waiting, self._due_ns = [], NEVER_NS
        self.revision += 1

    def _next_due(self) -> int:
        return self._due_ns if self._reading is None else self._reading.behaviour.due_ns

    def _decide_due(self, due_ns: int, runs: list[TextRun]) -> None:
        if self._reading is None:
            self._due_ns = NEVER_NS
            self._learner.time_is_up()
            self._begin(due_ns, runs)
        elif self._reading.behaviour.look():
            self._since_ns = due_ns
            runs.append(self._run())

    def _run(
        self,
        taken: Taken | None = None,
        *,
        shown: Shown | None = None,
        notes: list[Note] | None = None,
    ) -> TextRun:
        roles = self.roles if taken is None else taken.roles
        fitting, rows = (taken.fitting, taken.rows) if taken is not None else ([], [])
        told = taken.shown if taken is not None else shown or []
        return TextRun(self.revision, self._since_ns, self.reader, roles, fitting, rows, told, notes or [])

    def _note(self, at_ns: int, kind: str, words: str) -> Note:
        return Note(at_ns, self._bench, kind, words)

    def _take(self, lines: Sequence[Line], runs: list[TextRun]) -> int:
        """Take lines until something changes; how many were taken."""
        if self._reading is not None:
            return self._read(self._reading, lines, runs)
        return self._learn(lines, runs) if self._asking is None else self._hear(self._asking, lines, runs)

    def _learn(self, lines: Sequence[Line], runs: list[TextRun]) -> int:
        """Show the lines to the learner until it knows how to read; then read all that waited, in order."""
        learner = self._learner
        shown: Shown = []
        n_taken = 0
        for line in lines:
            n_taken += 1
            if line.flaws:
                shown.append((line, self._fates.flawed(line)))
                continue
            learner.take(line.text)
            self._waiting.append(line)
            shown.append((line, self._fates.waits(line)))
            if learner.reader is not None or learner.doubt is not None:
                break
            if len(self._waiting) > MAX_WAITING_LINES:
                shown.append((self._waiting.pop(0), self._fates.set_aside()))
            if self._due_ns == NEVER_NS and learner.has_begun and not learner.is_late:
                self._due_ns = line.at_ns + LEARN_NS
                break  # the lines that follow may come after that instant
        runs.append(self._run(shown=shown))
        if learner.reader is not None or learner.doubt is not None:
            self._begin(lines[n_taken - 1].at_ns, runs)
        return n_taken

    def _begin(self, at_ns: int, runs: list[TextRun]) -> None:
        """Read what waited when the learner knows how; ask when it knows that nobody can."""
        learner, waited = self._learner, self._waiting
        if learner.reader is not None:
            self._words = learner.words
            self._hold(learner.reader, at_ns)
            runs.append(self._run(notes=[self._note(at_ns, "layout", learner.words)]))
            self._take_all(waited, runs)
        elif learner.doubt is not None:
            self._ask(Asking(learner.doubt, self._fates, learner=learner), at_ns, runs)

    def _read(self, reading: Reading, lines: Sequence[Line], runs: list[TextRun]) -> int:
        taken = reading.take(lines)
        runs.append(self._run(taken))
        if taken.event:
            at_ns = taken.shown[-1][0].at_ns
            if taken.event == "looked":
                self._act_on_look(reading, at_ns, runs)
            elif taken.event == "misfits":
                self._follow_change(reading.misfits, at_ns, runs)
            elif reading.renamed is not None:
                self._go_on(reading.renamed, at_ns, runs, "the heading has another order")
        return len(taken.shown)

    def _hear(self, asking: Asking, lines: Sequence[Line], runs: list[TextRun]) -> int:
        """Nothing is read; but the text may change again, or show how it is to be read."""
        heard = asking.hear(lines)
        runs.append(self._run(shown=heard.shown))
        if heard.event:
            at_ns = heard.shown[-1][0].at_ns
            if asking.settled is not None:
                layout, why = asking.settled
                self._go_on(layout, at_ns, runs, why)
            else:
                self._follow_change(asking.misfits, at_ns, runs)
        return len(heard.shown)

    def _act_on_look(self, reading: Reading, at_ns: int, runs: list[TextRun]) -> None:
        """A look at the newest rows found something: it holds from here on."""
        layout, swapped = reading.reader.layout, reading.behaviour.swapped
        if swapped and self._layout is None:
            ways = (swapped_layout(layout, swapped), layout)
            self._ask_which_is_which("the columns have changed places", ways, at_ns, runs)
            return
        self._since_ns = at_ns
        runs.append(self._run())

    def _follow_change(self, misfits: Misfits, at_ns: int, runs: list[TextRun]) -> None:
        """Lines do not fit any more: go on by a layout that does, ask, or tell that there is none."""
        if self._layout is not None:
            if not misfits.is_told:
                misfits.is_told = True
                words = f"the lines do not fit the lesson's layout {self._layout.name!r}"
                runs.append(self._run(notes=[self._note(at_ns, "layout", words)]))
            return
        found = misfits.learn()
        if found is None:
            return
        before = self._before
        if found.reader is None and found.doubt is not None:
            asking = Asking(found.doubt, self._fates, learner=found, before=before, can_return=True)
            self._ask(asking, at_ns, runs)
            return
        if found.reader is None:
            return
        after = found.reader.layout
        if before is None:
            self._go_on(after, at_ns, runs, "the text has changed")
            return
        decimals = self._reading.behaviour.decimals if self._reading is not None else ()
        change = change_between(before.layout, decimals, after, found.reader.newest() or ())
        if change.words:
            self._ask_which_is_which(change.words, change.layouts, at_ns, runs, can_return=True)
        else:
            self._go_on(change.layouts[0], at_ns, runs, "the text has changed")

    @property
    def _before(self) -> LayoutReader | None:
        """What reads the text, or read it before somebody was asked."""
        return self._asking.before if self._asking is not None else self.reader

    def _go_on(self, layout: Layout, at_ns: int, runs: list[TextRun], why: str) -> None:
        self._words = layout_words(layout)
        self._hold(reader_for(layout), at_ns)
        runs.append(self._run(notes=[self._note(at_ns, "layout", f"{why}: {self._words}")]))

    def _ask_which_is_which(
        self,
        words: str,
        ways: tuple[Layout, ...],
        at_ns: int,
        runs: list[TextRun],
        *,
        can_return: bool = False,
    ) -> None:
        told = f"{words[0].upper()}{words[1:]}. Say which is which; until then nothing is read"
        asking = Asking(Doubt(told, ways), self._fates, before=self._before, can_return=can_return)
        self._ask(asking, at_ns, runs)

    def _ask(self, asking: Asking, at_ns: int, runs: list[TextRun]) -> None:
        shown: Shown = [(line, self._fates.set_aside()) for line in self._waiting]
        self._hold(None, at_ns, asking)
        runs.append(self._run(shown=shown, notes=[self._note(at_ns, "doubt", asking.doubt.words)]))
