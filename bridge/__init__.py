"""Bytes from many boards to readings, live, recorded and replayed.

Other rooms import only what stands here. Names are fetched when they are first used, so that a short
command does not wait for what it never needs.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from bridge.client import Client as Client
    from bridge.core.readings import Reading as Reading
    from bridge.errors import BenchrowError as BenchrowError
    from bridge.errors import ControlError as ControlError
    from bridge.errors import Fault as Fault
    from bridge.errors import LessonError as LessonError
    from bridge.errors import PortError as PortError
    from bridge.errors import RecordingError as RecordingError
    from bridge.errors import UnreachableError as UnreachableError
    from bridge.lesson_file import faults_of as faults_of
    from bridge.lesson_file import read_lesson as read_lesson
    from bridge.passcode import new_passcode as new_passcode
    from bridge.ports import list_boards as list_boards
    from bridge.sources import parse_board as parse_board
    from bridge.table import read_recording as read_recording
    from bridge.table import readings_of_bytes as readings_of_bytes
    from bridge.table import readings_of_recording as readings_of_recording

_HOMES = {
    "BenchrowError": "errors",
    "Client": "client",
    "ControlError": "errors",
    "Fault": "errors",
    "LessonError": "errors",
    "PortError": "errors",
    "Reading": "core.readings",
    "RecordingError": "errors",
    "UnreachableError": "errors",
    "faults_of": "lesson_file",
    "list_boards": "ports",
    "new_passcode": "passcode",
    "parse_board": "sources",
    "read_lesson": "lesson_file",
    "read_recording": "table",
    "readings_of_bytes": "table",
    "readings_of_recording": "table",
}

__all__ = [
    "BenchrowError",
    "Client",
    "ControlError",
    "Fault",
    "LessonError",
    "PortError",
    "Reading",
    "RecordingError",
    "UnreachableError",
    "faults_of",
    "list_boards",
    "new_passcode",
    "parse_board",
    "read_lesson",
    "read_recording",
    "readings_of_bytes",
    "readings_of_recording",
]


def __getattr__(name: str) -> object:
    """PEP 562: a name of the public face, from the module that it lives in."""
    home = _HOMES.get(name)
    if home is None:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f"bridge.{home}"), name)
