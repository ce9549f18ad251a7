"""Whatever a board prints, the check comes to some verdict."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bridge.core.checking import ConversionCheck
from bridge.core.printed import printed
from tests.bridge.core.made_conversions import EVERY_KIND

COUNTS = st.one_of(st.integers(0, 1023), st.integers(-5, 70_000)).map(str)
TEXTS = st.one_of(
    st.sampled_from(["0", "0.00", "-0.0", "1e9", "-273.15", "nan", "0.001", "99999999"]),
    st.floats(-500, 500).map(lambda x: f"{x:.2f}"),
    st.integers(-300, 300).map(str),
)
RECORDS = st.lists(st.tuples(COUNTS, TEXTS, TEXTS), max_size=30)


@pytest.mark.parametrize("shown", [(0, 2), (0, 1), (1, 2), (0, 1, 2)])
@given(records=RECORDS, name=st.sampled_from([*EVERY_KIND, ""]), same=st.booleans())
@settings(max_examples=300, deadline=None)
def test_no_text_breaks_the_check(
    shown: tuple[int, ...], records: list[tuple[str, str, str]], name: str, same: bool
) -> None:
    expected, unit = EVERY_KIND[name] if name else (None, "°C")
    check = ConversionCheck(
        has_count=0 in shown, has_volts=1 in shown, has_value=2 in shown, volts_unit="V", value_unit="",
        expected=expected, channel="x", unit=unit,
    )  # fmt: skip
    for count, volts, value in records:
        # Every second time all values are alike, which is where divisions by nothing lie.
        texts = (count, *(("0.00", "0.00") if same else (volts, value)))
        check.take(*(printed(text) if i in shown else None for i, text in enumerate(texts)))
        if len(records) < 4:
            check.verdict()
    verdict = check.verdict()
    assert verdict.words
    if verdict.state == "wrong":
        assert verdict.mistakes
        assert verdict.remedy
        assert verdict.found or expected is None
    assert check.verdict() == verdict
