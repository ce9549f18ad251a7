"""Bytes from many boards to readings, live, recorded and replayed.

Other rooms import only what stands here. Names are fetched when they are first used, so that a short
command does not wait for what it never needs.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from bridge.alarms_kept import JournalEntry as JournalEntry
    from bridge.alarms_kept import KeptFigures as KeptFigures
    from bridge.alarms_kept import alarm_figures_of_recording as alarm_figures_of_recording
    from bridge.alarms_kept import journal_of_recording as journal_of_recording
    from bridge.band_times_kept import band_times_of_recording as band_times_of_recording
    from bridge.bands_kept import BandStay as BandStay
    from bridge.client import Client as Client
    from bridge.core.band_times import BandTimes as BandTimes
    from bridge.core.classroom import PhaseStart as PhaseStart
    from bridge.core.lesson import Lesson as Lesson
    from bridge.core.readings import Reading as Reading
    from bridge.errors import BenchrowError as BenchrowError
    from bridge.errors import ControlError as ControlError
    from bridge.errors import Fault as Fault
    from bridge.errors import LessonError as LessonError
    from bridge.errors import PortError as PortError
    from bridge.errors import RecordingError as RecordingError
    from bridge.errors import UnreachableError as UnreachableError
    from bridge.findings_found import Standing as Standing
    from bridge.findings_found import findings_of_bytes as findings_of_bytes
    from bridge.findings_found import findings_of_recording as findings_of_recording
    from bridge.growing import GrowingSession as GrowingSession
    from bridge.kept_session import KeptSession as KeptSession
    from bridge.kept_session import read_session as read_session
    from bridge.layouts_found import FieldFound as FieldFound
    from bridge.layouts_found import LayoutFound as LayoutFound
    from bridge.layouts_found import layout_of_bytes as layout_of_bytes
    from bridge.layouts_found import layouts_of_recording as layouts_of_recording
    from bridge.lesson_file import faults_of as faults_of
    from bridge.lesson_file import lesson_text as lesson_text
    from bridge.lesson_file import read_lesson as read_lesson
    from bridge.lesson_key import Key as Key
    from bridge.lesson_keys import KEY_OF as KEY_OF
    from bridge.lesson_keys import keys_as_markdown as keys_as_markdown
    from bridge.lesson_trying import ChangeFault as ChangeFault
    from bridge.lesson_trying import LessonChange as LessonChange
    from bridge.lesson_trying import TriedLesson as TriedLesson
    from bridge.lesson_trying import try_changes as try_changes
    from bridge.passcode import new_passcode as new_passcode
    from bridge.ports import list_boards as list_boards
    from bridge.recorded import Recorded as Recorded
    from bridge.revisions_kept import kept_revisions as kept_revisions
    from bridge.sources import parse_board as parse_board
    from bridge.table import read_recording as read_recording
    from bridge.table import readings_of_bytes as readings_of_bytes
    from bridge.table import readings_of_items as readings_of_items
    from bridge.table import readings_of_recording as readings_of_recording
    from bridge.table import utc_ns_of as utc_ns_of

_HOMES = {
    "BandTimes": "core.band_times",
    "BandStay": "bands_kept",
    "BenchrowError": "errors",
    "ChangeFault": "lesson_trying",
    "Client": "client",
    "ControlError": "errors",
    "Fault": "errors",
    "FieldFound": "layouts_found",
    "GrowingSession": "growing",
    "JournalEntry": "alarms_kept",
    "KEY_OF": "lesson_keys",
    "KeptFigures": "alarms_kept",
    "KeptSession": "kept_session",
    "Key": "lesson_key",
    "LayoutFound": "layouts_found",
    "Lesson": "core.lesson",
    "LessonChange": "lesson_trying",
    "LessonError": "errors",
    "PhaseStart": "core.classroom",
    "PortError": "errors",
    "Reading": "core.readings",
    "Recorded": "recorded",
    "RecordingError": "errors",
    "Standing": "findings_found",
    "TriedLesson": "lesson_trying",
    "UnreachableError": "errors",
    "alarm_figures_of_recording": "alarms_kept",
    "band_times_of_recording": "band_times_kept",
    "faults_of": "lesson_file",
    "findings_of_bytes": "findings_found",
    "findings_of_recording": "findings_found",
    "journal_of_recording": "alarms_kept",
    "kept_revisions": "revisions_kept",
    "keys_as_markdown": "lesson_keys",
    "layout_of_bytes": "layouts_found",
    "layouts_of_recording": "layouts_found",
    "lesson_text": "lesson_file",
    "list_boards": "ports",
    "new_passcode": "passcode",
    "parse_board": "sources",
    "read_lesson": "lesson_file",
    "read_recording": "table",
    "read_session": "kept_session",
    "readings_of_bytes": "table",
    "readings_of_items": "table",
    "readings_of_recording": "table",
    "try_changes": "lesson_trying",
    "utc_ns_of": "table",
}

__all__ = [
    "KEY_OF",
    "BandStay",
    "BandTimes",
    "BenchrowError",
    "ChangeFault",
    "Client",
    "ControlError",
    "Fault",
    "FieldFound",
    "GrowingSession",
    "JournalEntry",
    "KeptFigures",
    "KeptSession",
    "Key",
    "LayoutFound",
    "Lesson",
    "LessonChange",
    "LessonError",
    "PhaseStart",
    "PortError",
    "Reading",
    "Recorded",
    "RecordingError",
    "Standing",
    "TriedLesson",
    "UnreachableError",
    "alarm_figures_of_recording",
    "band_times_of_recording",
    "faults_of",
    "findings_of_bytes",
    "findings_of_recording",
    "journal_of_recording",
    "kept_revisions",
    "keys_as_markdown",
    "layout_of_bytes",
    "layouts_of_recording",
    "lesson_text",
    "list_boards",
    "new_passcode",
    "parse_board",
    "read_lesson",
    "read_recording",
    "read_session",
    "readings_of_bytes",
    "readings_of_items",
    "readings_of_recording",
    "try_changes",
    "utc_ns_of",
]


def __getattr__(name: str) -> object:
    """PEP 562: a name of the public face, from the module that it lives in."""
    home = _HOMES.get(name)
    if home is None:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f"bridge.{home}"), name)
