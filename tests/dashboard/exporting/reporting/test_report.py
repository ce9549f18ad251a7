"""The report: everything in it, nothing from elsewhere, no text of a board ever markup."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import pytest

from bridge import BandStay, JournalEntry, PhaseStart
from bridge.core.bands_given import BandsGiven
from bridge.core.calibration_given import CalibrationPoint
from bridge.core.lesson import (
    Bench,
    BenchChannel,
    CalibrationGiven,
    Channel,
    Conversion,
    Lesson,
)
from bridge.core.readings import AlarmChange, AlarmEvent
from dashboard.class_known import class_known
from dashboard.comparison_asked import Asked, Compared, compared
from dashboard.exporting import gathered
from dashboard.exporting.cautions import CAUTIONS
from dashboard.exporting.pictures import pictures_of
from dashboard.exporting.reporting import times
from dashboard.exporting.reporting.conversions import steps_of
from dashboard.exporting.reporting.episodes import episodes_of, other_deeds
from dashboard.exporting.reporting.html import shown
from dashboard.exporting.reporting.report import report_of
from dashboard.exporting.session import Moment, Session
from tests.dashboard.exporting.made import LESSON, recording_in, session_of, silent
from tests.dashboard.exporting.xml import Page, parsed


@pytest.fixture(scope="module")
def session(tmp_path_factory: pytest.TempPathFactory) -> Session:
    recording = recording_in(tmp_path_factory.mktemp("report"), n=60)
    return gathered(recording, lesson=None, progress=silent())


def compared_of(session: Session) -> Compared:
    assert session.kept is not None
    return compared(session.kept, Asked(path=Path(session.file), channel="Temp", response="none"))


def page_of(session: Session, bench: int | None = None) -> str:
    mine, found = session if bench is None else session.of_bench(bench), compared_of(session)
    return report_of(mine, list(pictures_of(mine, found)), found)


def test_the_class_is_told_everything(session: Session) -> None:
    words = Page(page_of(session)).words
    headings = (
        "The job", "How it was compared", "Pictures", "Figures", "Values at round times", "Times in bands",
        "Findings", "Alarms", "Set-up", "Conversions", "Calibration", "Course of the session", "Cautions",
    )  # fmt: skip
    places = [words.index(one) for one in headings]
    assert places == sorted(places)
    assert "Cups & <covers>" in words
    assert "Wool (1)" in words
    assert "=Foil (2)" in words
    assert "Temp: 79.5 C" in words  # the newest line as it was sent
    assert "<poured>" in words
    assert all(caution in words for caution in CAUTIONS)
    assert re.search(r"\d ± \d", words)


def test_a_group_is_told_its_own_and_the_classes_median(session: Session) -> None:
    words = Page(page_of(session, 1)).words
    assert "Report of" in words
    assert "Wool (1)" in words
    assert "=Foil (2)" not in words
    assert "Class median" in words


def test_the_page_needs_nothing_else_and_runs_nothing(session: Session) -> None:
    page = Page(page_of(session))
    assert not {"script", "link", "iframe", "img", "object", "form", "base"} & set(page.tags)
    assert not [name for name, _ in page.attributes if name.startswith("on")]
    addresses = [value or "" for name, value in page.attributes if name in ("href", "src", "xlink:href")]
    assert addresses == []
    assert "url(" not in page_of(session)
    assert ("content", "default-src 'none'; style-src 'unsafe-inline'") in page.attributes


def test_no_text_of_a_board_or_a_lesson_becomes_markup(tmp_path: Path) -> None:
    nasty = "</title><script>alert(1)</script><img src=x onerror=alert(1)>"
    lesson = (
        LESSON.replace('"Wool"', f'"{nasty}"').replace('"Too warm"', f'"{nasty}"').replace("Cups &", nasty)
    )
    lesson = lesson.replace('quantity = "water', f'quantity = "{nasty}')
    made = gathered(recording_in(tmp_path, n=40, lesson=lesson), lesson=None, progress=silent())
    made = replace(made, markers=(Moment(3.0, None, nasty),), links=(Moment(0.0, 1, nasty),))
    for bench in (None, 1):
        page = Page(page_of(made, bench))
        assert not {"script", "img"} & set(page.tags)
        assert page.words.count("<script>alert(1)</script>") >= 5


def test_every_picture_of_the_report_is_well_formed_and_named_once(session: Session) -> None:
    pictures = list(pictures_of(session, compared_of(session)))
    assert [one.name for one in pictures] == [  # a median needs three benches
        "curves",
        "each-bench",
        "figure-level-in-common",
        "figure-noise",
        "bands",
    ]
    assert [parsed(one.svg).get("aria-label") for one in pictures] == [one.title for one in pictures]
    assert page_of(session).count("<figure>") == 5


def test_both_papers_are_served_by_one_margin_and_headings_stay_with_their_text(session: Session) -> None:
    page = page_of(session)
    (style,) = re.findall(r"<style>(.*?)</style>", page, re.DOTALL)
    assert "@page { margin:" in style
    assert "size:" not in re.findall(r"@page \{[^}]*\}", style)[0]  # the paper is the reader's
    assert re.search(r"h2, h3, h2 \+ p \{ break-after: avoid", style)
    assert "display: table-header-group" in style


def test_the_conversion_is_told_step_by_step() -> None:
    sensor = Conversion(name="s", start="count", width_bits=10, reference_volts=5.0, divisor="2^n-1",
                        offset_volts=0.5, volts_per_unit=0.01, reference_tolerance_volts=0.05)  # fmt: skip
    own = BenchChannel(channel="t", field="raw", conversion="s", offset=-0.6)
    bench = Bench(number=1, name="One", shape="circle", colour="orange", channels=(own,))
    lesson = Lesson(
        title="T", channels=(Channel(name="t", unit="°C"),), conversions=(sensor,), benches=(bench,)
    )
    made = replace(session_of([{}]), lesson=lesson)
    assert steps_of(made, 1, "t") == [
        "printed number: raw",
        "volts = count × 5 V / 1023 (10 bits)",
        "value = (volts − 0.5 V) / 0.01 V per °C",
        "reference tolerance volts 0.05",
        "corrected: value − 0.6 °C",
    ]
    assert steps_of(made, 2, "t") == ["printed number: t", "taken as it is printed"]
    assert steps_of(made, 1, "other") == []


def test_a_calibration_is_told_with_its_points() -> None:
    given = CalibrationGiven(
        points=(CalibrationPoint(20.0, 20.4, 0.05), CalibrationPoint(40.0, 40.6)), fit="line",
        date="2026-03-01", reference="glass thermometer",
    )  # fmt: skip
    own = BenchChannel(channel="t", calibration=given)
    bench = Bench(number=1, name="One", shape="circle", colour="orange", channels=(own,))
    made = replace(
        session_of([{}]), lesson=Lesson(title="T", channels=(Channel(name="t"),), benches=(bench,))
    )
    words = Page(report_of(made, [], None)).words
    assert "fit: line; 2026-03-01; reference: glass thermometer" in words
    assert re.search(r"40\s+40\.6\s+unknown\s+unknown", words)
    assert "calibrated: line through 2 points" in words


def test_an_alarm_is_told_from_its_rise_to_its_return(session: Session) -> None:
    words = " ".join(Page(page_of(session, 1)).words.split())
    # 20.5 °C rising by 1 °C a second passes 30 °C at the eleventh line, and stays there.
    assert "0:10 – end Wool (1) Temp: high 30 °C 30.5 °C Too warm" in words
    assert len(episodes_of(session.alarms)) == 2
    assert other_deeds(session.alarms) == []


def entry(at_seconds: float, event: AlarmEvent, *, who: str = "rule", bench: int = 1) -> JournalEntry:
    change = AlarmChange(
        round(at_seconds * 1e9),
        bench,
        "t",
        "high",
        event,
        "normal",
        "normal",
        31.0,
        30.0,
        who,
        "by agreement",
    )
    return JournalEntry(change=change, kind="high", unit="°C", priority="medium", message="Too warm")


def test_each_rise_has_its_own_return_and_its_own_acknowledgement() -> None:
    journal = [
        entry(1, "rise"), entry(2, "acknowledge", who="instructor"), entry(3, "rise", bench=2),
        entry(4, "return"), entry(5, "rise"), entry(6, "return"), entry(7, "acknowledge", who="instructor"),
    ]  # fmt: skip
    told = [
        (one.risen.change.bench, one.risen_seconds, one.returned_seconds, one.acknowledged_seconds, one.by)
        for one in episodes_of(journal)
    ]
    assert told == [(1, 1, 4, 2, "instructor"), (2, 3, None, None, ""), (1, 5, 6, 7, "instructor")]


def test_what_else_was_done_with_an_alarm_is_told_with_its_reason() -> None:
    made = replace(session_of([{}]), alarms=(entry(65, "shelve", who="instructor"),))
    words = Page(report_of(made, [], None)).words
    assert "1:05 Bench 1: t: high 30 °C, shelve by instructor: by agreement" in words
    assert "No alarm rose." in words


def test_a_session_with_nothing_in_it_still_makes_a_report() -> None:
    empty = session_of([])
    page = report_of(empty, list(pictures_of(empty, None)), None)
    assert "There was nothing to compare." in Page(page).words


def test_damage_is_told_at_the_top() -> None:
    made = replace(session_of([{}]), damage="its end is missing")
    words = Page(report_of(made, [], None)).words
    assert words.index("Not everything could be read: its end is missing.") < words.index("Cautions")


def test_times_in_bands_have_the_names_that_held_in_their_phase(session: Session) -> None:
    assert session.kept is not None
    (channel,) = session.lesson.channels
    own = BandsGiven(edges=(3.0,), names=("calm", "hot"), baseline=20.0, phases=("run",))
    lesson = replace(session.lesson, channels=(replace(channel, phase_bands=(own,)),))
    stays = (BandStay(1, "Temp", 2, 0, 4 * 10**9), BandStay(1, "Temp", 1, 4 * 10**9, 10 * 10**9))
    phases = (PhaseStart(4 * 10**9, "run", "instructor"),)
    kept = replace(session.kept, lesson=lesson, bands=stays, phases=phases, length_ns=10 * 10**9)
    words = str(times.bands(replace(session, lesson=lesson, kept=kept)))
    before, in_run = words.split("phase: run")
    assert "no phase" in before
    assert "lukewarm" in before
    assert "0:04 (100%)" in before
    assert "hot" in in_run
    assert "lukewarm" not in in_run
    assert "0:06 (100%)" in in_run
    assert class_known(kept, "Temp").band_names == ()  # a number alone has no name there


def test_a_name_of_eighty_letters_may_break_and_stays_text() -> None:
    name = "W<b>" * 20
    written = str(shown(name))
    assert max(len(part) for part in written.replace("&lt;", "<").replace("&gt;", ">").split("<wbr>")) <= 12
    assert Page(written).words.replace(" ", "") == name
    assert "<wbr>" not in shown("Bubble wrap with a lid of cork")
