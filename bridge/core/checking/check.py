"""The conversion check of one channel of one board: records in, a verdict out."""

from __future__ import annotations

from dataclasses import replace

from bridge.core.chain import divisor_of
from bridge.core.checking.judging import Judge, Judgement
from bridge.core.checking.kept import KeptRecords, Numbers
from bridge.core.checking.mistakes import same_to_a_person, together
from bridge.core.checking.newest_error import NewestError
from bridge.core.checking.programs import Program
from bridge.core.checking.space import Fields
from bridge.core.checking.telling_apart import readings_between
from bridge.core.checking.unknown import words_without_lesson
from bridge.core.checking.value_parts import relabelled
from bridge.core.checking.verdict import Verdict
from bridge.core.checking.wording import amount, formula_of, reads_wrong, remedy_for
from bridge.core.lesson import Conversion
from bridge.core.printed import Printed

_WAITING = "The check waits for more readings that differ: at least three, over some range"


class ConversionCheck:
    """Infers which formula a program computes with, from the count, volts and value that it prints.

    Any two of the three are enough. The verdict depends on which different records came, not on how often
    each did; where the program was changed meanwhile, on the newest ones. `verdict()` changes nothing.

    Args:
        volts_unit: What the volts are printed in, by the text: "V", "mV"; "" when it does not say.
        value_unit: The same of the value; "" stands for the channel's unit.
        expected: The lesson's conversion, None without one: then a formula is told and none is judged.
        channel: Its name, for the words.
        unit: The channel's unit, which the conversion gives.
    """

    def __init__(
        self,
        *,
        has_count: bool,
        has_volts: bool,
        has_value: bool,
        volts_unit: str,
        value_unit: str,
        expected: Conversion | None,
        channel: str,
        unit: str,
    ) -> None:
        if expected is not None and expected.start == "volts" and has_volts:
            if has_value:
                has_count = False  # the lesson does not say what a count means
            else:
                expected = None
        self._expected, self._channel, self._unit = expected, channel, unit
        self._fields = Fields(has_count, has_volts, has_value, volts_unit, value_unit, unit)
        self._kept = KeptRecords(has_count=has_count, has_volts=has_volts, has_value=has_value)
        self._last: Numbers | None = None
        self._label = relabelled(unit, value_unit)
        self._refused = self._refusal()
        self._judge: Judge | None = None
        self._judged: tuple[tuple[int, int], Judgement] | None = None
        self._unjudged: tuple[int, Verdict] | None = None
        if expected is not None and not self._refused:
            self._newest = NewestError(expected, self._fields, channel)
            readings = readings_between(*self._newest.ends(), is_count=has_count)
            self._judge = Judge(expected, self._fields, readings)

    def take(self, count: Printed | None, volts: Printed | None, value: Printed | None) -> None:
        """One record, as printed; one without all its numbers says nothing."""
        if self._refused:
            return
        record = self._kept.take(count, volts, value)
        if record is not None:
            self._last = record

    def verdict(self) -> Verdict:
        """What the records say so far, with the error of the newest one."""
        if self._refused:
            return Verdict(state="none", words=self._refused, weight="hint")
        kept = self._kept
        if self._judge is None:
            if self._unjudged is None or self._unjudged[0] != kept.version:
                self._unjudged = kept.version, words_without_lesson(kept, self._fields, self._channel)
            return self._unjudged[1]
        if self._judged is None or self._judged[0] != self._version(self._judged[1]):
            judgement = self._judge.judge(kept)
            self._judged = self._version(judgement), judgement
        return self._worded(self._judge, self._judged[1])

    def _version(self, judgement: Judgement) -> tuple[int, int]:
        """Of the records that a judgement hangs on."""
        return self._kept.version, self._kept.recent_version if judgement.is_of_newest else 0

    def _refusal(self) -> str:
        """Why nothing can be checked, "" when something can."""
        fields, expected = self._fields, self._expected
        if fields.has_count + fields.has_volts + fields.has_value < 2:
            return (
                "The board prints too little to check its formula: two of count, volts and value are needed"
            )
        if expected is None:
            return ""
        if expected.start == "ohms":
            return "The lesson's conversion starts from ohms: the program's formula is not checked"
        if expected.start == "volts" and not fields.has_volts:
            return "The lesson's conversion starts from volts, which the board does not print"
        if fields.has_value and self._label is None:
            return (
                f"The board prints {fields.value_unit}, which is no {self._unit}: its formula is not checked"
            )
        return ""

    def _worded(self, judge: Judge, judgement: Judgement) -> Verdict:
        fields = self._fields
        expected = self._formula(judge.right)
        programs = judgement.found.programs
        error = self._newest.error(self._last, programs[0] if programs else judge.right)
        by = error.of_value
        note = f" {judgement.note}" if judgement.note else ""
        common = Verdict(
            state=judgement.state, words=_WAITING, expected=expected, reads_wrong_by=by,
            would_tell=judgement.would_tell,
        )  # fmt: skip
        if judgement.state == "waiting":
            return common
        decimals = self._kept.decimals[2] if fields.has_value else 3
        wrong = reads_wrong(by, self._unit, decimals) or error.words
        if not programs:
            misfit = ""
            if judgement.misfit is not None:
                left = amount(judgement.misfit, fields.value_unit or self._unit, decimals)
                misfit = f": the lesson's misses them by up to {left}"
            words = f"No simple formula explains the printed numbers{misfit}"
            return replace(common, words=words, evidence=self._evidence(judgement), weight="hint")
        first = programs[0]
        if judgement.state == "right":
            through = (
                f", through {first.through}" if first.through and first.through != "printed volts" else ""
            )
            words = f"The program computes as the lesson does{note}{through}"
            return replace(common, words=words, found=self._formula(first))
        rivals = tuple(one.mistakes for one in programs[1:])
        words = f"The program {together(first.mistakes)}"
        if judgement.state == "undecided":
            words = "The program does not compute as the lesson does, and the range is too narrow to say why"
        elif rivals and not same_to_a_person(first.mistakes, rivals[0]):
            words += f", or it {together(rivals[0])}"
        if [one.kind for one in first.mistakes] == ["volts scale"] and not first.volts.is_carried:
            wrong = "its value is right" if fields.has_value and fields.has_count else wrong
        if wrong:
            words += f": {wrong}"
        is_slight = [one.kind for one in first.mistakes] == ["divisor"] and first.mistakes[0].rarity == 0
        assert self._expected is not None
        divisor = divisor_of(self._expected.width_bits, self._expected.divisor)
        return replace(
            common, words=words, found=self._formula(first), rivals=rivals,
            mistakes=first.mistakes, evidence=self._evidence(judgement),
            remedy=f"{remedy_for(first, self._expected, divisor)}",
            weight="hint" if is_slight or judgement.state == "undecided" else "fault",
        )  # fmt: skip

    def _formula(self, program: Program) -> str:
        unit = self._fields.value_unit or self._unit
        return formula_of(program, unit=unit, channel=self._channel, has_count=self._fields.has_count)

    def _evidence(self, judgement: Judgement) -> str:
        if self._last is None:
            return ""
        count, volts, value = self._last
        parts = []
        if count is not None:
            parts.append(f"count {count:.10g}")
        if volts is not None:
            parts.append(f"{volts:.10g} {self._fields.volts_unit or 'V'}")
        if value is not None:
            parts.append(f"{value:.10g} {self._fields.value_unit or self._unit}".rstrip())
        seen = f"It prints {' beside '.join(parts)}"
        return f"{seen}; {judgement.n_records} different readings agree in this"
