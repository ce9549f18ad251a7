"""Which files are handed out, where they go, and that nothing is overwritten unasked."""

from __future__ import annotations

import shutil
import tempfile
import zipfile
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Literal, get_args

from bridge import BenchrowError, Recorded
from dashboard.exporting.chromium import NO_BROWSER, Paper, Printer, printer
from dashboard.exporting.finding_chromium import find_chromium
from dashboard.exporting.parts import CLASS_FOLDER, DOTTED, Part, folder_of, parts_of, spoken
from dashboard.exporting.session import Session
from dashboard.progress import Progress

if TYPE_CHECKING:
    from dashboard.comparison_asked import Asked

Kind = Literal["csv", "parquet", "xlsx", "report", "pdf", "pictures"]
KINDS: tuple[Kind, ...] = get_args(Kind)
_DRAWN: frozenset[Kind] = frozenset(("report", "pdf", "pictures"))
"""Kinds that show pictures and figures."""

_FILES: Mapping[Kind, tuple[str, ...]] = {
    "csv": ("readings.csv", "readings.csv-metadata.json"),
    "parquet": ("readings.parquet",),
    "xlsx": ("readings.xlsx",),
    "report": ("report.html",),
    "pdf": ("report.pdf",),
    "pictures": ("pictures",),
}
"""What a kind leaves in the folder of the class and of each group."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """What was asked for."""

    kinds: tuple[Kind, ...]
    out: Path  # a folder; with `as_zip` the ZIP file
    bench: int | None = None  # only that group's; None: the class's and every group's
    decimal_comma: bool = False
    as_zip: bool = False
    paper: Paper = "a4"
    needs_browser: bool = True  # False: where there is none, PDF and dots are left out and it is remarked
    dotted: tuple[str, ...] = DOTTED  # figures with a picture of dots
    replace: bool = False  # files that are there already


@dataclass(slots=True)
class HandedOut:
    """What was written."""

    files: list[Path] = field(default_factory=list)
    replaced: list[Path] = field(default_factory=list)
    remarks: list[str] = field(default_factory=list)  # what a reader must know: something was left out


_Writer = Callable[[Part, Path, Wanted, Printer | None], None]
"""Writes a kind of one part into a folder."""


def check_free(wanted: Wanted, recording: Path) -> None:
    """Before anything is computed: what is there already is not overwritten unasked.

    Raises:
        BenchrowError: Something stands there, or the recording holds nothing of that bench.
        RecordingError: The recording can't be read.
    """
    with Recorded(recording) as recorded:
        benches = recorded.benches
    if wanted.bench is not None and wanted.bench not in benches:
        known = ", ".join(map(str, benches)) or "none"
        raise BenchrowError(
            f"{recording.name} holds nothing of bench {wanted.bench}", remedy=f"It holds benches: {known}"
        )
    if wanted.as_zip and wanted.out.is_dir():
        raise BenchrowError(f"{wanted.out} is a folder", remedy="Give the name of a ZIP file with --out")
    if not wanted.as_zip and wanted.out.exists() and not wanted.out.is_dir():
        raise BenchrowError(f"{wanted.out} is no folder", remedy="Give another folder with --out")
    there = [path for path in _targets(wanted, benches) if path.exists()]
    if there and not wanted.replace:
        more = f" and {len(there) - 1} more" if len(there) > 1 else ""
        raise BenchrowError(
            f"{there[0]}{more} is there already" if not more else f"{there[0]}{more} are there already",
            remedy="Nothing was written; choose another place with --out, or --replace to overwrite",
        )


def hand_out(session: Session, wanted: Wanted, progress: Progress, asked: Asked | None = None) -> HandedOut:
    """Write all that is wanted: first aside, then in one go to its place.

    Args:
        session: The recording, gathered.
        wanted: Which files, and where.
        progress: Is told how far it is.
        asked: How the benches are compared, as the compare page or the command line has it. None: at the same
            instant, in the first channel; where that can't be, it is remarked.

    Raises:
        BenchrowError: The place can't be written to.
    """
    done = HandedOut()
    parent = wanted.out.absolute().parent
    try:
        parent.mkdir(parents=True, exist_ok=True)
        with (
            tempfile.TemporaryDirectory(prefix=".benchrow-", dir=parent) as aside,
            _printer(wanted, done) as browser,
        ):
            is_drawn = not _DRAWN.isdisjoint(wanted.kinds)
            parts = list(
                parts_of(
                    session,
                    wanted.bench,
                    progress,
                    asked,
                    is_drawn=is_drawn,
                    dotted=wanted.dotted,
                    remark=done.remarks.append,
                )
            )
            n_steps = len(parts) * len(wanted.kinds)
            for i, (part, kind) in enumerate((part, kind) for part in parts for kind in wanted.kinds):
                progress.step(f"writing {kind} of {spoken(part.folder)}", i / n_steps)
                folder = Path(aside, part.folder)
                folder.mkdir(exist_ok=True)
                _WRITERS[kind](part, folder, wanted, browser)
            if wanted.as_zip:
                _zip(Path(aside), session, wanted, done)
            else:
                _move(Path(aside), wanted.out, done)
    except OSError as error:
        raise BenchrowError(
            f"{error.filename or wanted.out} can't be written ({error.strerror})",
            remedy="Give another place with --out",
        ) from error
    return done


@contextmanager
def _printer(wanted: Wanted, done: HandedOut) -> Iterator[Printer | None]:
    """The browser that prints, started once for all; None where it is not needed, or not there."""
    kinds = set(wanted.kinds) & {"pdf", "pictures"}
    if kinds and find_chromium() is None and not wanted.needs_browser:
        left_out = " and ".join(
            ["report.pdf"] * ("pdf" in kinds) + ["pictures as PNG"] * ("pictures" in kinds)
        )
        done.remarks.append(f"{NO_BROWSER}: without {left_out}")
        kinds.clear()
    if not kinds:
        yield None
        return
    with printer() as found:
        yield found


def _targets(wanted: Wanted, benches: Sequence[int]) -> list[Path]:
    if wanted.as_zip:
        return [wanted.out]
    folders = [folder_of(bench) for bench in benches if wanted.bench in (None, bench)]
    if wanted.bench is None:
        folders.insert(0, CLASS_FOLDER)
    names = [name for kind in wanted.kinds for name in _FILES[kind]]
    return [wanted.out / folder / name for folder in folders for name in names]


def _move(aside: Path, out: Path, done: HandedOut) -> None:
    for path in _files_in(aside):
        target = out / path.relative_to(aside)
        target.parent.mkdir(parents=True, exist_ok=True)
        if target.exists():
            done.replaced.append(target)
        path.replace(target)
        done.files.append(target)


def _zip(aside: Path, session: Session, wanted: Wanted, done: HandedOut) -> None:
    """One file for the class. Its entries bear the session's time: the same session gives the same bytes."""
    when = session.started.to_pydatetime(warn=False).timetuple()[:6]
    packed = aside / "hand-outs.zip"
    paths = list(_files_in(aside))
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as out:
        for path in paths:
            entry = zipfile.ZipInfo(path.relative_to(aside).as_posix(), when)
            entry.compress_type = zipfile.ZIP_DEFLATED
            entry.external_attr = 0o644 << 16
            with path.open("rb") as source, out.open(entry, "w") as target:
                shutil.copyfileobj(source, target)
    if wanted.out.exists():
        done.replaced.append(wanted.out)
    packed.replace(wanted.out)
    done.files.append(wanted.out)


def _files_in(folder: Path) -> Iterable[Path]:
    return sorted(path for path in folder.rglob("*") if path.is_file())


def _csv(part: Part, folder: Path, wanted: Wanted, _: Printer | None) -> None:
    from dashboard.exporting.csv_files import write_csv

    write_csv(part.session, folder / "readings.csv", decimal_comma=wanted.decimal_comma)


def _parquet(part: Part, folder: Path, *_: object) -> None:
    from dashboard.exporting.parquet_files import write_parquet

    write_parquet(part.session, folder / "readings.parquet")


def _xlsx(part: Part, folder: Path, *_: object) -> None:
    from dashboard.exporting.workbook import write_workbook

    write_workbook(part.session, folder / "readings.xlsx")


def _report(part: Part, folder: Path, *_: object) -> None:
    (folder / "report.html").write_text(_html(part), encoding="utf-8")


def _pdf(part: Part, folder: Path, wanted: Wanted, printer: Printer | None) -> None:
    if printer is not None:
        (folder / "report.pdf").write_bytes(printer.pdf(_html(part), paper=wanted.paper))


def _pictures(part: Part, folder: Path, _: Wanted, printer: Printer | None) -> None:
    if part.pictures:
        (folder / "pictures").mkdir()
    for one in part.pictures:
        (folder / "pictures" / f"{one.name}.svg").write_text(one.alone, encoding="utf-8")
        if printer is not None:
            (folder / "pictures" / f"{one.name}.png").write_bytes(printer.png(one.alone))


def _html(part: Part) -> str:
    from dashboard.exporting.reporting.report import report_of

    return report_of(part.session, part.pictures, part.compared)


_WRITERS: Mapping[Kind, _Writer] = {
    "csv": _csv,
    "parquet": _parquet,
    "xlsx": _xlsx,
    "report": _report,
    "pdf": _pdf,
    "pictures": _pictures,
}
