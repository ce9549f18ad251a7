from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.core.packing import PackedRow, Squeeze, packed_rows, unpacked


def packed_row(
    bench: int, orders: Sequence[int], times_ns: Sequence[int], pieces: Sequence[bytes], *, squeeze: Squeeze
) -> PackedRow:
    benches = [bench] * len(pieces)
    [row] = packed_rows(benches, pieces, times_ns, np.array(orders, np.int64), squeeze=squeeze)
    return row


ROWS = st.lists(
    st.tuples(st.integers(1, 2**40), st.integers(-(2**33), 2**45), st.binary(max_size=300)),
    min_size=1,
    max_size=40,
)


@given(rows=ROWS, bench=st.integers(1, 99), squeeze=st.sampled_from(["quick", "best"]))
def test_what_was_packed_comes_out_again(
    rows: list[tuple[int, int, bytes]], bench: int, squeeze: Squeeze
) -> None:
    order, orders, at_ns, times_ns, pieces = 0, [], 0, [], []
    for order_step, time_step, data in rows:
        order, at_ns = order + order_step, at_ns + time_step
        orders.append(order)
        times_ns.append(at_ns)
        pieces.append(data)
    row = packed_row(bench, orders, times_ns, pieces, squeeze=squeeze)
    assert unpacked(row) == (orders, times_ns, pieces)
    assert (row.bench, row.n_chunks, row.last_ns) == (bench, len(rows), max(times_ns))


def test_text_is_squeezed_and_noise_is_left_plain() -> None:
    text = packed_row(1, range(100), range(100), [b"Temp: 21.5 C\r\n"] * 100, squeeze="best")
    noise = packed_row(1, [7], [7], [b"\x9d"], squeeze="best")
    assert (text.packing, noise.packing) == ("zlib", "plain")
    assert len(text.stamps) + len(text.data) < 300


def test_a_short_row_has_the_bytes_as_they_are() -> None:
    assert (
        packed_row(1, [0, 1], [5, 9], [b"21.5\r", b"\n22.0\r\n"], squeeze="quick").data == b"21.5\r\n22.0\r\n"
    )


@pytest.mark.parametrize("squeeze", ["quick", "best"])
@pytest.mark.parametrize("column", ["first_order", "bench", "n_chunks", "first_ns", "stamps", "data"])
def test_a_row_that_is_not_what_was_written_is_refused(column: str, squeeze: Squeeze) -> None:
    row = packed_row(3, range(5, 60), range(1000, 56000, 1000), [b"21.5\n"] * 55, squeeze=squeeze)
    values = row._asdict()
    before = values[column]
    values[column] = before + 1 if isinstance(before, int) else before[:-1] + bytes((before[-1] ^ 1,))
    with pytest.raises(ValueError, match="checksum"):
        unpacked(PackedRow(**values))


@given(
    chunks=st.lists(
        st.tuples(st.integers(1, 5), st.binary(max_size=20), st.integers(-(2**62), 2**62)), min_size=1
    ),
    first=st.integers(0, 2**50),
)
def test_each_bench_gets_a_row_and_keeps_its_order(chunks: list[tuple[int, bytes, int]], first: int) -> None:
    benches, pieces, times_ns = zip(*chunks, strict=True)
    orders = np.arange(first, first + len(chunks))
    rows = packed_rows(benches, pieces, times_ns, orders, squeeze="quick")
    assert [row.bench for row in rows] == sorted({bench for bench, _, _ in chunks})
    found = []
    for row in rows:
        for order, at_ns, data in zip(*unpacked(row), strict=True):
            found.append((order, (row.bench, data, at_ns)))
    assert sorted(found) == list(enumerate(chunks, first))


@pytest.mark.parametrize("limit", [2**7, 2**15, 2**31])
@pytest.mark.parametrize("sign", [1, -1])
def test_steps_at_the_ends_of_a_width_come_back(limit: int, sign: int) -> None:
    for step in (sign * limit - 1, sign * limit, sign * limit + 1):
        row = packed_row(1, [0, 1], [0, step], [b"", b""], squeeze="quick")
        assert unpacked(row).times_ns == [0, step]
