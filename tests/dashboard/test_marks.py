"""One table of marks: what Python draws and what the scripts draw agree."""

from __future__ import annotations

import re
from pathlib import Path
from typing import get_args

from bridge.core.lesson import Colour, Shape
from dashboard.marks import COLOURS, OUTLINES

ASSETS = Path(__file__).parents[2] / "assets"


def test_the_scripts_outlines_are_the_same() -> None:
    script = (ASSETS / "parts" / "marks.mjs").read_text(encoding="utf-8")
    shapes = script[script.index("const SHAPES") : script.index("};")]
    assert dict(re.findall(r"(\w+): '([^']+)'", shapes)) == dict(OUTLINES)
    assert set(OUTLINES) == set(get_args(Shape))


def test_the_colours_are_those_of_the_tokens() -> None:
    tokens = (ASSETS / "tokens.css").read_text(encoding="utf-8")
    found = {name.replace("-", " "): code for name, code in re.findall(r"--mark-([a-z-]+): (#\w+);", tokens)}
    assert found == dict(COLOURS)
    assert set(COLOURS) == set(get_args(Colour))
