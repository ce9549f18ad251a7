from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.core.packing import PackedRow, packed_row, unpacked

ROWS = st.lists(
    st.tuples(st.integers(1, 2**40), st.integers(-(2**33), 2**45), st.binary(max_size=300)),
    min_size=1,
    max_size=40,
)


@given(rows=ROWS, bench=st.integers(1, 99), squeeze=st.booleans())
def test_what_was_packed_comes_out_again(
    rows: list[tuple[int, int, bytes]], bench: int, squeeze: bool
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
    text = packed_row(1, range(100), range(100), [b"Temp: 21.5 C\r\n"] * 100, squeeze=True)
    noise = packed_row(1, [7], [7], [b"\x9d"], squeeze=True)
    assert (text.packing, noise.packing) == ("zlib", "plain")
    assert len(text.stamps) + len(text.data) < 300


def test_a_plain_row_has_the_bytes_as_they_are() -> None:
    assert packed_row(1, [0, 1], [5, 9], [b"21.5\r", b"\n22.0\r\n"]).data == b"21.5\r\n22.0\r\n"


@pytest.mark.parametrize("squeeze", [False, True])
@pytest.mark.parametrize("column", ["first_order", "bench", "n_chunks", "first_ns", "stamps", "data"])
def test_a_row_that_is_not_what_was_written_is_refused(column: str, squeeze: bool) -> None:
    row = packed_row(3, range(5, 60), range(1000, 56000, 1000), [b"21.5\n"] * 55, squeeze=squeeze)
    values = row._asdict()
    before = values[column]
    values[column] = before + 1 if isinstance(before, int) else before[:-1] + bytes((before[-1] ^ 1,))
    with pytest.raises(ValueError, match="checksum"):
        unpacked(PackedRow(**values))
