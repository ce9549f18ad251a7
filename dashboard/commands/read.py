"""`benchrow read`: takes a byte file or a recording through the pipeline, and writes the readings as text."""

from __future__ import annotations

import argparse
import io
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING

from bridge import BenchrowError
from dashboard.commands.screens import existing_file

if TYPE_CHECKING:
    from bridge import LayoutFound, Lesson, Reading, Standing
    from dashboard.readings_as_text import Time

NAME = "read"
FILE_HELP = (
    "raw bytes (time: seconds since the first byte, by the baud rate), a recording (time: UTC), "
    "or - for standard input (time: seconds since the first byte, as they arrive)"
)
SUMMARY = "write the readings of a byte file or a recording as text"
STANDARD_INPUT = "-"
NO_READING = (
    "benchrow: no line could be read as a reading. See with --layout how the lines are understood; "
    "give a layout with --lesson; a wrong baud rate gives bytes without lines."
)
RECORDING_BEGINS = b"SQLite format 3\0"  # a recording is an SQLite file


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The command's own options."""
    parser.add_argument("file", metavar="FILE", help=FILE_HELP)
    parser.add_argument(
        "--lesson", type=Path, help="the lesson file (TOML); without it, each field is a channel"
    )
    parser.add_argument("--baud", type=_baud, default=9600, help="the rate of a raw file (%(default)s)")
    parser.add_argument("--cold", action="store_true", help="a raw file may begin inside a line")
    parser.add_argument("--json", action="store_true", help="one JSON object for each reading instead of CSV")
    parser.add_argument("--findings", action="store_true", help="tell what is wrong with the boards instead")
    parser.add_argument(
        "--journal", action="store_true", help="tell every transition of every alarm of a recording instead"
    )
    parser.add_argument(
        "--figures", action="store_true", help="tell the figures of a recording's alarm journal instead"
    )
    parser.add_argument(
        "--bands",
        action="store_true",
        help="tell how long a recording's benches were in each band instead",
    )
    parser.add_argument("--layout", action="store_true", help="tell what was learned about the lines instead")


def run(options: argparse.Namespace) -> int:
    """Write the readings, or the layouts."""
    from bridge import read_lesson

    if isinstance(sys.stdout, io.TextIOWrapper):  # the same bytes on every system
        sys.stdout.reconfigure(encoding="utf-8", newline="")
    path = _path(options.file)
    lesson = read_lesson(options.lesson) if existing_file(options.lesson, what="lesson") else None
    is_recording = path is not None and _begins(path) == RECORDING_BEGINS
    if options.layout:
        layouts = _layouts(path, lesson, is_recording=is_recording, cold=options.cold)
        return _write_layouts(layouts, as_json=options.json)
    if options.findings:
        standing = _findings(path, lesson, is_recording=is_recording, baud=options.baud, cold=options.cold)
        return _write_findings(standing, as_json=options.json)
    if options.journal or options.figures or options.bands:
        if path is None or not is_recording:
            what = "times in bands" if options.bands else "alarm journal"
            raise BenchrowError(
                f"{options.file} is no recording, so it has no {what}",
                remedy="Name a recording, as 'benchrow live' keeps them",
            )
        write = _write_bands if options.bands else _write_journal if options.journal else _write_figures
        return write(path, lesson, as_json=options.json)
    if path is not None and is_recording:
        return _write(_of_recording(path, lesson), as_json=options.json, at_once=False)
    found = _of_bytes(path, lesson, baud=options.baud, cold=options.cold)
    return _write(found, as_json=options.json, at_once=path is None)


def _write(found: Iterator[tuple[Time, Reading]], *, as_json: bool, at_once: bool) -> int:
    from dashboard.readings_as_text import csv_writer, json_writer

    write: Callable[[Time, Reading], None] = (json_writer if as_json else csv_writer)(sys.stdout)
    n_readings = 0
    for time, reading in found:
        write(time, reading)
        n_readings += 1
        if at_once:
            sys.stdout.flush()
    if n_readings == 0:
        sys.stdout.flush()
        print(NO_READING, file=sys.stderr)
    return 0


def _of_recording(path: Path, lesson: Lesson | None) -> Iterator[tuple[Time, Reading]]:
    from bridge import Recorded, readings_of_items, utc_ns_of
    from dashboard.readings_as_text import utc_text

    with Recorded(path) as recorded:
        anchors = recorded.anchors
        for reading in readings_of_items(recorded.items(), lesson=lesson, end_ns=recorded.length_ns):
            yield utc_text(utc_ns_of(reading.taken_ns, anchors)), reading
        if recorded.damage:
            print(f"benchrow: {path} is damaged: {recorded.damage}; what is whole was read.", file=sys.stderr)


def _of_bytes(
    path: Path | None, lesson: Lesson | None, *, baud: int, cold: bool
) -> Iterator[tuple[Time, Reading]]:
    from bridge import readings_of_bytes
    from dashboard.readings_as_text import seconds_of

    source = sys.stdin.buffer if path is None else _bytes_of(path)
    for reading in readings_of_bytes(source, lesson=lesson, baud=baud, cold=cold):
        yield seconds_of(reading.taken_ns), reading


def _findings(
    path: Path | None, lesson: Lesson | None, *, is_recording: bool, baud: int, cold: bool
) -> Iterator[tuple[Time, Time | None, Standing]]:
    from bridge import Recorded, findings_of_bytes, findings_of_recording, utc_ns_of
    from dashboard.readings_as_text import seconds_of, utc_text

    if path is None or not is_recording:
        data = sys.stdin.buffer.read() if path is None else _bytes_of(path)
        for one in findings_of_bytes(data, lesson=lesson, baud=baud, cold=cold):
            gone = None if one.gone_ns is None else seconds_of(one.gone_ns)
            yield seconds_of(one.found_ns), gone, one
        return
    with Recorded(path) as recorded:
        anchors = recorded.anchors
    for one in findings_of_recording(path, lesson=lesson):
        gone_utc = None if one.gone_ns is None else utc_text(utc_ns_of(one.gone_ns, anchors))
        yield utc_text(utc_ns_of(one.found_ns, anchors)), gone_utc, one


def _write_findings(found: Iterator[tuple[Time, Time | None, Standing]], *, as_json: bool) -> int:
    from dashboard.findings_as_text import csv_writer, json_writer

    write = (json_writer if as_json else csv_writer)(sys.stdout)
    n_findings = 0
    for one in found:
        write(*one)
        n_findings += 1
    if n_findings == 0:
        sys.stdout.flush()
        print("benchrow: nothing was found wrong.", file=sys.stderr)
    return 0


def _write_journal(path: Path, lesson: Lesson | None, *, as_json: bool) -> int:
    from bridge import Recorded, journal_of_recording, utc_ns_of
    from dashboard.journal_as_text import csv_writer, json_writer
    from dashboard.readings_as_text import utc_text

    with Recorded(path) as recorded:
        anchors = recorded.anchors
    write = (json_writer if as_json else csv_writer)(sys.stdout)
    entries = journal_of_recording(path, lesson)
    for one in entries:
        until_ns = one.change.until_ns
        until = utc_text(utc_ns_of(until_ns, anchors)) if until_ns else None
        write(utc_text(utc_ns_of(one.change.at_ns, anchors)), until, one)
    if not entries:
        sys.stdout.flush()
        print("benchrow: no alarm came or was touched.", file=sys.stderr)
    return 0


def _write_figures(path: Path, lesson: Lesson | None, *, as_json: bool) -> int:
    from bridge import alarm_figures_of_recording
    from dashboard.journal_as_text import write_figures

    write_figures(alarm_figures_of_recording(path, lesson), sys.stdout, as_json=as_json)
    return 0


def _write_bands(path: Path, lesson: Lesson | None, *, as_json: bool) -> int:
    from bridge import band_times_of_recording
    from dashboard.band_times_as_text import write_band_times

    found = band_times_of_recording(path, lesson)
    write_band_times(found, sys.stdout, as_json=as_json)
    if not found:
        sys.stdout.flush()
        print("benchrow: no bench had a band. See whether the lesson describes bands.", file=sys.stderr)
    return 0


def _layouts(
    path: Path | None, lesson: Lesson | None, *, is_recording: bool, cold: bool
) -> list[LayoutFound]:
    from bridge import layout_of_bytes, layouts_of_recording

    if path is not None and is_recording:
        return layouts_of_recording(path, lesson=lesson)
    data = sys.stdin.buffer.read() if path is None else _bytes_of(path)
    return [layout_of_bytes(data, lesson=lesson, cold=cold)]


def _write_layouts(layouts: list[LayoutFound], *, as_json: bool) -> int:
    from dashboard.layouts_as_text import write_layouts

    write_layouts(layouts, sys.stdout, as_json=as_json)
    return 0


def _path(file: str) -> Path | None:
    return None if file == STANDARD_INPUT else existing_file(Path(file), what="file")


def _begins(path: Path) -> bytes:
    try:
        with path.open("rb") as opened:
            return opened.read(len(RECORDING_BEGINS))
    except OSError as error:
        raise _unreadable(path, error) from error


def _bytes_of(path: Path) -> bytes:
    try:
        return path.read_bytes()
    except OSError as error:
        raise _unreadable(path, error) from error


def _unreadable(path: Path, error: OSError) -> BenchrowError:
    return BenchrowError(f"{path} can't be read ({error.strerror})", remedy="Check whether you may read it")


def _baud(text: str) -> int:
    if text.isascii() and text.isdigit() and int(text) > 0:
        return int(text)
    raise argparse.ArgumentTypeError(f"{text!r} is no rate; write bits a second, for example 115200")
