"""The two commands of the README on a bare machine. That they work, the checks show: they begin with one."""

from __future__ import annotations

import ast
import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
COMMANDS = [ROOT / "demo" / "__main__.py", ROOT / "tests" / "__main__.py"]
BEFORE_INSTALL = [*COMMANDS, ROOT / ".ci" / "setting_up.py", ROOT / "tests" / "chromium.py"]
BEFORE_INSTALL += [ROOT / "tests" / "firmware" / "tools.py"]


@pytest.mark.parametrize("path", BEFORE_INSTALL, ids=lambda path: f"{path.parent.name}/{path.name}")
def test_what_runs_before_the_set_up_needs_the_standard_library_only(path: Path) -> None:
    ours = {"setting_up", "tests", "dashboard"}
    tree = ast.parse(path.read_text(encoding="utf-8"))
    names = [alias.name for node in ast.walk(tree) if isinstance(node, ast.Import) for alias in node.names]
    names += [node.module or "" for node in ast.walk(tree) if isinstance(node, ast.ImportFrom)]
    assert [name for name in names if name.split(".")[0] not in ours | set(sys.stdlib_module_names)] == []


@pytest.mark.parametrize("module", ["tests.chromium", "tests.firmware.tools"])
def test_what_these_take_from_other_rooms_needs_the_standard_library_only_too(module: str) -> None:
    """In a Python without any installed package."""
    code = f"import sys; sys.path.insert(0, {str(ROOT)!r}); import {module}"
    ended = subprocess.run(
        [sys.executable, "-I", "-S", "-c", code], capture_output=True, text=True, timeout=60
    )
    assert ended.stderr == ""
    missing = subprocess.run(
        [sys.executable, "-I", "-S", "-c", "import numpy"], capture_output=True, timeout=60
    )
    assert missing.returncode == 1


@pytest.mark.parametrize("path", COMMANDS, ids=lambda path: path.parent.name)
def test_an_old_python_gets_as_far_as_the_sentence_about_its_age(path: Path) -> None:
    tree = ast.parse(path.read_text(encoding="utf-8"), feature_version=(3, 6))
    future = [node for node in tree.body if isinstance(node, ast.ImportFrom) and node.module == "__future__"]
    first_test = next(i for i, node in enumerate(tree.body) if isinstance(node, ast.If))
    imports = [node for node in tree.body[:first_test] if isinstance(node, ast.Import)]
    before = [alias.name for node in imports for alias in node.names]
    assert future == []
    assert "setting_up" not in before
    assert "version_info" in ast.unparse(tree.body[first_test])


@pytest.mark.parametrize(
    ("setting", "said", "left_out"),
    [
        ("BENCHROW_CHROMIUM", "none can be had here", "--without-browser"),
        ("BENCHROW_FIRMWARE", "these can't be had here", "--without-firmware"),
    ],
)
def test_without_what_they_need_the_tests_are_named_and_the_command_fails(
    setting: str, said: str, left_out: str
) -> None:
    """Only where the project's own environment stands, so that no test installs one."""
    environment = ROOT / ".venv"
    if not environment.is_dir() or Path(sys.prefix).resolve() != environment.resolve():
        pytest.skip("not run from the project's own environment")
    command = [sys.executable, "tests"]
    ended = subprocess.run(
        command,
        cwd=ROOT,
        env={**os.environ, setting: ""},
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )
    assert ended.returncode == 1
    assert said in ended.stdout
    assert "::test_" in ended.stdout
    assert left_out in ended.stderr
