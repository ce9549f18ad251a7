"""Pages printed and pictures taken by a browser of the Chromium family, where the machine has one.

It is driven by its debugging protocol: one start serves all pages, and no page needs a file or a network.
"""

from __future__ import annotations

import base64
import json
import os
import re
import subprocess
import tempfile
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any, Literal

from websockets.exceptions import WebSocketException
from websockets.sync.client import ClientConnection, connect

from bridge import BenchrowError
from dashboard.exporting.finding_chromium import find_chromium

Paper = Literal["a4", "letter"]
PAPERS: dict[Paper, tuple[float, float]] = {"a4": (210 / 25.4, 297 / 25.4), "letter": (8.5, 11.0)}  # inches
START_SECONDS, ANSWER_SECONDS = 30.0, 60.0  # a browser that takes longer has stopped
PIXEL_RATIO = 2.0  # of a picture, so that it is sharp on paper
_FLAGS = (
    "--headless", "--disable-gpu", "--disable-quic", "--no-first-run", "--no-default-browser-check",
    "--disable-sync", "--disable-background-networking", "--disable-component-update", "--disable-extensions",
    "--hide-scrollbars", "--remote-debugging-address=127.0.0.1", "--remote-debugging-port=0",
)  # fmt: skip
_listening = re.compile(r"DevTools listening on (ws://\S+)").search
NO_BROWSER = "no browser of the Chromium family was found"
REMEDY = (
    "Install one, or name one by its path in the environment as BENCHROW_CHROMIUM; "
    "or open report.html in any browser and print it"
)


class Printer:
    """A browser with one empty page."""

    def __init__(self, connection: ClientConnection) -> None:
        self._connection = connection
        self._n_sent = 0
        target = self._ask("Target.createTarget", url="about:blank")["targetId"]
        self._session: str | None = None
        self._session = self._ask("Target.attachToTarget", targetId=target, flatten=True)["sessionId"]
        self._frame = self._ask("Page.getFrameTree")["frameTree"]["frame"]["id"]

    def pdf(self, html: str, *, paper: Paper = "a4") -> bytes:
        """The page as it comes out of a printer, with page numbers."""
        self._show(html)
        width, height = PAPERS[paper]
        answer = self._ask(
            "Page.printToPDF",
            paperWidth=width,
            paperHeight=height,
            marginTop=15 / 25.4,
            marginBottom=18 / 25.4,
            marginLeft=15 / 25.4,
            marginRight=15 / 25.4,
            printBackground=True,
            displayHeaderFooter=True,
            headerTemplate="<span></span>",
            footerTemplate=_FOOTER,
            generateTaggedPDF=True,
            generateDocumentOutline=True,
        )
        return base64.b64decode(answer["data"])

    def png(self, svg: str) -> bytes:
        """A picture in dots."""
        size = re.search(r'viewBox="0 0 ([\d.]+) ([\d.]+)"', svg)
        assert size is not None, "every picture of ours has its size"
        width, height = float(size[1]), float(size[2])
        self._show(
            f"<!DOCTYPE html><meta charset='utf-8'><style>*{{margin:0}}svg{{display:block}}</style>{svg}"
        )
        self._ask(
            "Emulation.setDeviceMetricsOverride",
            width=round(width),
            height=round(height),
            deviceScaleFactor=PIXEL_RATIO,
            mobile=False,
        )
        answer = self._ask("Page.captureScreenshot", format="png")
        return base64.b64decode(answer["data"])

    def _show(self, html: str) -> None:
        self._ask("Page.setDocumentContent", frameId=self._frame, html=html)

    def _ask(self, method: str, **parameters: object) -> dict[str, Any]:
        self._n_sent += 1
        question: dict[str, object] = {"id": self._n_sent, "method": method, "params": parameters}
        if self._n_sent > 2:
            question["sessionId"] = self._session
        self._connection.send(json.dumps(question))
        while True:
            answer = json.loads(self._connection.recv(timeout=ANSWER_SECONDS))
            if answer.get("id") == self._n_sent:
                if "error" in answer:
                    raise _failed(f"{method}: {answer['error'].get('message', '')}")
                result: dict[str, Any] = answer["result"]
                return result


_FOOTER = (
    '<div style="font: 8pt sans-serif; width: 100%; text-align: center">'
    '<span class="pageNumber"></span> / <span class="totalPages"></span></div>'
)


@contextmanager
def printer() -> Iterator[Printer]:
    """A browser from its start to its end.

    Raises:
        BenchrowError: There is none, or it does not do what it is told.
    """
    program = find_chromium()
    if program is None:
        raise BenchrowError(NO_BROWSER, remedy=REMEDY)
    with tempfile.TemporaryDirectory(prefix="benchrow-", ignore_cleanup_errors=True) as profile:
        flags = [*_FLAGS, f"--user-data-dir={profile}"]
        if getattr(os, "geteuid", lambda: 1)() == 0:
            flags.append("--no-sandbox")  # as root it starts in no other way; the pages hold no script
        try:
            process = subprocess.Popen(  # noqa: S603  # a browser found by name, and flags of ours
                [program, *flags], stdout=subprocess.DEVNULL, stderr=subprocess.PIPE
            )
        except OSError as error:
            raise _failed(f"{program}: {error.strerror}") from error
        try:
            with connect(_address(process), max_size=None, open_timeout=START_SECONDS) as connection:
                yield Printer(connection)
        except (OSError, WebSocketException) as error:
            raise _failed(str(error) or type(error).__name__) from error
        finally:
            process.terminate()
            try:
                process.wait(START_SECONDS)
            except subprocess.TimeoutExpired:
                process.kill()
                process.wait()


def _address(process: subprocess.Popen[bytes]) -> str:
    """Where it listens, as it says on standard error; the rest is read away, so that it never waits."""
    found: list[str] = []
    told = threading.Event()

    def listen() -> None:
        assert process.stderr is not None
        with process.stderr as lines:
            for line in lines:
                if not found and (match := _listening(line.decode(errors="replace"))):
                    found.append(match[1])
                    told.set()
        told.set()

    threading.Thread(target=listen, daemon=True).start()
    told.wait(START_SECONDS)
    if not found:
        raise _failed("it did not start")
    return found[0]


def _failed(why: str) -> BenchrowError:
    return BenchrowError(f"the browser can't print ({why})", remedy=REMEDY)
