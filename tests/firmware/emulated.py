"""An emulated board as a test holds it: its port, its pins, its plug; and what our own path makes of it."""

from __future__ import annotations

import subprocess
from collections.abc import Callable
from itertools import groupby
from typing import Self

from bridge.core.lesson import Lesson
from bridge.core.pipeline import BenchPipeline
from bridge.core.readings import Reading
from bridge.inbox import Arrived
from bridge.sources import PortSource
from tests.bridge.sources.rig import DEADLINE_SECONDS, Takings, short_waits
from tests.firmware.building import BAUD, CLOCK_HZ, MCU, Built

LIFE_SECONDS = 90.0  # then it ends by itself, whatever became of the test


class EmulatedBoard:
    """A program that runs in the emulator, from the moment it is made until `unplug`.

    Args:
        speed: How many times as fast as a real board it runs; 0: only as `run` says.
    """

    def __init__(self, built: Built, program: str, *, speed: float = 8.0) -> None:
        command = [str(built.emulator), str(built.program(program)), MCU]
        command += [str(CLOCK_HZ), str(speed), str(LIFE_SECONDS)]
        self.process = subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)
        try:
            self.port = self._answer("port ")
        except BaseException:
            self.unplug()
            raise

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.unplug()

    def set_pin(self, millivolts: int, *, pin: int = 0) -> None:
        """Put a voltage on a pin; comes back when it is there."""
        self._say(f"pin {pin} {millivolts}")
        self._answer(f"pin {pin} {millivolts}")

    def run(self, milliseconds: int) -> int:
        """Let that much of its own time pass; gives how many bytes it has printed since it was plugged in."""
        self._say(f"run {milliseconds}")
        return int(self._answer(f"run {milliseconds}"))

    def unplug(self) -> int:
        """End it; gives its exit code."""
        try:
            self.process.communicate(timeout=DEADLINE_SECONDS)  # the end of its standard input is its sign
        except BaseException:
            self.process.kill()
            self.process.wait()
            raise
        return self.process.returncode

    def _say(self, words: str) -> None:
        assert self.process.stdin
        self.process.stdin.write(f"{words}\n")
        self.process.stdin.flush()

    def _answer(self, start: str) -> str:
        """The rest of the next line that begins so; the emulator's library prints others between."""
        assert self.process.stdout
        for line in self.process.stdout:
            if line.startswith(start):
                return line.removeprefix(start).strip()
        raise AssertionError(f"the emulator ended before it said {start!r}")


class ReadBoard:
    """The board's port read by our own path: source, inbox, pipeline; and all that came out."""

    def __init__(self, board: EmulatedBoard, lesson: Lesson) -> None:
        self.pipeline = BenchPipeline(lesson, 1, cold=True)
        self.readings: list[Reading] = []
        self.lines: list[tuple[int, str, str]] = []  # number, text, what became of it
        self._takings = Takings()
        self._n_fed = 0
        self._source = PortSource(1, board.port, inbox=self._takings.inbox, baud=BAUD, waits=short_waits)

    def __enter__(self) -> Self:
        self._source.start()
        self._takings.until_states("open")
        return self

    def __exit__(self, *_: object) -> None:
        self._takings.inbox.close()
        self._source.stop(DEADLINE_SECONDS)

    def until(self, is_so: Callable[[], bool]) -> None:
        """Read until it is so; fails after the deadline."""

        def fed() -> bool:
            self._feed()
            return is_so()

        self._takings.until(fed)

    def records(self) -> list[dict[str, float]]:
        """The values of each line, by channel; a bad reading fails the test."""
        records = []
        for _, group in groupby(self.readings, key=lambda one: one.line):
            record: dict[str, float] = {}
            for one in group:
                assert one.value is not None, one
                record[one.channel] = one.value
            records.append(record)
        return records

    def records_after(self, is_new: Callable[[dict[str, float]], bool], n: int) -> list[dict[str, float]]:
        """Wait for the first record from now on of which it is so; give it and those after it, n in all."""
        n_before = len(self.records())

        def found() -> list[dict[str, float]]:
            later = self.records()[n_before:]
            first = next((i for i, record in enumerate(later) if is_new(record)), len(later))
            return later[first : first + n]

        self.until(lambda: len(found()) >= n)
        return found()

    def _feed(self) -> None:
        items = self._takings.items
        while self._n_fed < len(items):
            item = items[self._n_fed]
            self._n_fed += 1
            if isinstance(item, Arrived):
                outcome = self.pipeline.feed(item.data, item.at_ns)
            elif item.breaks:
                outcome = self.pipeline.break_off(item.at_ns)
            else:
                continue
            self.readings += outcome.readings
            self.lines += [(line.number, line.text, fate) for line, fate in outcome.lines]
