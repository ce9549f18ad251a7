"""Small made-up values for the tests of hub and server."""

from __future__ import annotations

import json
from typing import Any

from bridge.core.channels import ChannelInfo
from bridge.core.findings import Finding, FindingChange, FindingEvent, FindingKind
from bridge.core.lesson import AlarmGiven, Channel, Lesson, plain_bench
from bridge.core.readings import AlarmChange, Reading
from bridge.hub import Hub
from bridge.messages import SessionInfo
from bridge.schemas import validator

SECOND = 10**9
LIMIT = AlarmGiven(kind="high", at=48.0, priority="high", message="Too warm to hold", advice="Add cold water")
TEMPERATURE = ChannelInfo(
    name="temperature", unit="°C", low=15.0, high=55.0, baseline=20.0, edges=(22.0, 25.0),
    edge_names=("room", "lukewarm", "warm"), limits=(LIMIT,),
)  # fmt: skip
SESSION = SessionInfo(
    id="s1", title="Cups", source="live", start_utc_ns=1_800_000_000 * SECOND, recording=None, program="0.1.0"
)


def hub_of(n_benches: int = 2) -> Hub:
    """A hub with benches that have one channel each, no readings yet."""
    hub = Hub(SESSION, Lesson(title="Cups", channels=(Channel(name="temperature", unit="°C"),)))
    for number in range(1, n_benches + 1):
        hub.set_bench(plain_bench(number), (TEMPERATURE,))
    return hub


def reading(value: float | None, *, at_ms: int = 1000, bench: int = 1, reason: str = "") -> Reading:
    """A good reading."""
    return Reading(at_ms * 10**6, bench, "temperature", value, "°C", 0.1, "good", reason, 1, at_ms * 10**6)


def rise(*, bench: int = 1, at_ms: int = 1000) -> AlarmChange:
    """The high limit is passed."""
    return AlarmChange(
        at_ms * 10**6, bench, "temperature", "high", "rise", "unacknowledged", "normal", 49.0, 48.0, "rule"
    )


def checked(text: bytes | str) -> dict[str, Any]:
    """The message, once it has kept its schema."""
    message: dict[str, Any] = json.loads(text, parse_constant=_not_json)
    validator("from_bridge", message["kind"]).validate(message)
    return message


def _not_json(constant: str) -> float:
    raise AssertionError(f"{constant} is not JSON")


def finding(
    kind: FindingKind = "stuck",
    *,
    event: FindingEvent = "found",
    bench: int = 1,
    words: str = "It stands still",
) -> FindingChange:
    """Something is wrong with a bench's temperature, or is not any more."""
    told = Finding(
        kind=kind, channel="temperature", since_ns=SECOND, words=words, evidence="21.5 for 60 s",
        remedy="Look at the wires", try_baud=None,
    )  # fmt: skip
    return FindingChange(2 * SECOND, bench, event, told)
