"""By how much the newest record is wrong, by the lesson's own conversion."""

from __future__ import annotations

from dataclasses import replace
from typing import NamedTuple

from bridge.core.chain import divisor_of
from bridge.core.checking.kept import Numbers
from bridge.core.checking.programs import Program
from bridge.core.checking.space import Fields
from bridge.core.checking.value_parts import relabelled
from bridge.core.conversion import Converter
from bridge.core.lesson import BenchChannel, Channel, Conversion


class Error(NamedTuple):
    """Board minus right, in the channel's unit; None where that can't be told, then perhaps in words."""

    of_value: float | None
    words: str = ""


class NewestError:
    """Compares a record with what the lesson's conversion makes of it."""

    def __init__(self, expected: Conversion, fields: Fields, channel: str) -> None:
        self._fields, self._expected = fields, expected
        label = relabelled(fields.unit, fields.value_unit)
        assert label is not None, "asked before"
        self._label = label
        named, plain = Channel(name=channel, unit=fields.unit), BenchChannel(channel=channel)
        of_volts = expected if expected.start == "volts" else replace(expected, start="volts")
        self._of_volts = Converter(named, plain, of_volts)
        self._right = Converter(named, plain, expected) if fields.has_count else self._of_volts

    def ends(self) -> tuple[float, float]:
        """The least and the most, in counts or volts, that a reading may start from."""
        most = self._expected.reference_volts
        if self._fields.has_count:
            most = float((1 << self._expected.width_bits) - 1)
        least, end = max(self._right.least, 0.0), min(self._right.most, most)
        return (least, end) if least < end else (0.0, most)

    def error(self, record: Numbers | None, program: Program) -> Error:
        """Of a record; `program` says what the printed volts are in."""
        if record is None:
            return Error(None)
        count, printed_volts, value = record
        scale = program.volts.per_volt
        if count is None:
            assert printed_volts is not None
            scale *= program.volts.factor  # the value is right by the volts that are meant
        volts = None if printed_volts is None else printed_volts / scale
        wanted = _value(self._right, volts if count is None else count)
        if value is not None:
            of_board: float | None = (value - self._label.shift) / self._label.scale
        else:
            of_board = _value(self._of_volts, volts)
        if of_board is not None and wanted is not None:
            return Error(of_board - wanted)
        return Error(None, self._volts_words(count, volts))

    def _volts_words(self, count: float | None, volts: float | None) -> str:
        """Where the sensor has no such value the volts themselves are told."""
        if count is None or volts is None:
            return ""
        divisor = divisor_of(self._expected.width_bits, self._expected.divisor)
        right = self._expected.reference_volts * count / divisor
        return f"it prints {volts:.4g} V where {right:.4g} V is right"


def _value(converter: Converter, x: float | None) -> float | None:
    return converter.value(x) if x is not None and converter.least <= x <= converter.most else None
