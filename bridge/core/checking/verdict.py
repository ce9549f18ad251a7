"""What a check has come to."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from bridge.core.checking.mistakes import Mistake
from bridge.core.findings import Weight

State = Literal["waiting", "right", "wrong", "undecided", "none"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Verdict:
    """Whether a program computes as the lesson expects, told from its printed numbers.

    Attributes:
        state: "waiting": too few or too narrow data. "right": the lesson's formula explains every record.
            "wrong": it does not, and a simple mistake does. "undecided": it does not, and what does is
            contrived, or too many mistakes do. "none": nothing can be checked, or no simple formula explains
            the numbers.
        words: One sentence for the instructor; it says "The program", never the bench's name.
        expected: The lesson's formula with its numbers, "" when there is none.
        found: The formula that the program computes with, "" when none was found.
        reads_wrong_by: The newest printed value minus the right one, in the channel's unit (volts where no
            value is printed and none can be made of the volts); None when one of them is missing.
        would_tell: Which reading would tell the mistakes apart that explain the numbers alike, "" when only
            one does.
        mistakes: What is wrong, the most usual first; each has a kind, words and its number.
        rivals: What else would explain the numbers as simply.
        evidence: What was seen, with numbers, "" unless something is wrong.
        remedy: What to try, "" unless something is wrong.
        weight: "hint" where it is worth a look only.
    """

    state: State
    words: str
    expected: str = ""
    found: str = ""
    reads_wrong_by: float | None = None
    would_tell: str = ""
    mistakes: tuple[Mistake, ...] = ()
    rivals: tuple[tuple[Mistake, ...], ...] = ()
    evidence: str = ""
    remedy: str = ""
    weight: Weight = "fault"
