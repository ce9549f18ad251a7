"""What may be changed in a lesson, and what is typed into its fields."""

from __future__ import annotations

import pytest

from bridge import try_changes
from dashboard.shipped import demo_folder
from dashboard.what_if import Change, NoValueError, Setting, change_of, settings_of, text_of, value_of
from tests.bridge.lessons import FULL
from tests.dashboard.what_if.recorded import LESSON

DEMO = (demo_folder() / "lesson.toml").read_text(encoding="utf-8")
RATE = LESSON.replace('kind = "high"\nat = 50.0', 'kind = "rate of change"\nname = "warming"\nat = 5.0')
KINDS = {
    "platinum": 'start = "count"\nkind = "platinum"\nfixed_ohms = 1000.0\nsensor_leg = "lower"\n',
    "ntc beta": 'start = "ohms"\nkind = "ntc beta"\nohms_at_25 = 10000.0\nbeta_kelvin = 3950.0\n',
    "ratiometric": 'start = "volts"\nkind = "ratiometric"\nfraction_per_unit = 0.01\n',
    "polynomial": 'start = "volts"\nkind = "polynomial"\ncoefficients = [-50.0, 100.0]\n',
}


def all_settings(text: str) -> list[Setting]:
    return [one for group in settings_of(text) for one in group.settings]


def of(text: str, *path: str | int) -> Setting:
    return next(one for one in all_settings(text) if one.path == path)


@pytest.mark.parametrize("text", [DEMO, FULL, LESSON, RATE])
def test_what_stands_in_a_field_changes_nothing_until_somebody_types(text: str) -> None:
    assert all_settings(text)
    assert [change_of(one, text_of(one.value)) for one in all_settings(text)] == [None] * len(
        all_settings(text)
    )


@pytest.mark.parametrize("text", [DEMO, FULL, LESSON, RATE])
def test_every_setting_leads_to_a_key_of_the_lesson(text: str) -> None:
    for one in all_settings(text):
        if one.is_given:
            value = value_of(one, text_of(one.value))
            assert try_changes(text, [Change(setting=one, value=value).as_sent]).faults == (), one.path


@pytest.mark.parametrize("kind", KINDS)
def test_the_keys_of_each_kind_of_sensor_have_a_meaning_there(kind: str) -> None:
    text = f'title = "x"\n[[conversion]]\nname = "sensor"\n{KINDS[kind]}'
    found = all_settings(text)
    assert len(found) >= 2 - (kind == "polynomial")
    for one in found:
        value = value_of(one, text_of(one.value) or "1.5")
        assert try_changes(text, [(one.path, value)]).faults == (), one.path


def test_settings_say_whose_they_are_and_their_unit() -> None:
    volts = of(LESSON, "conversion", "sensor", "reference_volts")
    assert (volts.label, volts.what, volts.unit) == ("reference voltage", "conversion “sensor”", "V")
    assert of(LESSON, "channel", "temperature", "bands", "deadband").unit == "°C"
    rate = of(RATE, "channel", "temperature", "limit", "warming", "at")
    assert (rate.unit, rate.what) == ("°C/min", "limit “warming” of temperature")
    own = of(LESSON, "bench", 3, "channel", "temperature", "conversion")
    assert (own.value, own.words) == ("none", ("sensor", "none"))
    headings = [one.heading for one in settings_of(LESSON)]
    assert headings[:4] == [
        "Conversion “sensor”", "Conversion “none”", "Temperature: bands", "Limit “high” of temperature",
    ]  # fmt: skip
    assert "Used by channel “temperature”." in [one.about for one in settings_of(LESSON)]


def test_a_limit_that_is_not_there_can_be_added() -> None:
    change = change_of(of(LESSON, "channel", "temperature", "limit", "low", "at"), "21,5")
    assert change is not None
    assert change.sentence == "New limit “low” of temperature: from nothing to 21.5 °C"
    lesson = try_changes(LESSON, [change.as_sent]).lesson
    assert lesson is not None
    assert [(one.kind, one.at) for one in lesson.channels[0].limits] == [("high", 50.0), ("low", 21.5)]


def test_a_key_that_is_emptied_is_taken_out() -> None:
    change = change_of(of(LESSON, "channel", "temperature", "bands", "deadband"), " ")
    assert change is not None
    assert (change.value, change.words) == (
        None,
        "from 1.0 °C to 0.0 °C, which holds where the lesson says nothing",
    )
    assert change_of(of(LESSON, "conversion", "sensor", "divisor"), "") is None


@pytest.mark.parametrize(
    ("typed", "value"),
    [("5 10,5 14", (5.0, 10.5, 14.0)), ("5; 10", (5.0, 10.0)), ("[5.0, 10.0]", (5.0, 10.0)), ("−1", (-1.0,))],
)
def test_numbers_stand_apart_by_blanks_or_semicolons(typed: str, value: tuple[float, ...]) -> None:
    assert value_of(of(LESSON, "channel", "temperature", "bands", "edges"), typed) == value


@pytest.mark.parametrize("typed", ["5,10,14", "warm", "nan", "inf", "1e9999", "1_0", "0x10", "٣"])
def test_what_is_no_number_is_told(typed: str) -> None:
    for path in (("bands", "edges"), ("bands", "baseline")):
        with pytest.raises(NoValueError, match="is no number"):
            value_of(of(LESSON, "channel", "temperature", *path), typed)


def test_whole_numbers_and_words_are_told_too() -> None:
    width = of(LESSON, "conversion", "sensor", "width_bits")
    assert value_of(width, "12") == 12
    with pytest.raises(NoValueError, match="no whole number"):
        value_of(width, "10.5")
    with pytest.raises(NoValueError, match="none of 2\\^n"):
        value_of(of(LESSON, "conversion", "sensor", "divisor"), "1024")
    with pytest.raises(NoValueError, match="too long"):
        value_of(width, "1" * 500)
