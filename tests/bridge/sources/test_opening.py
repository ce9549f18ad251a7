from __future__ import annotations

import errno

import pytest
import serial

from bridge.errors import PortProblem
from bridge.sources.opening import port_error

# As pyserial words them on Windows, where the number stands only in the text.
DENIED = "could not open port 'COM3': PermissionError(13, 'Access is denied.', None, 5)"
MISSING = (
    "could not open port 'COM3': FileNotFoundError(2, 'The system cannot find the file specified.', None, 2)"
)
DEAD = "could not open port 'COM3': OSError(22, 'The semaphore timeout period has expired.', None, 121)"


@pytest.mark.parametrize(
    ("platform", "error", "reason", "says"),
    [
        ("win32", serial.SerialException(DENIED), PortProblem.IN_USE, "Close that program"),
        ("win32", serial.SerialException(MISSING), PortProblem.NOT_FOUND, "Device Manager"),
        ("win32", serial.SerialException(DEAD), PortProblem.NOT_FOUND, "Plug the board in"),
        ("linux", serial.SerialException(errno.EACCES, "no"), PortProblem.NO_PERMISSION, "group 'dialout'"),
        ("linux", serial.SerialException(errno.EPERM, "no"), PortProblem.NO_PERMISSION, "usermod"),
        ("linux", serial.SerialException(errno.EBUSY, "busy"), PortProblem.IN_USE, "Close that program"),
        ("linux", serial.SerialException(errno.EAGAIN, "locked"), PortProblem.IN_USE, "Close that program"),
        ("linux", serial.SerialException(errno.ENOENT, "none"), PortProblem.NOT_FOUND, "/dev/ttyACM0"),
        ("linux", serial.SerialException(errno.EIO, "hung up"), PortProblem.NOT_FOUND, "Plug the board in"),
        ("linux", serial.SerialException("no number at all"), PortProblem.NOT_FOUND, "benchrow ports"),
        ("darwin", serial.SerialException(errno.EACCES, "no"), PortProblem.NO_PERMISSION, "System Settings"),
        ("darwin", serial.SerialException(errno.EBUSY, "busy"), PortProblem.IN_USE, "Close that program"),
        ("darwin", serial.SerialException(errno.ENOENT, "none"), PortProblem.NOT_FOUND, "/dev/cu."),
        ("linux", ValueError("Invalid baud rate: 17"), PortProblem.BAD_URL, "9600 or 115200"),
        ("linux", ValueError("protocol 'x' not known"), PortProblem.BAD_URL, "COM3 or /dev/ttyACM0"),
    ],
)
def test_each_refusal_is_told_with_what_to_do(
    platform: str, error: Exception, reason: PortProblem, says: str
) -> None:
    told = port_error(error, "COM3", baud=17, platform=platform)
    assert told.reason is reason
    assert says in told.remedy
    assert "COM3" in told.happened


def test_the_reason_is_found_in_the_error_that_pyserial_raised_its_own_from() -> None:
    try:
        try:
            raise ConnectionRefusedError(errno.ECONNREFUSED, "Connection refused")
        except OSError as inner:
            raise serial.SerialException(f"Could not open port: {inner}") from inner
    except serial.SerialException as error:
        told = port_error(error, "socket://127.0.0.1:9", platform="linux")
    assert told.reason is PortProblem.NOT_FOUND
    assert told.happened == "nothing answers at socket://127.0.0.1:9"
