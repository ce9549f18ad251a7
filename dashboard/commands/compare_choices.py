"""What `benchrow compare` is asked for: its options, and the comparison that they mean."""

from __future__ import annotations

import argparse
import math
import re
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from bridge import BenchrowError

if TYPE_CHECKING:
    from dashboard.class_known import ClassKnown
    from dashboard.comparison_asked import Asked

ALIGNMENTS = ("instant", "onset", "release", "peak")
RESPONSES = {"step": "step", "ambient": "towards ambient", "none": "none"}
MARKED = "marked"
BETWEEN = {"line": "linear", "hold": "previous"}


def add_choices(parser: argparse.ArgumentParser | argparse._ArgumentGroup) -> None:
    """What to compare, and how: the same for whoever compares, on the terminal or in a report."""
    parser.add_argument("--channel", metavar="NAME", help="the channel (the lesson's first)")
    parser.add_argument("--unit", help="the unit to which all are brought (the one that most benches have)")
    parser.add_argument(
        "--align",
        choices=ALIGNMENTS,
        default="instant",
        help="compare at the same instant, or since the same event at each bench (%(default)s)",
    )
    parser.add_argument(
        "--event",
        dest="events",
        action="append",
        default=[],
        type=_event,
        metavar="BENCH=TIME",
        help="a bench's event set by hand, in session time; may be given again",
    )
    parser.add_argument(
        "--from",
        dest="from_seconds",
        type=_time,
        metavar="TIME",
        help="the comparison's begin, in aligned time",
    )
    parser.add_argument("--until", dest="to_seconds", type=_time, metavar="TIME", help="its end")
    parser.add_argument(
        "--between",
        choices=tuple(BETWEEN),
        default="line",
        help="a value between two readings: on the straight line, or the reading before holds (%(default)s)",
    )
    parser.add_argument(
        "--leave-out",
        dest="left_out",
        action="append",
        default=[],
        type=_left_out,
        metavar="BENCH[=WHY]",
        help="leave benches out, for example 2 or 2,5='in the sun', or 'marked': all with findings or "
        "without a valid calibration; told in the answer; may be given again",
    )
    parser.add_argument("--reference", type=_number, metavar="VALUE", help="what the level should be")
    parser.add_argument(
        "--reference-u", type=_uncertainty, default=0.0, metavar="U", help="its standard uncertainty"
    )
    parser.add_argument(
        "--response",
        choices=tuple(RESPONSES),
        default="step",
        help="fit the answer to a step, or cooling and warming towards ambient (%(default)s)",
    )
    parser.add_argument(
        "--ambient",
        dest="ambients",
        action="append",
        default=[],
        type=_at_bench,
        metavar="[BENCH=]VALUE",
        help="the ambient, where it is known: of all benches, or of one; may be given again",
    )
    parser.add_argument(
        "--ambient-u",
        dest="u_ambients",
        action="append",
        default=[],
        type=_u_at_bench,
        metavar="[BENCH=]U",
        help="its standard uncertainty, of all benches or of one",
    )
    parser.add_argument(
        "--robust", action="store_true", help="scores also by a mean that a few wrong values do not move"
    )


def asked_of(
    options: argparse.Namespace, path: Path, channel: str, known: ClassKnown, *, is_second: bool = False
) -> Asked:
    """What was asked for on the command line; of a second recording, whose benches may be others.

    Raises:
        BenchrowError: A bench is named that is not there, or the choices contradict each other.
    """
    from dashboard.comparison_asked import Asked

    left_out = tuple(
        (bench, why or ("; ".join(known.marks[bench]) if benches == MARKED else ""))
        for benches, why in options.left_out
        for bench in (known.marks if benches == MARKED else benches)
    )
    ambients: dict[int | None, float] = dict(options.ambients)
    u_ambients: dict[int | None, float] = dict(options.u_ambients)
    own = [bench for bench in (*ambients, *u_ambients) if bench is not None]
    if not is_second:
        _check_benches([*(b for b, _ in options.events), *(b for b, _ in left_out), *own], channel, known)
    if options.events and options.align == "instant":
        raise BenchrowError(
            "an event was set by hand, but benches are compared at the same instant",
            remedy="Say which event with --align onset, release or peak",
        )
    _check_what_goes_together(options, ambients, u_ambients)
    since, until = options.from_seconds, options.to_seconds
    if since is not None and until is not None and until <= since:
        raise BenchrowError(
            f"the comparison ends ({until:g} s) before it begins ({since:g} s)",
            remedy="Give --until a later time than --from",
        )
    u_common = u_ambients.get(None, 0.0)
    words: Any = {
        "kind": options.align,
        "interpolation": BETWEEN[options.between],
        "response": RESPONSES[options.response],
    }
    return Asked(
        path=path,
        channel=channel,
        unit=options.unit,
        by_hand=() if is_second else tuple(dict(options.events).items()),
        from_seconds=options.from_seconds,
        to_seconds=options.to_seconds,
        left_out=left_out,
        reference=options.reference,
        u_reference=options.reference_u,
        ambient=ambients.get(None),
        u_ambient=u_common,
        ambients=tuple(
            (bench, value, u_ambients.get(bench, u_common))
            for bench, value in ambients.items()
            if bench is not None
        ),
        is_robust=options.robust,
        **words,
    )


def _check_benches(named: Sequence[int], channel: str, known: ClassKnown) -> None:
    unknown = next((bench for bench in named if bench not in known.names), None)
    if unknown is not None:
        there = ", ".join(map(str, known.names))
        raise BenchrowError(f"no bench {unknown} has the channel {channel!r}", remedy=f"There is: {there}")


def _check_what_goes_together(
    options: argparse.Namespace, ambients: Mapping[int | None, float], u_ambients: Mapping[int | None, float]
) -> None:
    if options.reference_u and options.reference is None:
        raise BenchrowError(
            "the reference has an uncertainty but no value", remedy="Give it with --reference VALUE"
        )
    without = next((bench for bench in u_ambients if bench is not None and bench not in ambients), None)
    if without is not None or (u_ambients and not ambients):
        where, wanted = ("", "") if without is None else (f" at bench {without}", f"{without}=")
        raise BenchrowError(
            f"the ambient{where} has an uncertainty but no value",
            remedy=f"Give it with --ambient {wanted}VALUE",
        )
    if ambients and options.response != "ambient":
        raise BenchrowError(
            "an ambient was given, but no way towards ambient is fitted", remedy="Add --response ambient"
        )


def _number(text: str) -> float:
    try:
        value = float(text)
    except ValueError:
        value = math.nan
    if math.isfinite(value):
        return value
    raise argparse.ArgumentTypeError(f"{text!r} is no number; write for example 20.5")


def _uncertainty(text: str) -> float:
    value = _number(text)
    if value < 0:
        raise argparse.ArgumentTypeError(f"{text!r} is below 0, which no uncertainty is")
    return value


def _time(text: str) -> float:
    """Seconds from '90', '1:30' or '-0:05': since an event there are times before it."""
    if not re.fullmatch(r"-?(\d+:){0,2}\d+(\.\d+)?", text, re.ASCII):
        raise argparse.ArgumentTypeError(
            f"{text!r} is no time; write seconds or minutes:seconds: 4:30, before an event --from=-5"
        )
    total = 0.0
    for part in text.lstrip("-").split(":"):
        total = 60 * total + float(part)
    return -total if text.startswith("-") else total


def _event(text: str) -> tuple[int, float]:
    bench, sign, time = text.partition("=")
    if not sign or not re.fullmatch(r"\d{1,5}", bench, re.ASCII):
        raise argparse.ArgumentTypeError(f"{text!r} sets no event; write BENCH=TIME, for example 3=1:05")
    return int(bench), _time(time)


def _left_out(text: str) -> tuple[tuple[int, ...] | str, str]:
    benches, _, why = text.partition("=")
    if benches == MARKED:
        return MARKED, " ".join(why.split())
    parts = benches.split(",")
    if not all(re.fullmatch(r"\d{1,5}", part, re.ASCII) for part in parts):
        raise argparse.ArgumentTypeError(f"{text!r} names no benches; write their numbers, for example 2,5")
    return tuple(map(int, parts)), " ".join(why.split())


def _at_bench(text: str) -> tuple[int | None, float]:
    """'21.5' is for all benches, '3=21.5' for one."""
    bench, sign, value = text.rpartition("=")
    if sign and not re.fullmatch(r"\d{1,5}", bench, re.ASCII):
        raise argparse.ArgumentTypeError(f"{text!r} names no bench; write 3=21.5, or 21.5 for all")
    return (int(bench) if sign else None), _number(value)


def _u_at_bench(text: str) -> tuple[int | None, float]:
    bench, value = _at_bench(text)
    if value < 0:
        raise argparse.ArgumentTypeError(f"{text!r} is below 0, which no uncertainty is")
    return bench, value
