"""Sets up the project's own virtual environment, `.venv`, for `python3 demo` and `python3 tests`.

Only the standard library is used: this runs on a bare machine, before anything is installed.
"""

from __future__ import annotations

import hashlib
import os
import shutil
import subprocess
import sys
from importlib.util import find_spec
from pathlib import Path
from typing import NoReturn

ROOT = Path(__file__).resolve().parent.parent
VENV = ROOT / ".venv"
CONSTRAINTS = ROOT / ".ci" / "constraints.txt"
STAMP = VENV / "benchrow-set-up.txt"  # first line: what the environment was made from; then its extras
PYTHON = VENV / ("Scripts/python.exe" if os.name == "nt" else "bin/python")


def ready_python(*, extra: str = "") -> Path:
    """The environment's interpreter, set up first when that is needed.

    Args:
        extra: Optional dependencies of pyproject.toml that are wanted as well, "" for none.

    Raises:
        SystemExit: The set-up failed; its text says what happened and what to do.
    """
    made_from = _made_from()
    stamp = STAMP.read_text(encoding="utf-8").split() if STAMP.is_file() else []
    if PYTHON.exists() and stamp[:1] == [made_from] and (not extra or extra in stamp[1:]):
        return PYTHON
    if stamp[:1] != [made_from] or not PYTHON.exists():
        stamp = [made_from]
        _make_environment()
    _install(extra)
    STAMP.write_text("\n".join([*stamp, extra]) + "\n", encoding="utf-8")
    _say("Set-up done.")
    return PYTHON


def hand_over(arguments: list[str], *, folder: Path | None = None) -> NoReturn:
    """Go on as the environment's Python with these arguments; never returns.

    Args:
        folder: Where to run it; None: where the user stands, so that relative paths mean what they say.
    """
    if folder is not None:
        os.chdir(folder)
    command = [str(PYTHON), *arguments]
    if os.name != "nt":  # one process: a signal sent to this one reaches the program itself
        os.execv(command[0], command)
    process = subprocess.Popen(command)
    while True:
        try:
            sys.exit(process.wait())
        except KeyboardInterrupt:
            continue  # Windows sent Ctrl-C to the program as well, which closes in its own good order


def _made_from() -> str:
    """What the environment depends on, as a hash: changed means that it must be made again."""
    parts = [
        str(ROOT),
        sys.version,
        *(p.read_text(encoding="utf-8") for p in (ROOT / "pyproject.toml", CONSTRAINTS)),
    ]
    return hashlib.sha256("\0".join(parts).encode()).hexdigest()


def _make_environment() -> None:
    if find_spec("ensurepip") is None or find_spec("venv") is None:
        version = f"{sys.version_info.major}.{sys.version_info.minor}"
        sys.exit(
            "This Python can't make a virtual environment: a part of its standard library is missing. "
            f"On Debian and its kin run: apt-get install python{version}-venv; then run this command again."
        )
    _say("Setting up, once; this takes a minute or two.")
    _say(f"1 of 2: making a virtual environment in {VENV.name} ...")
    if VENV.exists():
        shutil.rmtree(VENV)
    _must([sys.executable, "-m", "venv", str(VENV)], failed="The virtual environment could not be made")


def _install(extra: str) -> None:
    _say(f"2 of 2: installing the packages{' and the tools for the tests' if extra else ''} ...")
    project = f"{ROOT}[{extra}]" if extra else str(ROOT)
    command = [str(PYTHON), "-m", "pip", "install", "--quiet", "--disable-pip-version-check"]
    _must(
        [*command, "--constraint", str(CONSTRAINTS), "--editable", project],
        failed="The packages could not be installed. Is this machine connected to a package index?",
    )


def _must(command: list[str], *, failed: str) -> None:
    if code := subprocess.run(command, cwd=ROOT, check=False).returncode:
        sys.exit(f"{failed} (exit code {code}; the reason stands above).")


def _say(words: str) -> None:
    print(words, flush=True)
