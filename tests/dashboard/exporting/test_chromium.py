"""Printing by a real browser."""

from __future__ import annotations

import re
import struct
import sys
from pathlib import Path

import pytest

from bridge import BenchrowError
from dashboard.exporting.chromium import PAPERS, Paper, printer
from dashboard.exporting.drawing.svg import element, picture
from dashboard.exporting.finding_chromium import BY_HAND, find_chromium

PAGE = "<!DOCTYPE html><title>T</title><style>h1{break-before:page}</style><p>One</p><h1>Two</h1>"


@pytest.fixture
def with_browser(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(BY_HAND, find_chromium() or "")


@pytest.mark.browser
@pytest.mark.usefixtures("with_browser")
@pytest.mark.parametrize("paper", list(PAPERS))
def test_a_page_is_printed_on_the_paper_asked_for(paper: Paper) -> None:
    with printer() as one:
        pdf = one.pdf(PAGE, paper=paper)
    assert pdf.startswith(b"%PDF-")
    assert len(re.findall(rb"/Type\s*/Page\b", pdf)) == 2
    boxes = [[float(side) for side in box.split()] for box in re.findall(rb"/MediaBox\s*\[([^\]]*)\]", pdf)]
    assert boxes
    for box in boxes:
        assert box[2:] == pytest.approx([72 * side for side in PAPERS[paper]], abs=1)


@pytest.mark.browser
@pytest.mark.usefixtures("with_browser")
def test_a_picture_becomes_dots_twice_as_fine_as_its_size() -> None:
    svg = picture(element("circle", cx=50, cy=30, r=10, fill="#0072b2"), width=120, height=60, title="t")
    with printer() as one:
        pictures = [one.png(svg), one.png(svg)]  # one start serves many
    for png in pictures:
        assert png.startswith(b"\x89PNG")
        assert struct.unpack(">II", png[16:24]) == (240, 120)


@pytest.mark.browser
@pytest.mark.usefixtures("with_browser")
def test_a_script_in_a_page_does_not_run_when_the_page_forbids_it() -> None:
    policy = '<meta http-equiv="Content-Security-Policy" content="default-src \'none\'">'
    with printer() as one:
        plain = one.pdf(f"<head>{policy}</head><p>x</p>")
        tried = one.pdf(
            f"<head>{policy}</head><p>x</p><script>document.body.innerHTML='y'.repeat(9e4)</script>"
        )
    assert abs(len(tried) - len(plain)) < 2000


def test_a_browser_named_by_hand_is_taken_and_nothing_means_none(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(BY_HAND, "/opt/mine")
    assert find_chromium() == "/opt/mine"
    monkeypatch.setenv(BY_HAND, "")
    assert find_chromium() is None
    with pytest.raises(BenchrowError, match="no browser of the Chromium family"), printer():
        pass


def test_a_program_that_is_no_browser_is_told_in_words(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setenv(BY_HAND, sys.executable)  # ends at once: it knows none of the options
    with pytest.raises(BenchrowError, match="it did not start"), printer():
        pass
    monkeypatch.setenv(BY_HAND, str(tmp_path / "missing"))
    with pytest.raises(BenchrowError, match="can't print"), printer():
        pass
