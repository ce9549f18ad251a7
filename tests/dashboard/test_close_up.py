"""What the tests' bridge says is what the real bridge may say: by the same schemas."""

from __future__ import annotations

import pytest

from bridge.schemas import validator
from tests.dashboard import close_up
from tests.dashboard.scripted_bridge import Message, bench, finding, hint

SAID: list[Message] = [
    {"kind": "findings", "bench": 2, "findings": [finding(), hint()]},
    {"kind": "bench", "bench": bench(2)},
    close_up.text(2),
    close_up.doubtful(2),
    close_up.steady(2),
    close_up.worth(2),
    close_up.worth(2, close_up.worth_part(calibration=close_up.calibration(), check=close_up.check("wrong"))),
]


@pytest.mark.parametrize("message", SAID, ids=lambda message: str(message["kind"]))
def test_what_is_made_up_keeps_the_bridges_schemas(message: Message) -> None:
    faults = validator("from_bridge", message["kind"]).iter_errors(message)
    assert [fault.message for fault in faults] == []
