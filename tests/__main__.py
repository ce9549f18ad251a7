"""`python3 tests`: sets up what is needed in a fresh clone, then runs every test. Arguments go to pytest.

--without-browser    leave out the tests that drive a browser
--without-firmware   leave out the tests that compile firmware and run it in an emulated microcontroller

They run on all cores; `-n 0` runs one after the other, as a debugger needs it.
"""
# No `from __future__` here: an old Python must get as far as the sentence below.

import os
import shutil
import subprocess
import sys
from pathlib import Path

if sys.version_info < (3, 11):
    sys.exit(
        "Benchrow needs Python 3.11 or newer, and this is Python %d.%d. "
        "Install a newer one, then run this command with it." % sys.version_info[:2]
    )

ROOT = Path(__file__).resolve().parent.parent
# In place of this folder, whose rooms bear the names of the packages that they test.
sys.path[0:1] = [str(ROOT / ".ci"), str(ROOT)]

import setting_up

from tests.chromium import find_chromium
from tests.firmware.tools import PACKAGES, missing_packages

# A file's tests stay together, for they share what takes long to make. A browser for each core is enough.
ON_ALL_CORES = ["-n", "logical", "--maxprocesses", "4", "--dist", "loadfile"]
WITHOUT = "--without-browser"
WITHOUT_FIRMWARE = "--without-firmware"


def main(arguments: list[str]) -> None:
    """Set up, then go on as pytest."""
    left_out = [one for one in (WITHOUT, WITHOUT_FIRMWARE) if one in arguments]
    arguments = [one for one in arguments if one not in left_out]
    python = setting_up.ready_python(extra="dev")
    if WITHOUT not in left_out and find_chromium() is None and not chromium_installed():
        print("These tests need a browser of the Chromium family, and none can be had here:", flush=True)
        list_tests(python, "browser")
        sys.exit(
            "Install Chromium (or name a browser in BENCHROW_CHROMIUM) and run this command again, "
            f"or run all other tests with: python3 tests {' '.join([*left_out, WITHOUT])}"
        )
    if WITHOUT_FIRMWARE not in left_out and missing_packages() and not firmware_tools_installed():
        print("These tests need compilers and an emulator, and these can't be had here:", flush=True)
        list_tests(python, "firmware")
        sys.exit(
            f"Install what Debian calls {', '.join(missing_packages())} and run this command again, "
            f"or run all other tests with: python3 tests {' '.join([*left_out, WITHOUT_FIRMWARE])}"
        )
    if left_out:
        arguments += ["-m", " and ".join(f"not {one.removeprefix('--without-')}" for one in left_out)]
    setting_up.hand_over(["-m", "pytest", *ON_ALL_CORES, *arguments], folder=ROOT)


def list_tests(python: Path, marker: str) -> None:
    """Name the tests that bear the marker."""
    listing = [str(python), "-m", "pytest", "--collect-only", "--quiet", "--no-header", "-m", marker]
    subprocess.run(listing, cwd=ROOT, check=False)


def chromium_installed() -> bool:
    """Install Chromium with apt, where apt is there and lets us; whether it worked."""
    # socat makes the pair of ports that a few tests and the README's trial without boards use.
    named_by_hand = os.environ.get("BENCHROW_CHROMIUM") is not None
    return not named_by_hand and installed("a browser", ["chromium", "socat"]) and find_chromium() is not None


def firmware_tools_installed() -> bool:
    """Install what firmware needs with apt, where apt is there and lets us; whether it worked."""
    unwanted = os.environ.get("BENCHROW_FIRMWARE") == ""
    return not unwanted and installed("compilers and an emulator", list(PACKAGES)) and not missing_packages()


def installed(what: str, packages: "list[str]") -> bool:
    """Install packages with apt; False where it is not there, lets us not, or fails."""
    as_root = root_words()
    if as_root is None or not shutil.which("apt-get"):
        return False
    print(f"Installing {what} for the tests (apt-get install {' '.join(packages)}) ...", flush=True)
    commands = (["update"], ["install", "--yes", "--no-install-recommends", *packages])
    for words in commands:
        if subprocess.run([*as_root, "apt-get", "-qq", *words], check=False).returncode:
            return False
    return True


def root_words() -> "list[str] | None":
    """What stands before a command that needs the administrator's rights; None: they can't be had unasked."""
    if not hasattr(os, "geteuid"):
        return None
    if os.geteuid() == 0:
        return []
    may = shutil.which("sudo") and subprocess.run(["sudo", "-n", "true"], capture_output=True, check=False)
    return ["sudo", "-n"] if may and may.returncode == 0 else None


if __name__ == "__main__":
    main(sys.argv[1:])
