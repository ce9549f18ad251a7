"""What a lesson says of a field counts more than how its numbers behave."""

from __future__ import annotations

from bridge.core.findings import FindingChange
from bridge.core.pipeline import BenchPipeline
from bridge.lesson_file import lesson_from_text

TENTH_NS = 100_000_000
LESSON = lesson_from_text("""\
title = "Cups"
[[channel]]
name = "temperature"
unit = "°C"
field = "raw"
conversion = "sensor"
[[conversion]]
name = "sensor"
start = "count"
volts_per_unit = 0.010
[[layout]]
name = "count"
kind = "columns"
fields = ["raw"]
[[bench]]
number = 1
layout = "count"
""")


def test_counts_that_rise_one_by_one_are_no_running_number_where_the_lesson_converts_them() -> None:
    pipeline = BenchPipeline(LESSON, 1, cold=False)
    changes = [*pipeline.link("open", 0, baud=9600).changes]
    for i, count in enumerate([*range(42, 92), *[0] * 100], start=1):
        changes += pipeline.feed(b"%d\r\n" % count, i * TENTH_NS).changes
    found = [one for one in changes if isinstance(one, FindingChange)]
    assert [(one.event, one.finding.kind, one.finding.channel) for one in found] == [
        ("found", "bottom rail", "temperature")
    ]
