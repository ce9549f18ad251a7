"""A scripted bridge that answers questions about the past, and can be asked what it heard."""

from __future__ import annotations

import json
from collections.abc import Sequence
from typing import Any

from websockets.sync.server import ServerConnection

from bridge.controls import request_from_text
from tests.dashboard.browser import DEADLINE_MS
from tests.dashboard.scripted_bridge import Message, ScriptedBridge


class RememberingBridge(ScriptedBridge):
    """A scripted bridge with a past: one reading each 100 ms, 20 to 30 °C, a gap from 550 to 560 s."""

    def __init__(self, benches: Sequence[Message], values: Sequence[list[Any]] = ()) -> None:
        super().__init__(benches, values)
        self.past_alarms: list[Message] = []

    def _answer(self, page: ServerConnection, message: Message) -> None:
        if message["kind"] != "history":
            super()._answer(page, message)
            return
        step = max(100, (message["to_ms"] - message["from_ms"]) // message["rows"])
        times = range(message["from_ms"] // step * step, message["to_ms"], step)
        rows: list[Any] = [
            [ms, 20 + ms // 60_000, 20 + ms // 60_000] for ms in times if not 550_000 <= ms < 560_000
        ]
        gap = next((i for i, row in enumerate(rows) if row[0] >= 560_000), 0)
        if gap:
            rows.insert(gap, None)
        answer = {
            "kind": "history", "to": message["id"], "bench": message["bench"], "channel": message["channel"],
            "rows": rows, "ribbon": [[0, 2], [580_000, 3]], "alarms": self.past_alarms,
        }  # fmt: skip
        with self._lock:
            page.send(json.dumps(answer))
        self.heard.put(message)

    def next_heard(self, kind: str, **wanted: Any) -> Message:
        """The next message of that kind with those values."""
        while True:
            message = self.heard.get(timeout=DEADLINE_MS / 1000)
            if message["kind"] == kind and wanted.items() <= message.items():
                request_from_text(json.dumps(message))  # as the real bridge reads it: a wrong one raises
                return message
