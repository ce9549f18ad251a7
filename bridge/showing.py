"""For those who look closely at a bench: how its text is understood, what its readings are worth."""

from __future__ import annotations

from bridge.core.band_times import BandTimes
from bridge.core.calibration import Calibration
from bridge.core.calibration_words import lack_of_fit_words, summary
from bridge.core.checking import Verdict
from bridge.core.pipeline import BenchPipeline
from bridge.core.steady import Steady
from bridge.core.uncertainty import decimals_for
from bridge.core.worth import ChannelWorth
from bridge.messages import MAX_TEXT, Message, ms, number

MAX_FIELDS = 64


def text_message(bench: int, pipeline: BenchPipeline) -> Message:
    """How the bench's text is understood."""
    text = pipeline.text
    roles = [found.role for found in text.roles]
    fields = [
        {"name": name, "role": role, "unit": unit, "text": shown[:MAX_TEXT]}
        for (name, shown, _, unit), role in zip(pipeline.fields, roles, strict=False)
    ]
    return {
        "kind": "text",
        "bench": bench,
        "words": "; ".join(filter(None, (text.layout_words, pipeline.clock_words))),
        "sure": text.sure,
        "fields": fields[:MAX_FIELDS],
        "samples": [one[:MAX_TEXT] for one in text.samples],
        "doubt": text.doubt,
        "alternatives": [
            {"words": one.words, "columns": list(one.columns), "rows": [list(row) for row in one.rows]}
            for one in text.side_by_side()
        ],
    }


def steady_message(bench: int, pipeline: BenchPipeline) -> Message:
    """Which channels of the bench are steady."""
    channels = [
        {"channel": info.name, "unit": info.unit, "decimals": info.decimals, **steady_part(steady)}
        for info, steady in pipeline.steadiness()
    ]
    return {"kind": "steady", "bench": bench, "channels": channels}


def worth_message(bench: int, pipeline: BenchPipeline) -> Message:
    """What each channel's newest reading is worth, and why."""
    return {"kind": "worth", "bench": bench, "channels": [_worth_part(one) for one in pipeline.worth()]}


def bands_message(bench: int, pipeline: BenchPipeline) -> Message:
    """How long each channel was in each band, how often it changed, and what the deadband has spared."""
    return {"kind": "bands", "bench": bench, "channels": [_bands_part(one) for one in pipeline.band_times()]}


def _bands_part(times: BandTimes) -> Message:
    ends = (None, *times.edges, None)
    return {
        "channel": times.channel,
        "phases": list(times.phases),
        "on": times.is_on,
        "since_ms": None if times.begun_ns is None else ms(times.begun_ns),
        "bands": [
            {
                "name": name,
                "low": low,
                "high": high,
                "seconds": round(total.seconds, 3),
                "entries": total.n_entries,
            }
            for name, low, high, total in zip(times.names, ends, ends[1:], times.totals, strict=False)
        ],
        "changes": times.n_changes,
        "edge_changes": times.n_edge_changes,
        "plain_edge_changes": times.n_plain_edge_changes,
        "avoided": times.n_avoided,
    }


def steady_part(steady: Steady) -> dict[str, object]:
    """Whether a value stays."""
    return {
        "steady": steady.steady,
        "mean": number(steady.mean),
        "u": number(steady.u),
        "n": steady.n,
        "seconds": steady.seconds,
        "words": steady.words,
    }


def _worth_part(worth: ChannelWorth) -> Message:
    budget, deadband = worth.budget, worth.deadband
    parts = [] if budget is None else list(zip(budget.parts, budget.shares(), strict=True))
    return {
        "channel": worth.channel,
        "unit": worth.unit,
        "value": None if budget is None else number(budget.value),
        "u": None if budget is None else number(budget.u),
        "decimals": 0 if budget is None else max(0, decimals_for(budget.u)),
        "deadband": None if deadband is None else number(deadband.width),
        "deadband_words": "" if deadband is None else deadband.words,
        "parts": [
            {
                "words": part.words,
                "u": number(part.u) or 0.0,
                "share": min(1.0, number(share) or 0.0),
                "evaluated": part.evaluated,
                "source": part.source,
            }
            for part, share in parts
        ],
        "steady": steady_part(worth.steady),
        "calibration": None if worth.calibration is None else _calibration_part(worth.calibration),
        "check": _check_part(worth.verdict),
    }


def _calibration_part(calibration: Calibration) -> Message:
    given, errors = calibration.given, calibration.standard_errors
    return {
        "fit": given.fit,
        "date": given.date,
        "reference": given.reference,
        "words": summary(calibration),
        "coefficients": list(calibration.coefficients),
        "u": [number(u) for u in errors] if errors is not None else [None] * len(calibration.coefficients),
        "residual_sd": number(calibration.residual_sd),
        "lack_of_fit": lack_of_fit_words(calibration),
        "points": [
            {
                "reference": one.point.reference,
                "indication": one.point.indication,
                "u_reference": one.point.u_reference or None,
                "u_indication": one.point.u_indication or None,
                "fitted": one.fitted,
                "residual": one.residual,
            }
            for one in calibration.points
        ],
    }


def _check_part(verdict: Verdict | None) -> Message:
    if verdict is None:
        verdict = Verdict(state="none", words="The board prints too little to check its formula")
    return {
        "state": verdict.state,
        "words": verdict.words,
        "expected": verdict.expected,
        "found": verdict.found,
        "reads_wrong_by": number(verdict.reads_wrong_by),
        "would_tell": verdict.would_tell,
    }
