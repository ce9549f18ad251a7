"""`python3 demo`: sets up a fresh clone, then shows the demo. Arguments go to `benchrow demo`."""
# No `from __future__` here: an old Python must get as far as the sentence below.

import sys
from pathlib import Path

if sys.version_info < (3, 11):
    sys.exit(
        "Benchrow needs Python 3.11 or newer, and this is Python %d.%d. "
        "Install a newer one, then run this command with it." % sys.version_info[:2]
    )

_SET_UP = Path(__file__).resolve().parent.parent / ".ci"
if not (_SET_UP / "setting_up.py").is_file():
    sys.exit("This is the demo of an installed Benchrow. Run: benchrow demo")
sys.path[0] = str(_SET_UP)  # in place of this folder, whose modules are no top-level names

import setting_up

if __name__ == "__main__":
    setting_up.ready_python()
    setting_up.hand_over(["-m", "dashboard", "demo", *sys.argv[1:]])
