"""What this machine lacks for real firmware. Standard library only: asked before anything is installed."""

from __future__ import annotations

import os
import shutil
import subprocess

AVR_GCC = "avr-gcc"
SIMAVR_HEADERS = "/usr/include/simavr"  # its headers name one another without the folder
_CC = "gcc"

# Debian's package: the compiler, and the headers that it must find; none: the compiler itself must be there.
_NEEDED: dict[str, tuple[str, tuple[str, ...]]] = {
    "gcc-avr": (AVR_GCC, ()),
    "avr-libc": (AVR_GCC, ("avr/io.h",)),
    "gcc": (_CC, ()),
    "libc6-dev": (_CC, ("stdio.h",)),
    "libsimavr-dev": (_CC, ("sim_avr.h", "parts/uart_pty.h")),
    "libelf-dev": (_CC, ("libelf.h",)),
}
PACKAGES = tuple(_NEEDED)


def missing_packages() -> list[str]:
    """Debian's packages that are not there; all of them when `BENCHROW_FIRMWARE` is set to nothing."""
    if os.environ.get("BENCHROW_FIRMWARE") == "":
        return list(PACKAGES)
    if os.name == "nt":
        return []  # no pseudo-terminals, so these tests are left out there in any case
    return [name for name, (compiler, headers) in _NEEDED.items() if not _is_there(compiler, headers)]


def _is_there(compiler: str, headers: tuple[str, ...]) -> bool:
    if shutil.which(compiler) is None:
        return False
    if not headers:
        return True
    words = [compiler, *(["-mmcu=avr5"] if compiler == AVR_GCC else ["-I", SIMAVR_HEADERS]), "-E", "-"]
    source = "".join(f"#include <{header}>\n" for header in headers)
    return subprocess.run(words, input=source.encode(), capture_output=True, check=False).returncode == 0
