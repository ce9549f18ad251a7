"""The docs say what the code does. `python -m tests.test_docs` writes the README's table of keys anew."""

from __future__ import annotations

import argparse
import re
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import get_args

import pytest

from bridge.core.findings import FindingKind
from bridge.lesson_keys import keys_as_markdown
from dashboard.command import command_parser, main

ROOT = Path(__file__).resolve().parent.parent
README = ROOT / "README.md"
DEVELOPERS = ROOT / "DEVELOPERS.md"
BEGIN = "<!-- made from bridge/lesson_keys.py: python -m tests.test_docs -->\n"
END = "\n## The recording"


def text_of(path: Path) -> str:
    return path.read_text(encoding="utf-8")


def with_keys(readme: str) -> str:
    """The README with its table of keys as the code has them."""
    before, _, rest = readme.partition(BEGIN)
    _, _, after = rest.partition(END)
    return before + BEGIN + keys_as_markdown() + END + after


def commands() -> dict[str, argparse.ArgumentParser]:
    (kinds,) = (one for one in command_parser()._actions if isinstance(one, argparse._SubParsersAction))
    return dict(kinds.choices)


def options() -> Iterator[tuple[str, str]]:
    for name, parser in commands().items():
        for action in parser._actions:
            yield from ((name, option) for option in action.option_strings if option not in {"-h", "--help"})


@pytest.mark.parametrize("name", commands())
def test_each_command_stands_in_the_readme(name: str) -> None:
    assert re.search(rf"^\| `benchrow {name}\b.*` \| ", text_of(README), re.MULTILINE)


def test_the_readme_names_no_command_that_is_not_there() -> None:
    assert set(re.findall(r"`benchrow ([a-z][a-z-]*)", text_of(README))) == set(commands())


@pytest.mark.parametrize(("command", "option"), list(options()))
def test_each_option_stands_in_the_readme(command: str, option: str) -> None:
    assert re.search(rf"{option}(?![a-z-])", text_of(README)), f"{option} of benchrow {command}"


@pytest.mark.parametrize("name", commands())
def test_each_command_has_help(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as ended:
        main([name, "--help"])
    told = capsys.readouterr().out
    assert ended.value.code == 0
    assert len((commands()[name].description or "").split()) > 5
    assert all(action.help for action in commands()[name]._actions)
    assert f"benchrow {name}" in told


def test_the_readme_lists_the_lessons_keys_as_the_code_has_them() -> None:
    assert text_of(README) == with_keys(text_of(README))


def test_the_readme_explains_each_kind_of_finding_once() -> None:
    _, _, section = text_of(README).partition("\n## What is found wrong\n")
    section, _, _ = section.partition("\n## ")
    rows = re.findall(r"^\| `([^`]+)` \| (.+) \| (.+) \|$", section, re.MULTILINE)
    assert sorted(kind for kind, _, _ in rows) == sorted(get_args(FindingKind))
    assert all(len(meaning.split()) > 3 and remedy.strip() for _, meaning, remedy in rows)


def test_every_heading_that_the_readme_links_to_is_there() -> None:
    text = text_of(README)
    headings = [
        re.sub(r"[^\w\s-]", "", one).lower().replace(" ", "-")
        for one in re.findall(r"^#+ (.+)$", text, re.MULTILINE)
    ]
    assert [link for link in re.findall(r"\]\(#([^)]+)\)", text) if link not in headings] == []


def test_the_readmes_lesson_is_valid_toml_of_known_keys() -> None:
    (example,) = re.findall(r"```toml\n(.*?)```", text_of(README), re.DOTALL)
    assert tomllib.loads(example)["channel"][0]["name"] == "temperature"


def test_the_readme_shows_the_wall() -> None:
    shown = re.search(r"!\[[^\]]+\]\(([^)]+)\)", text_of(README))
    assert shown
    assert (ROOT / shown[1]).read_bytes().startswith(b"\x89PNG")


@pytest.mark.parametrize("path", [README, DEVELOPERS])
def test_every_file_that_the_docs_name_exists(path: Path) -> None:
    links = re.findall(r"\]\(((?!http|#)[^)#]+)", text_of(path))
    named = re.findall(r"`((?:bridge|dashboard|assets|demo|tests|\.ci)/[\w./-]*)`", text_of(path))
    assert links + named
    assert [name for name in links + named if not (ROOT / name).exists()] == []


@pytest.mark.parametrize(
    "room",
    [
        "bridge",
        "bridge/core",
        "bridge/core/checking",
        "bridge/core/health",
        "dashboard",
        "assets",
        "demo",
        "tests",
    ],
)
def test_the_map_names_each_room(room: str) -> None:
    assert f"| `{room}/` |" in text_of(DEVELOPERS)


def test_each_dependency_has_its_reason() -> None:
    project = tomllib.loads(text_of(ROOT / "pyproject.toml"))["project"]
    wanted = [re.split(r"[><= ]", one)[0] for one in project["dependencies"]]
    assert [name for name in wanted if f"| {name} |" not in text_of(DEVELOPERS)] == []


if __name__ == "__main__":
    README.write_text(with_keys(text_of(README)), encoding="utf-8")
