"""What the class and each group are handed: their part of the session, compared and drawn."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

from bridge import BenchrowError
from dashboard.exporting.session import Session
from dashboard.progress import Progress

if TYPE_CHECKING:
    from dashboard.comparison_asked import Asked, Compared
    from dashboard.exporting.pictures import Picture

CLASS_FOLDER = "class"
DOTTED = ("level in common", "bias to reference", "noise", "time constant", "rise time", "ambient")
"""Figures that have a picture of dots where nobody chose others."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """What one folder is made from."""

    folder: str
    session: Session  # of the class or of one bench
    compared: Compared | None = None  # the class, where a kind shows it and there was anything to compare
    pictures: list[Picture] = field(default_factory=list)


def folder_of(bench: int) -> str:
    """A group's folder, by number alone: names may hold what no file system takes."""
    return f"bench-{bench}"


def parts_of(
    session: Session,
    bench: int | None,
    progress: Progress,
    asked: Asked | None,
    *,
    is_drawn: bool,
    dotted: Sequence[str] = DOTTED,
    remark: Callable[[str], None] = lambda _: None,
) -> Iterator[Part]:
    """The parts of the class and of each group, made one by one.

    Args:
        session: The recording, gathered.
        bench: Only that group's; None: the class's and every group's.
        progress: Is told how far it is.
        asked: How the benches are compared; None: at the same instant, in the first channel.
        is_drawn: Whether pictures and figures are wanted.
        dotted: Figures with a picture of dots.
        remark: Hears what a reader must know: that there are no pictures, and why.
    """
    found = _compared(session, progress, asked, remark) if is_drawn else None
    benches = session.benches if bench is None else (bench,)
    whose = [*([None] if bench is None else []), *benches]
    for i, one in enumerate(whose):
        mine = session if one is None else session.of_bench(one)
        folder = CLASS_FOLDER if one is None else folder_of(one)
        yield Part(
            folder=folder,
            session=mine,
            compared=found,
            pictures=_drawn(mine, found, dotted, progress, (spoken(folder), i / len(whose))),
        )


def _compared(
    session: Session, progress: Progress, asked: Asked | None, remark: Callable[[str], None]
) -> Compared | None:
    """What came of comparing the class; None where there is nothing to compare.

    Raises:
        BenchrowError: A choice can't be met.
    """
    from dashboard.comparison_asked import Asked, compared

    channel = session.first_channel
    if session.kept is None or channel is None:
        return None
    progress.step("comparing the benches")
    given = [one.name for one in session.lesson.channels if one.name in session.channels]
    other = next((one for one in given if one != channel), None)
    chosen = asked or Asked(path=Path(session.file), channel=channel, other_channel=other)
    try:
        return compared(session.kept, chosen, told=progress.at)
    except ValueError as error:
        if asked is None:  # nobody chose this: tables still go out
            remark(f"nothing was compared: {error}")
            return None
        raise BenchrowError(
            str(error), remedy="Choose otherwise; 'benchrow export --help' tells how"
        ) from error


def _drawn(
    session: Session,
    compared: Compared | None,
    dotted: Sequence[str],
    progress: Progress,
    step: tuple[str, float],
) -> list[Picture]:
    """`step`: whose they are, and the share of all that is done before them."""
    if compared is None:
        return []
    from dashboard.exporting.pictures import pictures_of

    def told(name: str) -> None:
        progress.step(f"drawing {name} of {step[0]}", step[1])

    return list(pictures_of(session, compared, dotted=dotted, told=told))


def spoken(folder: str) -> str:
    """A folder as a person would say it."""
    return folder.replace("-", " ") if folder != CLASS_FOLDER else "the class"
