"""A lesson for each of the boards' programs."""

from __future__ import annotations

LESSON = """\
title = "Cooling cups"

[[channel]]
name = "temperature"
unit = "°C"
field = "raw"
conversion = "sensor"
{more}
[[conversion]]
name = "sensor"
start = "count"
width_bits = 10
reference_volts = 5.0
divisor = "2^n"
volts_per_unit = 0.010

[[layout]]
name = "by hand"
{layout}
[[bench]]
number = 1
name = "No cover"
layout = "by hand"
"""
PRINTED_TEMP = '\n[[channel]]\nname = "printed"\nunit = "°C"\nfield = "temp"\n'
PRINTED_VOLTS = '\n[[channel]]\nname = "volts"\nunit = "V"\n'
LAYOUTS = {
    "counts": 'kind = "columns"\nfields = ["raw"]\n',
    "labels_after": 'kind = "labels-after"\nfields = ["raw", "volts", "temp"]\n',
    "labels_before_lines": 'kind = "record"\nfields = [{ name = "raw", label = "Raw" }, '
    '{ name = "volts", label = "Volts" }, { name = "temp", label = "Temp", unit = "°C" }]\n',
    "integer_division": 'kind = "pairs"\nfields = ["raw", "volts", "temp"]\n',
    "overflow": 'kind = "pairs"\nfields = ["raw", "temp"]\n',
    "watchdog": 'kind = "pairs"\nfields = ["raw", "volts", "temp"]\n',
}


def lesson_text(program: str) -> str:
    """A lesson that converts the count, and shows what the board made of it beside it."""
    layout = LAYOUTS[program]
    more = PRINTED_TEMP * ("temp" in layout) + PRINTED_VOLTS * ("volts" in layout)
    return LESSON.format(more=more, layout=layout)
