"""The class as a whole in words: level, spread, agreement, and who stands out by which test."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from dashboard.comparing import Comparison
from dashboard.comparing.agreement import Precision
from dashboard.comparing.outliers import Outlying
from dashboard.comparison_words import capital, names_of
from dashboard.figures_as_text import decimals_for, figure_text, number_text, plain_number

VERDICTS = {
    "straggler": "a straggler, as chance alone makes in fewer than 5 of 100 classes",
    "outlier": "an outlier, as chance alone makes in fewer than 1 of 100 classes",
}
"""The words of ISO 5725-2, 7.2, with what they mean."""


def class_sentences(comparison: Comparison, *, of_bench: int | None = None) -> tuple[str, ...]:
    """The class as a whole: its level, its spread, its precision, and who stands out.

    Args:
        comparison: Of the class.
        of_bench: What this group may read: nothing that names another.
    """
    names = names_of(comparison)
    said = [
        f"{capital(one.name)}: {figure_text(one, with_unit=True)}{f' ({one.words})' if one.words else ''}."
        for one in comparison.class_figures
        if one.name != "benches"
    ]
    agreement = comparison.agreement
    if agreement.precision is None:
        return (*said, f"Nothing is said about agreement: {agreement.words}.")
    precision = agreement.precision
    for spread, limit, whose in (
        (precision.s_r, precision.repeatability_limit, "results of one bench"),
        (precision.s_big_r, precision.reproducibility_limit, "results of different benches"),
    ):
        most = f"{_rounded(limit)} {spread.unit}".rstrip()
        said.append(
            f"{capital(spread.name)}: {figure_text(spread, with_unit=True)}, how far {whose} scatter; "
            f"two of them differ by no more than {most}, 95 times in 100."
        )
    said += _consistency_sentences(precision, names, of_bench)
    if agreement.words:
        said.append(f"{capital(agreement.words)}.")
    said += _outlying_sentences(agreement.outlying, names, of_bench)
    if agreement.anova is not None:
        apart = agreement.anova.probability < 0.05
        said.append(
            "The benches differ beyond what their own repeats explain (analysis of variance, 5 %)."
            if apart
            else "The benches differ no more than their own repeats explain (analysis of variance, 5 %)."
        )
    return tuple(said)


def _consistency_sentences(
    precision: Precision, names: Mapping[int, str], of_bench: int | None
) -> Iterator[str]:
    """Mandel's h and k beyond their lines: by chance one bench in 20 is beyond the 5 % line."""
    told = False
    for letter, values, critical, what in (
        ("h", precision.h, precision.h_critical, "lies far from the class"),
        ("k", precision.k, precision.k_critical, "scatters much"),
    ):
        at_5, at_1 = critical
        for bench, value in zip(precision.benches, values, strict=True):
            if abs(value) > at_5:
                told = True
                if of_bench not in (None, bench):
                    continue
                few = 100 if abs(value) > at_1 else 20
                words = f"{what}, as fewer than one bench in {few} does by chance"
                limits = f"at 5 % {plain_number(at_5)}, at 1 % {plain_number(at_1)}"
                yield f"{names[bench]} {words} (Mandel's {letter} {plain_number(value)}; {limits})."
    if not told:
        yield (
            "Each bench lies as near to the class (Mandel's h) and scatters as little (Mandel's k) as chance "
            "lets it, at 5 %."
        )


def _outlying_sentences(
    tests: Sequence[Outlying], names: Mapping[int, str], of_bench: int | None
) -> Iterator[str]:
    what = {"Cochran": "scatters more than the others"}
    quiet: list[str] = []
    for test in tests:
        who = " and ".join(names.get(bench, f"bench {bench}") for bench in test.benches)
        if not test.verdict:
            quiet.append(test.test)
            continue
        if of_bench is not None and test.benches != (of_bench,):
            continue
        words = what.get(test.test, "stands out" if len(test.benches) == 1 else "stand out")
        at_5, at_1 = plain_number(test.critical_5_percent), plain_number(test.critical_1_percent)
        found = f"{test.test}: {plain_number(test.statistic)}; at 5 % {at_5}, at 1 % {at_1}"
        yield f"{who} {words} ({found}): {VERDICTS[test.verdict]}."
    if quiet:
        others = " by the other tests" if len(quiet) < len(tests) else ""
        yield f"No bench stands out{others} ({_tests_listed(quiet)})."


def _tests_listed(names: Sequence[str]) -> str:
    """ "Cochran; Grubbs: highest, lowest" of "Cochran", "Grubbs, highest" and "Grubbs, lowest"."""
    by_test: dict[str, list[str]] = {}
    for name in names:
        test, _, of_what = name.partition(", ")
        by_test.setdefault(test, []).extend([of_what] if of_what else [])
    return "; ".join(f"{test}: {', '.join(what)}" if what else test for test, what in by_test.items())


def _rounded(value: float) -> str:
    return number_text(value, decimals_for(value)) if value > 0 else "0"
