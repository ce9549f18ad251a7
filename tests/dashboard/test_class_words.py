"""The class in words that a pupil and a metrologist both accept."""

from __future__ import annotations

import re

import numpy as np

from dashboard.class_words import class_sentences
from dashboard.comparing import Choices, comparison_of
from dashboard.comparison_words import ranking_sentences
from tests.dashboard.comparing.made import series, table


def said(levels: dict[int, float], *, noisy: int | None = None) -> str:
    rng = np.random.default_rng(3)
    benches = {
        b: series(
            np.arange(300.0),
            level + (1.0 if b == noisy else 0.1) * rng.standard_normal(300),
            bench=b,
            u=0.01,
        )
        for b, level in levels.items()
    }
    names = {b: f"Cup {b}" for b in benches}
    found = comparison_of(table(benches), Choices(channel="temperature", response="none", names=names))
    return " ".join((*class_sentences(found), *(one for _, told in ranking_sentences(found) for one in told)))


def test_who_lies_far_off_is_named_with_the_test_and_what_its_verdict_means() -> None:
    words = said({b: 23.0 if b == 5 else 20.0 + 0.01 * b for b in range(1, 9)})
    assert re.search(
        r"Cup 5 lies far from the class, as fewer than one bench in 100 does by chance \(Mandel's h 2",
        words,
    )
    assert re.search(
        r"Cup 5 stands out \(Grubbs, highest: .*an outlier, as chance alone makes in fewer than 1 of", words
    )
    assert re.search(r"Repeatability s_r: .* how far results of one bench scatter; two of them differ", words)


def test_who_scatters_is_named_by_k_and_cochran() -> None:
    words = said(dict.fromkeys(range(1, 9), 20.0), noisy=2)
    assert "Cup 2 scatters much, as fewer than one bench in 100 does by chance (Mandel's k" in words
    assert "Cup 2 scatters more than the others (Cochran:" in words


def test_a_class_that_agrees_is_said_to_and_shares_its_ranks() -> None:
    words = said(dict.fromkeys(range(1, 7), 20.0))
    assert "an outlier" not in words
    assert re.search(
        r"No bench stands out \(Cochran; Grubbs: highest, lowest(, two highest, two lowest)?\)", words
    )
    assert re.search(r"Ranks 1 to 6: Cup \d", words)
    assert "cannot be told apart" in words


def test_benches_that_are_all_apart_are_said_to_be_in_one_sentence() -> None:
    words = said({b: 20.0 + 3 * b for b in range(1, 6)})
    assert "Ranks 1: Cup 5; 2: Cup 4; 3: Cup 3" in words
    assert words.count("Each is told apart from all others.") == 1


def test_a_group_reads_of_the_class_and_itself_whatever_the_others_are_called() -> None:
    rng = np.random.default_rng(3)
    benches = {
        b: series(np.arange(300.0), (23.0 if b == 5 else 20.0) + 0.1 * rng.standard_normal(300), bench=b)
        for b in range(1, 9)
    }
    names = {b: "abcdefgh"[b - 1] for b in benches}  # letters that stand in every sentence
    found = comparison_of(table(benches), Choices(channel="temperature", response="none", names=names))
    mine, others = (" ".join(class_sentences(found, of_bench=b)) for b in (5, 1))
    assert "Class median" in others
    assert "e lies far from the class" in mine
    assert "lies far from the class" not in others
    assert "stands out (Grubbs, highest" not in others
