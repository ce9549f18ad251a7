"""Who may import whom, read from the source: the rooms of the house and the core without an edge."""

from __future__ import annotations

import ast
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

import pytest

ROOT = Path(__file__).resolve().parent.parent
NO_CORE = {"asyncio", "multiprocessing", "select", "selectors", "serial", "socket", "sqlite3", "subprocess",
           "threading", "time"}  # fmt: skip


class Import(NamedTuple):
    """One import as it stands in the source."""

    module: str  # absolute
    name: str | None  # of `from module import name`; None: `import module`
    place: str


def imports_of(source: str, *, package: str, place: str) -> Iterator[Import]:
    """Every import of a source text, also those inside functions."""
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Import):
            for alias in node.names:
                yield Import(alias.name, None, f"{place}:{node.lineno}")
        elif isinstance(node, ast.ImportFrom):
            module = node.module or ""
            if node.level:
                parents = package.split(".")[: len(package.split(".")) - node.level + 1]
                module = ".".join([*parents, *([module] if module else [])])
            for alias in node.names:
                yield Import(module, alias.name, f"{place}:{node.lineno}")


def imports_in(room: str) -> list[Import]:
    found: list[Import] = []
    for path in sorted((ROOT / room).rglob("*.py")):
        package = ".".join(path.relative_to(ROOT).parent.parts)
        place = path.relative_to(ROOT).as_posix()
        found += imports_of(path.read_text(encoding="utf-8"), package=package, place=place)
    assert found
    return found


def public_names() -> set[str]:
    """`bridge.__all__`, read from the source, as the type checker and a reader see it."""
    tree = ast.parse((ROOT / "bridge" / "__init__.py").read_text(encoding="utf-8"))
    for node in tree.body:
        target = node.targets[0] if isinstance(node, ast.Assign) else getattr(node, "target", None)
        if isinstance(target, ast.Name) and target.id == "__all__":
            assert isinstance(node, ast.Assign | ast.AnnAssign)
            assert node.value is not None
            return set(ast.literal_eval(node.value))
    raise AssertionError("bridge names no public face")


def test_the_dashboard_uses_the_bridge_through_its_public_face_only() -> None:
    face = public_names()
    beside = [
        one
        for one in imports_in("dashboard")
        if one.module.split(".")[0] == "bridge" and not (one.module == "bridge" and one.name in face)
    ]
    assert beside == []


def test_the_bridge_never_knows_the_dashboard_the_demo_or_the_tests() -> None:
    upward = [
        one for one in imports_in("bridge") if one.module.split(".")[0] in {"dashboard", "demo", "tests"}
    ]
    assert upward == []


def test_products_never_import_the_demo_or_the_tests() -> None:
    assert [one for one in imports_in("dashboard") if one.module.split(".")[0] in {"demo", "tests"}] == []


def test_the_core_uses_only_numbers_libraries_and_the_part_of_the_standard_library_without_edges() -> None:
    allowed = (set(sys.stdlib_module_names) - NO_CORE) | {"numpy", "pint", "scipy"}
    edges = [
        one
        for one in imports_in("bridge/core")
        if one.module.split(".")[0] not in allowed
        and not (one.module == "bridge.core" or one.module.startswith("bridge.core."))
    ]
    assert edges == []


def test_scipy_is_imported_only_where_it_is_asked_for() -> None:
    """It takes half a second, which every start of the bridge would wait for."""
    early = [
        f"{path.relative_to(ROOT).as_posix()}:{node.lineno}"
        for path in sorted((ROOT / "bridge").rglob("*.py"))
        for node in ast.parse(path.read_text(encoding="utf-8")).body
        if isinstance(node, ast.Import | ast.ImportFrom) and "scipy" in ast.unparse(node)
    ]
    assert early == []


def test_the_core_opens_no_file() -> None:
    calls = [
        f"{path.relative_to(ROOT).as_posix()}:{node.lineno}"
        for path in sorted((ROOT / "bridge" / "core").rglob("*.py"))
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.Call)
        and isinstance(node.func, ast.Name)
        and node.func.id in {"open", "print", "input"}
    ]
    assert calls == []


@pytest.mark.parametrize(
    ("source", "found"),
    [
        ("import serial.tools", Import("serial.tools", None, "x.py:1")),
        ("def f():\n    from bridge.hub import Hub", Import("bridge.hub", "Hub", "x.py:2")),
        ("from .framing import Line", Import("bridge.core.framing", "Line", "x.py:1")),
        ("from .. import errors", Import("bridge", "errors", "x.py:1")),
    ],
)
def test_an_import_is_found_however_it_is_written(source: str, found: Import) -> None:
    assert list(imports_of(source, package="bridge.core", place="x.py")) == [found]
