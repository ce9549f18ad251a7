from __future__ import annotations

import io

from dashboard.progress import Progress


class Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


def told(out: io.StringIO, times: list[float]) -> str:
    now = iter(times)
    progress = Progress(out, clock=lambda: next(now))
    progress.step("reading")
    for share in (0.25, 0.5, 0.75):
        progress.at(share)
    progress.end()
    return out.getvalue()


def test_a_job_of_less_than_a_second_tells_nothing() -> None:
    assert told(io.StringIO(), [0.0, 0.1, 0.5, 0.8, 0.9]) == ""


def test_a_longer_one_tells_how_far_it_is() -> None:
    assert told(io.StringIO(), [0.0, 0.1, 1.0, 2.0, 6.1]) == (
        "benchrow: reading, 25%\nbenchrow: reading, 75%\n"
    )


def test_on_a_terminal_one_line_is_written_over_and_wiped_out_at_the_end() -> None:
    text = told(Terminal(), [0.0, 0.1, 1.0, 1.6, 2.2])
    assert "\n" not in text
    assert text.count("\rbenchrow: reading, ") == 3
    assert text.endswith("\r" + " " * len("benchrow: reading, 25%") + "\r")
