"""What groups ask, and what the instructor does with a call: done, and kept in the recording."""

from __future__ import annotations

from collections.abc import Callable

from bridge.controls import Ask, Attend
from bridge.core.asks import Want
from bridge.errors import ControlError
from bridge.processing import Processor

Keep = Callable[[str, "int | None", int, dict[str, object]], None]
_SAID: dict[Want, str] = {
    "help": "you have asked for help",
    "done": "you have said that you are done",
    "nothing": "that is taken back",
}
_GONE = "It may have been put right, acknowledged or taken back a moment ago"


def handle(control: Ask | Attend, processor: Processor, at_ns: int, keep: Keep) -> str:
    """Do what was asked for, and keep it.

    Returns:
        What was done, in words for whoever asked.

    Raises:
        ControlError: There is no such bench, or nothing calls so.
    """
    return _ask(control, processor, at_ns, keep) if isinstance(control, Ask) else _attend(
        control, processor, at_ns, keep
    )  # fmt: skip


def _ask(ask: Ask, processor: Processor, at_ns: int, keep: Keep) -> str:
    if ask.bench not in processor.hub.benches:
        raise ControlError(f"there is no bench {ask.bench}", remedy="Look at the benches of this session")
    if processor.asks.of(ask.bench) != ask.want:
        detail: dict[str, object] = {"want": ask.want, "who": ask.who}
        processor.act("ask", ask.bench, detail, at_ns)
        keep("ask", ask.bench, at_ns, detail)
    return _SAID[ask.want]


def _attend(attend: Attend, processor: Processor, at_ns: int, keep: Keep) -> str:
    call = next((one for one in processor.calls.calls if one.id == attend.call), None)
    if call is None:
        raise ControlError(f"nothing calls by the name {attend.call!r}", remedy=_GONE)
    if attend.bench is not None and attend.bench not in {one.bench for one in call.benches}:
        name = processor.lesson.bench(attend.bench).name
        raise ControlError("it does not share that call", remedy=_GONE, bench=name)
    # The benches by name: one that joins later in the same second was not seen.
    benches = [one.bench for one in call.benches if attend.bench in (None, one.bench)]
    detail: dict[str, object] = {"call": call.id, "benches": benches, "who": "instructor"}
    processor.act("attend", None, detail, at_ns)
    keep("attend", None, at_ns, detail)
    return "the ask has ended" if call.kind == "ask" else "attended: it calls again if it still stands later"
