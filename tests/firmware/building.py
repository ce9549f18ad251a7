"""Compiles the boards' programs and the emulator into a folder; what is compiled is never committed."""

from __future__ import annotations

import subprocess
from dataclasses import dataclass
from pathlib import Path

from tests.firmware.tools import AVR_GCC, SIMAVR_HEADERS, missing_packages

HERE = Path(__file__).resolve().parent
MCU = "atmega328p"
CLOCK_HZ = 1_000_000  # slow enough to cost next to nothing when it is emulated
BAUD = 9600
# -fwrapv: an int that overflows wraps, as the hardware's does, whatever the compiler makes of it.
_FLAGS = ("-std=gnu11", "-Wall", "-Wextra", "-Werror")
_FOR_BOARDS = ("-Os", "-fwrapv", f"-mmcu={MCU}", f"-DF_CPU={CLOCK_HZ}UL", f"-DBAUD={BAUD}")


@dataclass(frozen=True, slots=True)
class Built:
    """Where the emulator and the programs stand."""

    folder: Path

    @property
    def emulator(self) -> Path:
        return self.folder / "emulator"

    def program(self, name: str) -> Path:
        """The firmware made from NAME.c."""
        return self.folder / f"{name}.elf"


def build(folder: Path) -> Built:
    """Compile the emulator and every program.

    Raises:
        RuntimeError: A package is missing, or a source does not compile; the text says which.
    """
    if missing := missing_packages():
        raise RuntimeError(f"real firmware needs more of this machine: apt-get install {' '.join(missing)}")
    built = Built(folder)
    emulator = [str(HERE / "emulator.c"), "-o", str(built.emulator), "-lsimavrparts", "-lsimavr", "-lelf"]
    _must(["gcc", *_FLAGS, "-O2", "-isystem", SIMAVR_HEADERS, *emulator])
    for name in program_names():
        sources = [str(HERE / f"{name}.c"), str(HERE / "board.c")]
        _must([AVR_GCC, *_FLAGS, *_FOR_BOARDS, *sources, "-o", str(built.program(name)), "-lm"])
    return built


def program_names() -> list[str]:
    """Every program of a board."""
    return sorted(path.stem for path in HERE.glob("*.c") if path.stem not in ("board", "emulator"))


def _must(command: list[str]) -> None:
    ended = subprocess.run(command, capture_output=True, text=True, timeout=60, check=False)
    if ended.returncode:
        raise RuntimeError(f"{' '.join(command)}\n{ended.stderr}")
