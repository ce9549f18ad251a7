"""Bands, limits, alarms and phases of a lesson file: what they become, and what is told of wrong ones."""

from __future__ import annotations

import pytest

from bridge.core.lesson import AlarmGiven, Lesson, Phase
from bridge.lesson_file import lesson_from_text, revised
from tests.bridge.lessons import line_of, only_fault

HEAD = """\
title = "Cooling"

[[phase]]
name = "set-up"

[[phase]]
name = "run"
lines_per_second = 5.0

[[channel]]
name = "temperature"
unit = "°C"
low = 10.0
high = 60.0
"""


def lesson_with(*lines: str) -> Lesson:
    return lesson_from_text(HEAD + "\n".join(lines) + "\n")


def fault_of(*lines: str) -> str:
    fault = only_fault(HEAD + "\n".join(lines) + "\n")
    assert fault.line > 0
    assert fault.write
    return fault.wrong


def limits(*lines: str) -> tuple[AlarmGiven, ...]:
    return lesson_with("[[channel.limit]]", *lines).channels[0].limits


def test_the_phases_come_in_the_order_of_the_file() -> None:
    assert lesson_with().phases == (Phase(name="set-up"), Phase(name="run", lines_per_second=5.0))


def test_each_kind_of_limit_becomes_an_alarm() -> None:
    found = limits(
        'kind = "high-high"', "at = 55.0", "latching = true", 'phases = ["run"]',
        "[[channel.limit]]", 'kind = "high"', "at = 50", "needs_acknowledgement = false",
        "[[channel.limit]]", 'kind = "low"', "at = 15.0",
        "[[channel.limit]]", 'kind = "low-low"', "at = 12.0",
        "[[channel.limit]]", 'kind = "rate of change"', "at = 6.0", "deadband = 2", 'side = "below"',
        "window_seconds = 20",
        "[[channel.limit]]", 'kind = "deviation"', "at = 3.0", "least_benches = 5",
        "[[channel.limit]]", 'kind = "stale"', "at = 10.0",
        "[[channel.limit]]", 'kind = "bad quality"', 'quality = "uncertain"',
    )  # fmt: skip
    assert found == (
        AlarmGiven(kind="high-high", at=55.0, latching=True, phases=("run",)),
        AlarmGiven(kind="high", at=50.0, needs_acknowledgement=False),
        AlarmGiven(kind="low", at=15.0),
        AlarmGiven(kind="low-low", at=12.0),
        AlarmGiven(kind="rate of change", at=6.0, deadband=2.0, side="below", window_seconds=20.0),
        AlarmGiven(kind="deviation", at=3.0, least_benches=5),
        AlarmGiven(kind="stale", at=10.0),
        AlarmGiven(kind="bad quality", quality="uncertain"),
    )


def test_several_limits_of_one_kind_have_names() -> None:
    found = limits(
        'kind = "high"', "at = 40", "[[channel.limit]]", 'kind = "high"', 'name = "hot"', "at = 50"
    )
    assert [one.key for one in found] == ["high", "hot"]


def test_an_alarm_on_findings_belongs_to_the_bench() -> None:
    lesson = lesson_with("[[alarm]]", 'findings = ["no bytes"]', 'priority = "high"', 'message = "Help"')
    (alarm,) = lesson.alarms
    assert alarm == AlarmGiven(kind="finding", findings=("no bytes",), priority="high", message="Help")
    assert lesson.alarm("", "finding") == alarm


@pytest.mark.parametrize(
    ("lines", "edges"),
    [
        (("edges = [1.0, 2.5]",), (1.0, 2.5)),
        (("step = 0.1", "steps = 3"), (0.1, 0.2, 0.3)),
        (("percents = [10.0, 25.0]",), (5.0, 12.5)),
    ],
)
def test_edges_are_given_as_a_list_by_steps_or_by_percent(
    lines: tuple[str, ...], edges: tuple[float, ...]
) -> None:
    bands = lesson_with("[channel.bands]", "baseline = 20.0", *lines).channels[0].bands
    assert bands is not None
    assert bands.edges == edges


def test_a_baseline_from_the_start_needs_no_number() -> None:
    bands = lesson_with("[channel.bands]", 'baseline_from = "start"', "edges = [1.0]").channels[0].bands
    assert bands is not None
    assert (bands.baseline, bands.baseline_from, bands.steady_seconds) == (None, "start", 20.0)


@pytest.mark.parametrize(
    ("lines", "wrong"),
    [
        (("edges = [1.0]",), "baseline is missing"),
        (("baseline = 1.0",), "edges is missing"),
        (("baseline = 1.0", "edges = [1.0]", "step = 2.0", "steps = 2"), "one of them is enough"),
        (("baseline = 1.0", "step = 2.0"), "steps is missing"),
        (("baseline = 1.0", "edges = [1.0]", "steps = 2"), "steps goes together with step"),
        (("baseline = 1.0", "percents = [20.0, 10.0]"), "percents must rise, found 10 after 20"),
        (("baseline = 1.0", "edges = [1.0]", 'phases = ["ran"]'), "no phase has that name"),
        (("baseline = 1.0", "edges = [1.0]", "phases = []"), "at least one phase"),
        (("baseline = 1.0", "edges = [1.0]", 'baseline_from = "sart"'), 'did you mean "start"'),
    ],
)  # fmt: skip
def test_wrong_bands_are_told(lines: tuple[str, ...], wrong: str) -> None:
    assert wrong in fault_of("[channel.bands]", *lines)


BANDS = ("[channel.bands]", "baseline = 20.0", "edges = [2.0]", "deadband = 0.5", "dwell_seconds = 3.0")


def test_a_phase_may_have_bands_of_its_own_above_the_same_baseline() -> None:
    channel = lesson_with(
        *BANDS,
        "[[channel.phase_bands]]", 'phases = ["run"]', "step = 5.0", "steps = 2", "deadband = 1.0",
        'names = ["cold", "warm", "hot"]',
        "[[channel.phase_bands]]", 'phases = ["set-up"]', "percents = [10.0]",
    ).channels[0]  # fmt: skip
    run, set_up = channel.phase_bands
    assert (run.phases, run.edges, run.names) == (("run",), (5.0, 10.0), ("cold", "warm", "hot"))
    assert (run.baseline, run.deadband, run.dwell_seconds) == (20.0, 1.0, 3.0)
    assert (set_up.edges, set_up.deadband) == ((5.0,), 0.5)


@pytest.mark.parametrize(
    ("lines", "wrong"),
    [
        (("edges = [1.0]",), "phases is missing"),
        (('phases = ["rum"]', "edges = [1.0]"), 'did you mean "run"'),
        (('phases = ["run"]',), "edges is missing"),
        (('phases = ["run"]', "edges = [2.0, 1.0]"), "edges must rise"),
        (('phases = ["run"]', "edges = [1.0]", 'names = ["a"]'), "names must be one more than edges"),
        (('phases = ["run", "run"]', "edges = [1.0]"), 'bands for "run" already'),
        (('phases = ["run"]', "edges = [1.0]", "deadband = -1.0"), "deadband must be 0 or more"),
        (('phases = ["run"]', "edges = [1.0]", "baseline = 1.0"), "baseline"),
    ],
)
def test_wrong_bands_of_a_phase_are_told_in_words(lines: tuple[str, ...], wrong: str) -> None:
    assert wrong in fault_of(*BANDS, "[[channel.phase_bands]]", *lines)


def test_bands_of_a_phase_need_bands_that_say_where_the_baseline_is() -> None:
    wrong = fault_of("[[channel.phase_bands]]", 'phases = ["run"]', "edges = [1.0]")
    assert "the channel has no [channel.bands]" in wrong


def test_a_phase_told_twice_is_told_at_the_second_table() -> None:
    text = "\n".join([*BANDS, *2 * ("[[channel.phase_bands]]", 'phases = ["run"]', "edges = [1.0]")])
    fault = only_fault(HEAD + text + "\n")
    assert fault.line == (HEAD + text).count("\n")


@pytest.mark.parametrize(
    ("lines", "wrong"),
    [
        (('kind = "high"',), "at is missing"),
        (('kind = "stale"', "at = 0.0"), "at must be above 0 for stale"),
        (('kind = "deviation"', "at = 2.0", "deadband = 2.0"), "deadband must be less than at"),
        (('kind = "high"', "at = 2.0", 'side = "above"'), "side belongs to a limit of kind rate of change"),
        (('kind = "bad quality"', "at = 2.0"), "at belongs to a limit of kind low-low"),
        (('kind = "stale"', "at = 2.0", "deadband = 1.0"), "deadband belongs to a limit of kind"),
        (('kind = "high"', "at = 2.0", 'phases = ["rum"]'), 'did you mean "run"'),
        (('kind = "finding"',), "kind must be one of"),
        (
            ('kind = "high-high"', "at = 2.0", "[[channel.limit]]", 'kind = "high"', "at = 2.0"),
            "the high limit must be below the high-high one",
        ),
        (
            ('kind = "high"', "at = 2.0", "[[channel.limit]]", 'kind = "high"', "at = 3.0"),
            "a high limit already; give one of them a name",
        ),
        (
            ('kind = "high"', "at = 2.0", "[[channel.limit]]", 'kind = "stale"', 'name = "high"', "at = 3.0"),
            'a limit "high" already',
        ),
    ],
)  # fmt: skip
def test_a_wrong_limit_is_told(lines: tuple[str, ...], wrong: str) -> None:
    assert wrong in fault_of("[[channel.limit]]", *lines)


def test_a_finding_that_does_not_exist_is_told_with_the_one_that_was_meant() -> None:
    assert 'did you mean "wrong baud"' in fault_of("[[alarm]]", 'findings = ["wrong bauds"]')


def test_a_second_alarm_on_findings_needs_a_name() -> None:
    assert "give each a name" in fault_of("[[alarm]]", "[[alarm]]", 'priority = "low"')


def test_a_phase_that_stands_twice_is_told_at_its_line() -> None:
    text = HEAD.replace('"run"', '"set-up"')
    assert only_fault(text).line == line_of(text, 'name = "set-up"\nlines_per_second')


@pytest.mark.parametrize(
    ("path", "value", "line"),
    [
        (("channel", "temperature", "limit", "hot", "at"), 52.0, "at = 52.0  # hot"),
        (("channel", "temperature", "limit", "high", "at"), 42.0, "at = 42.0  # plain"),
        (("alarm", "finding", "priority"), "high", 'priority = "high"'),
        (("alarm", "quiet", "priority"), "high", 'priority = "high"'),
        (("phase", "run", "note"), "pour", 'note = "pour"'),
    ],
)
def test_limits_alarms_and_phases_are_changed_by_their_keys(
    path: tuple[str, ...], value: object, line: str
) -> None:
    text = HEAD + (
        '[[channel.limit]]\nkind = "high"\nname = "hot"\nat = 50.0  # hot\n'
        '[[channel.limit]]\nkind = "high"\nat = 40.0  # plain\n[[alarm]]\n[[alarm]]\nname = "quiet"\n'
    )
    after = revised(text, [(path, value)])
    assert line in after
    before_lines, after_lines = text.splitlines(), after.splitlines()
    changed = [one for one in after_lines if one not in before_lines]
    assert changed == [line]


def test_a_limit_with_a_name_is_made_with_its_kind() -> None:
    changes = {"kind": "high", "at": 50.0}
    path = ("channel", "temperature", "limit", "hot")
    made = revised(HEAD, [((*path, key), value) for key, value in changes.items()])
    assert lesson_from_text(made).channels[0].limits == (AlarmGiven(kind="high", name="hot", at=50.0),)
