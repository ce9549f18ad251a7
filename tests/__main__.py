"""`python3 tests`: sets up what is needed in a fresh clone, then runs every test. Arguments go to pytest.

--without-browser    leave out the tests that drive a browser
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

WITHOUT = "--without-browser"


def main(arguments: list[str]) -> None:
    """Set up, then go on as pytest."""
    without_browser = WITHOUT in arguments
    arguments = [one for one in arguments if one != WITHOUT]
    python = setting_up.ready_python(extra="dev")
    if without_browser:
        arguments += ["-m", "not browser"]
    elif find_chromium() is None and not chromium_installed():
        print("These tests need a browser of the Chromium family, and none can be had here:", flush=True)
        listing = [str(python), "-m", "pytest", "--collect-only", "--quiet", "--no-header", "-m", "browser"]
        subprocess.run(listing, cwd=ROOT, check=False)
        sys.exit(
            "Install Chromium (or name a browser in BENCHROW_CHROMIUM) and run this command again, "
            f"or run all other tests with: python3 tests {WITHOUT}"
        )
    setting_up.hand_over(["-m", "pytest", *arguments], folder=ROOT)


def chromium_installed() -> bool:
    """Install Chromium with apt, where apt is there and lets us; whether it worked."""
    as_root = root_words()
    if os.environ.get("BENCHROW_CHROMIUM") is not None or as_root is None or not shutil.which("apt-get"):
        return False
    print("Installing a browser for the tests (apt-get install chromium) ...", flush=True)
    # socat makes the pair of ports that a few tests and the README's trial without boards use.
    commands = (["update"], ["install", "--yes", "--no-install-recommends", "chromium", "socat"])
    for words in commands:
        if subprocess.run([*as_root, "apt-get", "-qq", *words], check=False).returncode:
            return False
    return find_chromium() is not None


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
