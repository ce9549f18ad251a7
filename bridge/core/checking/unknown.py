"""Without a lesson: the formula is told, nothing is judged but what contradicts itself."""

from __future__ import annotations

from bridge.core.checking.columns import Columns, columns_of
from bridge.core.checking.curve import Curve
from bridge.core.checking.fitting import own_gain_and_offset
from bridge.core.checking.kept import KeptRecords
from bridge.core.checking.mistakes import Mistake
from bridge.core.checking.programs import Program, standing
from bridge.core.checking.space import Fields, space_of
from bridge.core.checking.value_parts import ValuePart
from bridge.core.checking.verdict import Verdict
from bridge.core.checking.volts_parts import USUAL_REFERENCES, VoltsPart, per_volt_of

_NO_LESSON = "the lesson has no conversion to compare it with"
_PLAIN = ValuePart(Curve("{x}", lambda x: x, line=(1.0, 0.0)))
_PRECISE = 0.02
_WIDE = 12  # bits; wider converters are rare on a bench


def words_without_lesson(kept: KeptRecords, fields: Fields, channel: str) -> Verdict:
    """The count-volts relation, else a straight line from the one printed number to the other."""
    records = kept.records
    if not records:
        return Verdict(state="waiting", words="The check waits for readings")
    columns = columns_of(records, kept.decimals)
    if columns.n_different < 3:
        return Verdict(state="waiting", words="The check waits for readings that differ")
    if columns.count is not None and columns.volts is not None:
        return _volts(columns, fields)
    found = _line(columns, fields, channel)
    words = f"The program computes {found}; {_NO_LESSON}" if found else f"No formula was found; {_NO_LESSON}"
    return Verdict(state="none", words=words, found=found, weight="hint")


def _volts(columns: Columns, fields: Fields) -> Verdict:
    assert columns.volts is not None
    if not columns.volts.numbers.any() and _should_show(columns, fields):
        words = "The program divides in whole numbers: its volts stay 0 while the count moves"
        return Verdict(
            state="wrong", words=words, found="volts = 0, whatever the count",
            mistakes=(Mistake("whole numbers", "divides in whole numbers"),),
            evidence=f"{columns.n_different} different counts are all printed as 0 V",
            remedy="Ask for a decimal point in the formula, so that the division keeps its fraction",
        )  # fmt: skip
    space = space_of(None, Fields(True, True, False, fields.volts_unit, "", ""))
    programs = [space.program(int(row)) for row in space.likely(columns.some(6))]
    found = [one for one in programs if not one.mistakes and standing(one, columns) is not None]
    most = float(columns.x.max())
    found = [one for one in found if most < one.volts.divisor + 1]
    if not found:
        return Verdict(
            state="none", words=f"No usual reference explains the volts; {_NO_LESSON}", weight="hint"
        )
    texts = [one.volts.text for one in found]
    also = f"; also {', '.join(texts[1:4])}" if len(texts) > 1 else ""
    text = f"volts = {texts[0]}"
    return Verdict(
        state="none", words=f"The program computes {text}{also}; {_NO_LESSON}", found=text, weight="hint"
    )


def _should_show(columns: Columns, fields: Fields) -> bool:
    """Whether even the lowest usual reference would print more than 0 for the highest count."""
    assert columns.volts is not None
    most = float(columns.x.max())
    codes = 2 ** max(_WIDE, int(most).bit_length())
    volts = most * min(USUAL_REFERENCES) / codes
    return bool(volts * per_volt_of(fields.volts_unit)[0] > 1.5 * columns.volts.step)


def _line(columns: Columns, fields: Fields, channel: str) -> str:
    """value = gain × x + offset, "" when no line goes through all or the range is too narrow for one."""
    start = "count" if fields.has_count else "volts"
    scale = 1.0 if fields.has_count else per_volt_of(fields.volts_unit)[0]
    line = own_gain_and_offset(Program(VoltsPart(per_volt=scale), _PLAIN), columns, "")
    if line is None:
        return ""
    gain, offset = line.fitted
    if gain.most - gain.least > _PRECISE * abs(gain.number):
        return ""
    name = fields.value_unit or channel
    shift = (
        ""
        if offset.least <= 0 <= offset.most
        else f" {'+' if offset.number > 0 else '−'} {abs(offset.number):.4g}"
    )
    return f"{name} = {gain.number:.5g} × {start}{shift}"
