"""Chunks of one bench packed into a row of a recording, and back. `bridge.recording_schema` has the form."""

from __future__ import annotations

import zlib
from collections.abc import Sequence
from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray

Packing = Literal["plain", "zlib"]

_WIDTHS = (1, 2, 4, 8)
_ENDS = {width: (-(1 << 8 * width - 1), (1 << 8 * width - 1) - 1) for width in _WIDTHS}
_ZLIB_LEVEL = 6  # 9 takes three times as long and gains one hundredth


class PackedRow(NamedTuple):
    """Chunks of one bench from one part of a recording, as they are stored."""

    first_order: int
    bench: int
    n_chunks: int
    first_ns: int
    last_ns: int
    packing: Packing
    checksum: int
    stamps: bytes
    data: bytes


class Unpacked(NamedTuple):
    """The same chunks, taken apart: three lists of equal length."""

    orders: list[int]
    times_ns: list[int]
    pieces: list[bytes]


def packed_row(
    bench: int,
    orders: Sequence[int],
    times_ns: Sequence[int],
    pieces: Sequence[bytes],
    *,
    squeeze: bool = False,
) -> PackedRow:
    """Pack chunks into a row.

    Args:
        bench: The bench that they came from.
        orders: Order numbers, rising, one for each chunk; at least one.
        times_ns: Times of arrival in ns of session time.
        pieces: The bytes of each chunk.
        squeeze: Compress with zlib where that makes the row smaller.
    """
    n = len(pieces)
    first_order, first_ns, last_ns = orders[0], times_ns[0], max(times_ns)
    stamps = b"".join(
        (
            _column(_steps(orders)),
            _column(_steps(times_ns)),
            _column(np.fromiter(map(len, pieces), np.int64, n)),
        )
    )
    data = b"".join(pieces)
    packing: Packing = "plain"
    if squeeze:
        small_stamps, small_data = zlib.compress(stamps, _ZLIB_LEVEL), zlib.compress(data, _ZLIB_LEVEL)
        if len(small_stamps) + len(small_data) < len(stamps) + len(data):
            packing, stamps, data = "zlib", small_stamps, small_data
    row = PackedRow(first_order, bench, n, first_ns, last_ns, packing, 0, stamps, data)
    return row._replace(checksum=row_checksum(row))


def unpacked(row: PackedRow) -> Unpacked:
    """Take a row apart.

    Raises:
        ValueError: The row is not what was written: nothing of it can be trusted.
    """
    found = row_checksum(row)
    if found != row.checksum:
        raise ValueError(f"row {row.first_order} has the checksum {row.checksum}, its content {found}")
    stamps, data = row.stamps, row.data
    if row.packing == "zlib":
        stamps, data = zlib.decompress(stamps), zlib.decompress(data)
    order_steps, at = _column_at(stamps, 0, row.n_chunks)
    time_steps, at = _column_at(stamps, at, row.n_chunks)
    lengths, _ = _column_at(stamps, at, row.n_chunks)
    ends = np.cumsum(lengths).tolist()
    pieces = [data[begin:end] for begin, end in zip([0, *ends], ends, strict=False)]
    return Unpacked(
        (np.cumsum(order_steps) + row.first_order).tolist(),
        (np.cumsum(time_steps) + row.first_ns).tolist(),
        pieces,
    )


def row_checksum(row: PackedRow) -> int:
    """CRC-32 of all before the checksum in ASCII, a blank behind each, then of stamps and data as stored."""
    head = "".join(f"{value} " for value in row[:6]).encode()
    return zlib.crc32(row.data, zlib.crc32(row.stamps, zlib.crc32(head)))


def _steps(numbers: Sequence[int]) -> NDArray[np.int64]:
    """From each number to the next; 0 for the first."""
    values = np.array(numbers, dtype=np.int64)
    values[1:] -= values[:-1].copy()
    values[0] = 0
    return values


def _column(values: NDArray[np.int64]) -> bytes:
    """One byte that tells the width, then the values, each as wide as the largest one needs."""
    low, high = int(values.min()), int(values.max())
    width = next(w for w in _WIDTHS if _ENDS[w][0] <= low and high <= _ENDS[w][1])
    return bytes((width,)) + values.astype(f"<i{width}").tobytes()


def _column_at(stamps: bytes, at: int, n: int) -> tuple[NDArray[np.int64], int]:
    width = stamps[at]
    if width not in _WIDTHS:
        raise ValueError(f"a column of numbers {width} bytes wide")
    column = np.frombuffer(stamps, f"<i{width}", n, at + 1)
    return column.astype(np.int64), at + 1 + width * n
