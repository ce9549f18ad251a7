from __future__ import annotations

from bridge.core.findings import Finding
from bridge.rate_trials import RateTrials


def wrong_baud(try_baud: int | None) -> Finding:
    return Finding(
        kind="wrong baud", since_ns=0, words="Read at another rate", evidence="", remedy="", try_baud=try_baud
    )


def test_a_rate_that_a_finding_names_is_proposed_until_it_was_tried() -> None:
    trials = RateTrials()
    assert trials.proposed([(3, wrong_baud(9600)), (4, wrong_baud(None))]) == {3: 9600}
    trials.begin(3, 9600, 5)
    assert trials.proposed([(3, wrong_baud(9600))]) == {}
    assert trials.proposed([(3, wrong_baud(4800)), (4, wrong_baud(9600))]) == {3: 4800, 4: 9600}


def test_a_rate_is_kept_once_lines_could_be_read_at_it() -> None:
    trials = RateTrials()
    trials.begin(3, 9600, 5)
    assert trials.worth_keeping({3: None}) == {}
    assert trials.worth_keeping({3: 4}) == {}  # read before the rate was changed
    assert trials.worth_keeping({3: 6}) == {3: 9600}
    assert trials.worth_keeping({3: 7}) == {}  # told once
