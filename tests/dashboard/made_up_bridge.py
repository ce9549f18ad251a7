"""A real bridge server with made-up boards: eight cups that cool, one that is too warm, one that is silent.

    python -m tests.dashboard.made_up_bridge --port 8765

Bands and alarms are the core's own; only the boards are made up. The passcode is "tea".
"""

from __future__ import annotations

import argparse
import math
import queue
import random
import re
import threading
import time
from collections.abc import Callable, Iterator, Sequence
from types import TracebackType
from typing import NamedTuple, Self, TypeVar

import pytest

from bridge.controls import Acknowledge, Capture, Control, Mark
from bridge.core.channels import ChannelInfo, Step
from bridge.core.findings import Finding, FindingChange
from bridge.core.lesson import AlarmGiven, BandsGiven, Bench, Channel, Lesson, mark_of
from bridge.core.readings import Change, Reading
from bridge.core.watch import ChannelWatch
from bridge.errors import ControlError
from bridge.hub import Hub
from bridge.messages import FieldShown, SessionInfo, Status
from tests.bridge.served import ServedHub
from tests.dashboard import close_up

PASSCODE = "tea"
EVERY_SECONDS = 0.1
PAST_SECONDS = 300  # readings that are there before the first client comes
COVERS = ("no cover", "paper", "wool", "foil", "foam", "felt", "cork", "a second cup")

LOCAL = re.compile(r"http://(127\.0\.0\.1|localhost):\d+")  # tests serve their pages on any free port

_BANDS = BandsGiven(
    baseline=20.0,
    edges=(2.0, 5.0, 10.0, 15.0),
    names=("room", "lukewarm", "warm", "warmer", "start"),
    deadband=0.4,
)
_LIMIT = AlarmGiven(
    kind="high",
    at=48.0,
    deadband=0.5,
    on_delay_seconds=2.0,
    message="Too warm to hold",
    advice="Add cold water",
)
_CHANNEL = Channel(name="temperature", quantity="temperature", unit="°C", low=15.0, high=55.0, bands=_BANDS)
_INFO = ChannelInfo(
    name="temperature", unit="°C", low=15.0, high=55.0, baseline=20.0,
    edges=(22.0, 25.0, 30.0, 35.0), edge_names=_BANDS.names, limits=(_LIMIT,),
)  # fmt: skip

_HUM = Finding(
    kind="mains hum", channel="temperature", weight="hint", since_ns=10**9,
    words="The readings hum with the mains", evidence="a swing of 0.4 °C at 50 Hz",
    remedy="Lead the wires away from the mains",
)  # fmt: skip
_COARSE = Finding(
    kind="too coarse", channel="temperature", since_ns=2 * 10**9, words="The board prints whole degrees",
    evidence="no decimals in 500 lines", remedy="Print two decimals",
)  # fmt: skip
FOUND = {5: _HUM, 6: _COARSE}

_T = TypeVar("_T")


class Printed(NamedTuple):
    """A line that no board printed."""

    number: int
    text: str
    at_ns: int
    flaws: str


class MadeUpClass:
    """Tells a hub what eight boards would have said. Time is passed in."""

    def __init__(self, n_benches: int = 8) -> None:
        title = "Which cover keeps the cup warm?"
        lesson = Lesson(title=title, note="Eight cups, eight covers.", channels=(_CHANNEL,))
        session = SessionInfo(
            id="made-up",
            title=title,
            source="live",
            start_utc_ns=1_800_000_000 * 10**9,
            recording=None,
            program="0",
        )
        self.hub = Hub(session, lesson)
        self.n_benches = n_benches
        self._noise = random.Random(20)
        self._n_lines = 0
        self._watches: dict[int, ChannelWatch] = {}
        for number in range(1, n_benches + 1):
            mark = mark_of(number)
            bench = Bench(number=number, name=COVERS[(number - 1) % 8], shape=mark.shape, colour=mark.colour)
            self.hub.set_bench(bench, (_INFO,))
            self._watches[number] = ChannelWatch(
                number, "temperature", bands=_BANDS, baseline=20.0, limits=(_LIMIT,)
            )
            if number in FOUND:
                found = FindingChange(FOUND[number].since_ns, number, "found", FOUND[number])
                self.hub.take_changes([found])

    def say(self, at_ns: int) -> None:
        """One round of all boards at this instant. Bench 8 falls silent after a minute."""
        self._n_lines += 1
        for number, watch in self._watches.items():
            is_silent = number == 8 and at_ns > 60 * 10**9
            if not is_silent:
                self._print(number, watch, at_ns)
            words = ("nothing came for a while", "Look at its cable") if is_silent else ("reading", "")
            self.hub.set_status(
                number,
                Status(
                    link="open", words=words[0], remedy=words[1], port=f"port {number}", baud=9600,
                    old=is_silent, lines_per_second=0.0 if is_silent else 1 / EVERY_SECONDS,
                    n_lines=self._n_lines, layout="labelled",
                ),
            )  # fmt: skip

            if self.hub.is_surveyed or number in self.hub.followed:
                self._tell_closely(number)

    def _tell_closely(self, number: int) -> None:
        """To who looks closely: bench 7's text can be read in two ways, bench 3 is not steady."""
        self.hub.set_detail(number, close_up.doubtful(7) if number == 7 else close_up.text(number))
        moving = {"steady": False, "words": "rises by 0.4 °C in 10 s", "mean": None, "u": None}
        self.hub.set_detail(number, close_up.steady(number, **(moving if number == 3 else {})))
        found = close_up.calibration() if number == 1 else None
        self.hub.set_detail(number, close_up.worth(number, close_up.worth_part(calibration=found)))

    def acknowledge(self, alarm: str, at_ns: int) -> None:
        """As the instructor does it."""
        bench, _, kind = alarm.split("/")
        self.hub.take_changes(self._watches[int(bench)].acknowledge(kind, at_ns, "instructor"))

    def _print(self, number: int, watch: ChannelWatch, at_ns: int) -> None:
        seconds = at_ns / 1e9
        value = 20.0 + 25.0 * math.exp(-seconds / (300 + 100 * number)) + self._noise.gauss(0.0, 0.05)
        if number == 3:  # somebody pours warm water in again and again
            value = 44.0 + 6.0 * math.sin(seconds / 15)
        count = round(value * 0.01 / 5.0 * 1024)
        changes: list[Change] = watch.take(value, at_ns)
        reading = Reading(at_ns, number, "temperature", value, "°C", 0.14, "good", "", self._n_lines, at_ns)
        self.hub.take_readings([reading])
        self.hub.take_changes(changes)
        text = f"raw: {count} Temp: {value:.2f}"
        self.hub.take_lines(number, [(Printed(self._n_lines, text, at_ns, ""), "read")])
        if number in self.hub.followed:
            fields = [
                FieldShown("raw", str(count), count, ""),
                FieldShown("Temp", f"{value:.2f}", value, "°C"),
            ]
            volts = count * 5.0 / 1024
            steps = [
                Step(
                    channel="temperature",
                    words="volts",
                    formula=f"{count} × 5 / 1024",
                    number=volts,
                    unit="V",
                )
            ]
            self.hub.set_steps(number, fields, steps)


def _step(words: str, formula: str, number: float, unit: str) -> Step:
    return Step(channel="temperature", words=words, formula=formula, number=number, unit=unit)


class MadeUpBridge:
    """The made-up class behind a real server."""

    def __init__(
        self, *, port: int = 0, origins: Sequence[str | re.Pattern[str]] = (LOCAL,), n_benches: int = 8
    ) -> None:
        self.heard: queue.Queue[Control] = queue.Queue()
        self.passcode = PASSCODE
        self._of_class = MadeUpClass(n_benches)
        self._begun_ns = time.monotonic_ns() - PAST_SECONDS * 10**9
        self._served = ServedHub(
            self._of_class.hub, port=port, passcode=PASSCODE, origins=origins, handle=self._handle,
            now_ns=self._now_ns,
        )  # fmt: skip

    @property
    def url(self) -> str:
        """Where it listens."""
        return self._served.url

    def __enter__(self) -> Self:
        for second in range(PAST_SECONDS):
            self._of_class.say(second * 10**9)
        self._served.__enter__()
        self._served.talk(EVERY_SECONDS, lambda: self._of_class.say(self._now_ns()))
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._served.__exit__(kind, error, trace)

    def on_hub(self, does: Callable[[Hub], _T]) -> _T:
        """Call it with the hub, in the hub's own thread."""
        return self._served.on_hub(does)

    def _now_ns(self) -> int:
        return time.monotonic_ns() - self._begun_ns

    async def _handle(self, control: Control) -> str:
        self.heard.put(control)
        match control:
            case Acknowledge():
                self._of_class.acknowledge(control.alarm, self._now_ns())
                return "The alarm is acknowledged."
            case Mark():
                self._of_class.hub.add_marker(self._now_ns(), control.words, "instructor")
                return "The instant is marked."
            case Capture():
                return f"{len(control.benches)} benches are captured."
            case _:
                raise ControlError(
                    "made-up boards have no ports and no recording", remedy="Start a real bridge"
                )


@pytest.fixture
def made_up_bridge() -> Iterator[MadeUpBridge]:
    """A real bridge with eight made-up boards; pages of this machine may connect."""
    with MadeUpBridge() as bridge:
        yield bridge


def main() -> None:
    """Serve until interrupted."""
    parser = argparse.ArgumentParser(description="A real bridge server with made-up boards.")
    parser.add_argument("--port", type=int, default=8765)
    parser.add_argument("--benches", type=int, default=8)
    parser.add_argument(
        "--dashboard-port", type=int, default=8050, help="the port of the pages that may connect"
    )
    options = parser.parse_args()
    with MadeUpBridge(port=options.port, n_benches=options.benches) as bridge:
        print(f"{bridge.url}, passcode {bridge.passcode}. End with Ctrl+C.")
        try:
            threading.Event().wait()
        except KeyboardInterrupt:
            print("Ended.")


if __name__ == "__main__":
    main()
