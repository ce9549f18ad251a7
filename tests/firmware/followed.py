"""An emulated board that runs only as it is told, read by our own path: its own time is the session's.

Nothing that is found hangs on how busy the machine is, and a minute of the board passes in seconds.
"""

from __future__ import annotations

from collections.abc import Callable
from itertools import groupby
from typing import Self

from bridge.core.findings import Finding, FindingChange, FindingKind
from bridge.core.lesson import Lesson
from bridge.core.pipeline import BenchPipeline, Outcome
from bridge.core.readings import Change, Reading
from bridge.sources import PortSource
from tests.bridge.sources.rig import DEADLINE_SECONDS, Takings, short_waits
from tests.firmware.building import BAUD, Built
from tests.firmware.emulated import EmulatedBoard

STEP_MS = 20
SUPPLY_MILLIVOLTS = 5000


class FollowedBoard:
    """The board, its port and its bench's pipeline."""

    def __init__(self, built: Built, program: str, lesson: Lesson) -> None:
        self.now_ns = 0
        self.lesson = lesson
        self.chunks: list[tuple[bytes, int]] = []
        self.readings: list[Reading] = []
        self.changes: list[FindingChange] = []
        self.pipeline = BenchPipeline(lesson, 1, cold=True)
        self.board = EmulatedBoard(built, program, speed=0)
        self._takings = Takings()
        self._n_read = 0
        self._source = PortSource(1, self.board.port, inbox=self._takings.inbox, baud=BAUD, waits=short_waits)

    def __enter__(self) -> Self:
        self._source.start()
        opened = self._takings.until_states("open")
        self._took(self.pipeline.link(opened.state, 0, baud=opened.baud))
        return self

    def __exit__(self, *_: object) -> None:
        self._takings.inbox.close()
        self._source.stop(DEADLINE_SECONDS)
        self.board.unplug()

    @property
    def findings(self) -> dict[tuple[FindingKind, str], Finding]:
        """Those that stand."""
        return {one.key: one for one in self.pipeline.findings}

    @property
    def found(self) -> list[tuple[FindingKind, str]]:
        """What was ever found, in its order."""
        return [one.finding.key for one in self.changes if one.event == "found"]

    def pass_seconds(self, seconds: float) -> None:
        """Let so much of the board's time pass."""
        for _ in range(round(seconds * 1000 / STEP_MS)):
            self._step()

    def pass_until(self, is_so: Callable[[], bool], *, seconds: float) -> None:
        """Let the board's time pass until it is so; fails when it is not within these seconds."""
        for _ in range(round(seconds * 1000 / STEP_MS)):
            if is_so():
                return
            self._step()
        assert is_so(), f"not within {seconds} s; found so far: {self.changes}"

    def hold(self, millivolts: float, *, seconds: float) -> None:
        """Keep a voltage on the pin for so long."""
        self.board.set_pin(round(millivolts))
        self.pass_seconds(seconds)

    def sweep(self, first: int, last: int, *, seconds: float) -> None:
        """Change the pin's voltage evenly, in millivolts, at every step."""
        n = round(seconds * 1000 / STEP_MS)
        for i in range(1, n + 1):
            self.board.set_pin(round(first + (last - first) * i / n))
            self._step()

    def records(self) -> list[dict[str, float]]:
        """The values of each line, by channel; of good readings alone."""
        good = [one for one in self.readings if one.value is not None]
        return [
            {one.channel: one.value for one in group if one.value is not None}
            for _, group in groupby(good, key=lambda one: one.line)
        ]

    def found_again(self) -> list[Change]:
        """The findings of a new pipeline that is given all the bytes at a time: as a recording is read."""
        pipeline = BenchPipeline(self.lesson, 1, cold=True)
        changes = [*pipeline.link("open", 0, baud=BAUD).changes, *pipeline.feed_many(self.chunks).changes]
        changes += pipeline.tick(self.now_ns).changes
        return [one for one in changes if isinstance(one, FindingChange)]

    def _step(self) -> None:
        n_printed = self.board.run(STEP_MS)
        self._takings.until(lambda: len(self._takings.data()) >= n_printed)
        data = self._takings.data()[self._n_read :]
        self._n_read += len(data)
        self.now_ns += STEP_MS * 1_000_000
        if data:
            self.chunks.append((data, self.now_ns))
            self._took(self.pipeline.feed(data, self.now_ns))
        self._took(self.pipeline.tick(self.now_ns))

    def _took(self, outcome: Outcome) -> None:
        self.readings += outcome.readings
        self.changes += [one for one in outcome.changes if isinstance(one, FindingChange)]
