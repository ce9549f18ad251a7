"""Units as boards print them: which words are units, and which spellings mean the same one."""

from __future__ import annotations

import re

_SPELLINGS = {
    "°C": "c degc degcelsius celsius ℃ ºc °c *c 'c oc c° gradc grad_c",
    "°F": "f degf degfahrenheit fahrenheit ℉ ºf °f *f 'f f°",
    "K": "kelvin",
    "V": "v volt volts",
    "mV": "mv millivolt millivolts",
    "Ω": "ohm ohms ω",
    "kΩ": "kohm kohms kω",
    "%": "pct percent %rh rh%",
    "lx": "lux",
    "s": "sec seconds",
    "ms": "msec millis",
    "µs": "us usec μs micros",
    "counts": "count cnt",
    "°": "deg degs degree degrees grad",
    "µV": "uv μv",
}
_degrees = re.compile(r"^(?:deg(?:rees?)?\.?|grad|°)\s?(?=[cfk])").sub
_SAME = {spelling: unit for unit, words in _SPELLINGS.items() for spelling in words.split()}
_OTHERS = frozenset(
    (
        *(
            "A",
            "mA",
            "µA",
            "W",
            "mW",
            "Pa",
            "hPa",
            "kPa",
            "bar",
            "mbar",
            "m",
            "cm",
            "mm",
            "µm",
            "g",
            "kg",
            "N",
        ),
        *("Hz", "kHz", "MHz", "rpm", "ppm", "ppb", "dB", "h", "min"),
    )
)


def canonical_unit(text: str) -> str:
    """One spelling for a unit that boards print in several; other words as they are."""
    bare = " ".join(text.split())
    if bare in _SPELLINGS or bare in _OTHERS:
        return bare
    return _SAME.get(_degrees("deg", bare.casefold()), bare)


def is_unit(text: str) -> bool:
    """Whether a word behind a number is known as a unit."""
    unit = canonical_unit(text)
    return unit in _SPELLINGS or unit in _OTHERS


def agrees(found: str, wanted: str) -> bool:
    """Whether a unit in the text may stand there: the wanted one in any spelling, or any known one.

    A board that goes from V to mV must not be read on as if nothing had happened.
    """
    if not found:
        return True
    return canonical_unit(found) == canonical_unit(wanted) if wanted else is_unit(found)
