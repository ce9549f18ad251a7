from __future__ import annotations

import dataclasses
import tomllib

import pytest

from bridge.core.lesson import (
    AlarmGiven,
    BandsGiven,
    Bench,
    BenchChannel,
    CalibrationGiven,
    Channel,
    Conversion,
    FieldSpec,
    Layout,
    Lesson,
    Phase,
)
from bridge.lesson_keys import KEY_OF, KEYS, REQUIRED, Key, keys_as_markdown
from bridge.lesson_reading import lesson_of
from bridge.lesson_tables import Faults
from tests.bridge.lessons import FULL

HOMES = {
    "": Lesson, "channel": Channel, "channel.bands": BandsGiven, "channel.phase_bands": BandsGiven,
    "channel.limit": AlarmGiven, "conversion": Conversion, "layout": Layout, "layout.fields": FieldSpec,
    "bench": Bench,
    "bench.channel.*": BenchChannel, "bench.channel.*.calibration": CalibrationGiven, "alarm": AlarmGiven,
    "phase": Phase,
}  # fmt: skip


def test_the_reader_asks_for_every_key_of_the_table_and_for_no_other() -> None:
    faults = Faults("lesson.toml", {}, recovered=False)
    lesson_of(tomllib.loads(FULL), faults)
    assert faults.asked == set(KEY_OF)


@pytest.mark.parametrize(
    "key", [key for key in KEYS if not key.example.startswith("{")], ids=lambda key: key.path
)
def test_each_example_is_toml_with_its_key(key: Key) -> None:
    name = key.name.replace("*", "temperature")
    assert name in str(tomllib.loads(key.example))


@pytest.mark.parametrize(
    "key", [key for key in KEYS if key.default not in (REQUIRED, None)], ids=lambda key: key.path
)
def test_what_holds_without_a_key_is_what_the_value_has(key: Key) -> None:
    defaults = {field.name: field.default for field in dataclasses.fields(HOMES[key.table])}
    assert defaults[key.name] == key.default
    assert type(defaults[key.name]) is type(key.default)


@pytest.mark.parametrize("key", [key for key in KEYS if key.default is REQUIRED], ids=lambda key: key.path)
def test_a_required_key_is_one_that_the_value_needs(key: Key) -> None:
    (field,) = (field for field in dataclasses.fields(HOMES[key.table]) if field.name == key.name)
    assert field.default is dataclasses.MISSING


def test_the_markdown_has_a_row_for_every_key() -> None:
    rows = [line for line in keys_as_markdown().split("\n") if line.startswith("| `")]
    assert [row.split("`")[1] for row in rows] == [
        key.name for table in dict.fromkeys(key.table for key in KEYS) for key in KEYS if key.table == table
    ]
    assert all(row.replace("\\|", "").count("|") == 5 for row in rows)


@pytest.mark.parametrize("key", KEYS, ids=lambda key: key.path)
def test_the_table_says_what_holds_without_a_key_that_may_be_left_out(key: Key) -> None:
    assert (key.default is None) == bool(key.absent)
