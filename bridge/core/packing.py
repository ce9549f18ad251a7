"""Chunks of one bench packed into a row of a recording, and back. `bridge.recording_schema` has the form."""

from __future__ import annotations

import zlib
from collections.abc import Sequence
from operator import itemgetter
from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray

Packing = Literal["plain", "data zlib", "zlib"]
Squeeze = Literal["quick", "best"]

_WIDTHS = (1, 2, 4, 8)
_WIDTH_BYTES = [bytes((width,)) for width in _WIDTHS]
_TYPES = [np.dtype(f"<i{width}") for width in _WIDTHS]
_HIGHEST = np.array([np.iinfo(one).max for one in _TYPES], np.int64)
_QUICK_LEVEL = 1
_BEST_LEVEL = 6  # 9 takes three times as long and gains one hundredth
_LEAST_BYTES = 100  # less is not worth a try while the session runs


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


def packed_rows(
    benches: Sequence[int],
    pieces: Sequence[bytes],
    times_ns: Sequence[int],
    orders: NDArray[np.int64],
    *,
    squeeze: Squeeze,
) -> list[PackedRow]:
    """Pack chunks into a row for each bench; all in one go, for a call of numpy costs more than a row.

    Args:
        benches: From which bench each chunk came; at least one.
        pieces: Its bytes.
        times_ns: Its time of arrival in ns of session time.
        orders: Its order number, shape (n,), rising for each bench.
        squeeze: "quick" while the session runs: the text alone, where that helps. "best": all, and smaller.
    """
    n = len(pieces)
    bench_of = np.fromiter(benches, np.int64, n)
    at = np.argsort(bench_of, kind="stable")
    bench_of, orders, times = bench_of[at], orders[at], np.fromiter(times_ns, np.int64, n)[at]
    pieces = itemgetter(*at.tolist())(pieces) if n > 1 else pieces
    begins = np.flatnonzero(np.diff(bench_of, prepend=bench_of[0] - 1))
    columns = [
        _columns(numbers, begins)
        for numbers in (
            _steps(orders, begins),
            _steps(times, begins),
            np.fromiter(map(len, pieces), np.int64, n),
        )
    ]
    spans = zip(begins.tolist(), [*begins[1:].tolist(), n], strict=True)
    heads = zip(
        orders[begins].tolist(), bench_of[begins].tolist(), times[begins].tolist(),
        np.maximum.reduceat(times, begins).tolist(), zip(*columns, strict=True), strict=True,
    )  # fmt: skip
    rows: list[PackedRow] = []
    for (begin, end), (order, bench, first_ns, last_ns, stamps) in zip(spans, heads, strict=True):
        packed = _squeezed(b"".join(stamps), b"".join(pieces[begin:end]), squeeze)
        checksum = _checksum((order, bench, end - begin, first_ns, last_ns), packed)
        rows.append(PackedRow(order, bench, end - begin, first_ns, last_ns, packed[0], checksum, *packed[1:]))
    return rows


def unpacked(row: PackedRow) -> Unpacked:
    """Take a row apart.

    Raises:
        ValueError: The row is not what was written: nothing of it can be trusted.
    """
    found = row_checksum(row)
    if found != row.checksum:
        raise ValueError(f"row {row.first_order} has the checksum {row.checksum}, its content {found}")
    stamps, data = row.stamps, row.data
    if row.packing != "plain":
        data = zlib.decompress(data)
    if row.packing == "zlib":
        stamps = zlib.decompress(stamps)
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
    return _checksum(row[:5], (row.packing, row.stamps, row.data))


def _checksum(numbers: tuple[int, ...], packed: tuple[Packing, bytes, bytes]) -> int:
    packing, stamps, data = packed
    head = "".join([f"{number} " for number in numbers]) + f"{packing} "
    return zlib.crc32(data, zlib.crc32(stamps, zlib.crc32(head.encode())))


def _squeezed(stamps: bytes, data: bytes, squeeze: Squeeze) -> tuple[Packing, bytes, bytes]:
    if squeeze == "quick":
        if len(data) >= _LEAST_BYTES and len(small := zlib.compress(data, _QUICK_LEVEL)) < len(data):
            return "data zlib", stamps, small
    else:
        small_stamps, small = zlib.compress(stamps, _BEST_LEVEL), zlib.compress(data, _BEST_LEVEL)
        if len(small_stamps) + len(small) < len(stamps) + len(data):
            return "zlib", small_stamps, small
    return "plain", stamps, data


def _steps(numbers: NDArray[np.int64], begins: NDArray[np.intp]) -> NDArray[np.int64]:
    """From each number to the next of its bench; 0 for a bench's first."""
    steps = np.diff(numbers, prepend=0)
    steps[begins] = 0
    return steps


def _columns(numbers: NDArray[np.int64], begins: NDArray[np.intp]) -> list[bytes]:
    """For each bench one byte that tells the width, then its numbers, each as wide as the largest needs."""
    magnitudes = np.where(numbers < 0, ~numbers, numbers)
    needed = np.searchsorted(_HIGHEST, np.maximum.reduceat(magnitudes, begins)).tolist()
    ends = [*begins[1:].tolist(), len(numbers)]
    return [
        _WIDTH_BYTES[width] + numbers[begin:end].astype(_TYPES[width]).tobytes()
        for begin, end, width in zip(begins.tolist(), ends, needed, strict=True)
    ]


def _column_at(stamps: bytes, at: int, n: int) -> tuple[NDArray[np.int64], int]:
    width = stamps[at]
    if width not in _WIDTHS:
        raise ValueError(f"a column of numbers {width} bytes wide")
    column = np.frombuffer(stamps, f"<i{width}", n, at + 1)
    return column.astype(np.int64), at + 1 + width * n
