"""What a receiver makes of bytes that were sent at another baud rate: the physics of the wire.

The line is high when idle. A byte is a start bit (low), eight data bits from the lowest, a stop bit (high). A
receiver waits for a fall, looks at the middle of the start bit and of each bit behind it, at its own rate,
and delivers what it saw even when the stop bit was low. In the middle of the stop bit it waits for the next
fall. Most wait so; others take a low stop bit for the next start bit at once, all but within a break (a frame
that is low throughout), or within a break as well.

Source: the frame of start-stop transmission, ITU-T V.4 and ISO/IEC 7480.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray

BITS_A_BYTE = 10  # start, eight data bits, stop
LOOKS_A_BIT = 16  # a receiver looks for the fall this often in one of its bits

Receiver = Literal["waits for a fall", "goes on", "goes on in a break"]
RECEIVERS: tuple[Receiver, ...] = ("waits for a fall", "goes on", "goes on in a break")

_WORTH = np.array([0, *(1 << i for i in range(8)), 0])


def heard(
    data: bytes,
    *,
    sent_at: float,
    read_at: float,
    idle_bits: Sequence[int] | None = None,
    receiver: Receiver = "waits for a fall",
) -> bytes:
    """The bytes that a receiver delivers.

    Args:
        data: What was sent.
        sent_at: The sender's bits per second.
        read_at: The receiver's bits per second.
        idle_bits: Bits of the sender for which the line rests behind each byte; None: it never rests.
        receiver: What it does when a stop bit is low.

    Returns:
        As many bytes as the receiver makes of it; at about the same rate the same ones.
    """
    return frames(levels_of(data, idle_bits), sent_at / read_at, receiver).codes.tobytes()


def levels_of(data: bytes, idle_bits: Sequence[int] | None = None) -> NDArray[np.uint8]:
    """The line's level, 0 or 1, in each bit of the sender; it begins and ends idle."""
    codes = np.frombuffer(data, np.uint8)
    rest = np.zeros(len(codes), np.intp) if idle_bits is None else np.asarray(idle_bits, np.intp)
    ends = 1 + np.cumsum(BITS_A_BYTE + rest)
    levels = np.ones(int(ends[-1]) + 1 if len(codes) else 2, np.uint8)
    starts = ends - rest - BITS_A_BYTE
    levels[starts] = 0
    for i in range(8):
        levels[starts + 1 + i] = (codes >> i) & 1
    return levels


class Frames(NamedTuple):
    """What a receiver made of a line."""

    codes: NDArray[np.uint8]  # the bytes
    starts: NDArray[np.float64]  # where each was taken to begin, in bits of the sender


def frames(levels: NDArray[np.uint8], ratio: float, receiver: Receiver) -> Frames:
    """The bytes that a receiver makes of a line; `ratio` is the sender's rate by the receiver's.

    What every fall would begin is worked out for all at once; then only the falls are kept that the receiver
    really sees.
    """
    falls = np.flatnonzero((levels[:-1] == 1) & (levels[1:] == 0)) + 1
    line = np.concatenate((levels, np.ones(int(12 * ratio) + 12, np.uint8)))  # a frame that begins at the end
    tick = ratio / LOOKS_A_BIT
    starts = (np.floor(falls / tick) + 1) * tick
    seen = _seen(line, starts, ratio)
    codes = seen @ _WORTH
    is_frame = seen[:, 0] == 0  # high in the middle of the start bit: a spike, no start
    ends = np.where(is_frame, starts + 9.5 * ratio, starts + 0.5 * ratio)
    columns, begun = [np.where(is_frame, codes, -1)], [starts.copy()]
    goes_on = is_frame & _is_followed(seen, codes, receiver)
    while goes_on.any():
        following = np.full(len(falls), -1)
        at = np.flatnonzero(goes_on)
        starts[at] += 9 * ratio
        seen = _seen(line, starts[at], ratio)
        begins = seen[:, 0] == 0
        codes = np.where(begins, seen @ _WORTH, -1)
        following[at] = codes
        columns.append(following)
        begun.append(starts.copy())
        ends[at[begins]] = starts[at[begins]] + 9.5 * ratio
        goes_on = np.zeros(len(falls), bool)
        goes_on[at] = begins & _is_followed(seen, codes, receiver)
    kept = _steps(np.searchsorted(falls, ends).tolist())
    delivered = np.stack(columns, axis=1)[kept].ravel()
    is_one = delivered >= 0
    return Frames(delivered[is_one].astype(np.uint8), np.stack(begun, axis=1)[kept].ravel()[is_one])


def _seen(line: NDArray[np.uint8], starts: NDArray[np.float64], ratio: float) -> NDArray[np.uint8]:
    """The levels in the middle of each bit of the frames that begin at these places, shape (n, 10)."""
    places = (starts[:, None] + (np.arange(BITS_A_BYTE) + 0.5) * ratio).astype(np.intp)
    levels: NDArray[np.uint8] = line[np.minimum(places, len(line) - 1)]
    return levels


def _is_followed(seen: NDArray[np.uint8], codes: NDArray[np.intp], receiver: Receiver) -> NDArray[np.bool_]:
    """Whether the stop bit is taken for the next start bit."""
    if receiver == "waits for a fall":
        return np.zeros(len(codes), bool)
    low_stop: NDArray[np.bool_] = seen[:, -1] == 0
    return low_stop if receiver == "goes on in a break" else low_stop & (codes != 0)


def _steps(following: list[int]) -> list[int]:
    """The places that are come by, from the first on, when each names the next one."""
    kept: list[int] = []
    keep, at, end = kept.append, 0, len(following)
    while at < end:
        keep(at)
        at = following[at]
    return kept
