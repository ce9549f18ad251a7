"""Least squares for polynomials, in exact arithmetic.

A fitted calibration becomes part of every reading, and a replay must give the same readings bit for bit on
another machine. What a library's solver gives in its last digits depends on the processor; a few dozen points
in fractions give the same correctly rounded numbers everywhere, without any loss to ill-conditioned powers.
"""

from __future__ import annotations

import math
from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

MAX_FIT_POINTS = 1000  # beyond, fractions take seconds, and no calibration has as many

Matrix = tuple[tuple[Fraction, ...], ...]


class Design:
    """Where the points of a polynomial fit lie, and what each counts: all that does not depend on the y's.

    Source: JCGM 100:2008 (GUM), H.3.2, least squares; the weights as in any textbook of linear regression
    (Draper and Smith, Applied Regression Analysis, 3rd edition, 9.2).
    """

    def __init__(
        self, xs: Sequence[float], *, powers: Sequence[int], weights: Sequence[Fraction], origin: float
    ) -> None:
        """Powers of (x - origin), one coefficient each.

        Raises:
            ValueError: Too many points, or too few different ones for so many coefficients.
        """
        if len(xs) > MAX_FIT_POINTS:
            raise ValueError(f"at most {MAX_FIT_POINTS} points can be fitted, found {len(xs)}")
        needed, found = len(powers), len(set(xs) - ({origin} if 0 not in powers else set()))
        if found < needed:
            raise ValueError(f"{needed} coefficients need points at {needed} different places, found {found}")
        self.powers, self.origin = tuple(powers), origin
        self.distances = [Fraction(x) - Fraction(origin) for x in xs]
        self.rows = [[distance**power for power in powers] for distance in self.distances]
        self.weights = list(weights)
        self.inverse = _inverse(_sums(self.rows, self.weights))

    def solve(self, ys: Sequence[Fraction]) -> tuple[Fraction, ...]:
        """The coefficients that fit the y's best."""
        sums = [
            sum((w * row[j] * y for w, row, y in zip(self.weights, self.rows, ys, strict=True)), Fraction())
            for j in range(len(self.powers))
        ]
        return tuple(sum((a * b for a, b in zip(row, sums, strict=True)), Fraction()) for row in self.inverse)

    def covariance(self, variances: Sequence[Fraction]) -> Matrix:
        """Covariance of the coefficients when the y's err independently, whatever their weights were."""
        squares = [w * w * v for w, v in zip(self.weights, variances, strict=True)]
        return _product(_product(self.inverse, _sums(self.rows, squares)), self.inverse)

    def fitted(self, coefficients: Sequence[Fraction]) -> list[Fraction]:
        """What the polynomial gives at each point."""
        return [
            sum((c * term for c, term in zip(coefficients, row, strict=True)), Fraction())
            for row in self.rows
        ]

    def polynomial(self, coefficients: Sequence[Fraction]) -> tuple[float, ...]:
        """The coefficients by power, from the constant up, for `at`."""
        dense = [0.0] * (max(self.powers) + 1)
        for power, coefficient in zip(self.powers, coefficients, strict=True):
            dense[power] = float(coefficient)
        return tuple(dense)

    def variance_polynomial(self, covariance: Matrix) -> tuple[float, ...]:
        """The variance of the fitted value as a polynomial of (x - origin), from the constant up.

        Source: JCGM 100:2008 (GUM), 5.2.2 and H.3.4, formula (H.15).
        """
        sums = [Fraction()] * (2 * max(self.powers) + 1)
        for i, row in zip(self.powers, covariance, strict=True):
            for j, one in zip(self.powers, row, strict=True):
                sums[i + j] += one
        return tuple(map(float, sums))


def at(polynomial: Sequence[float], distance: float) -> float:
    """c0 + c1 d + c2 d² + ..., by Horner's rule."""
    y = 0.0
    for c in reversed(polynomial):
        y = y * distance + c
    return y


@dataclass(frozen=True, slots=True)
class LackOfFit:
    """Whether the points scatter about the curve no more than their own uncertainty explains."""

    test: Literal["F", "chi²"]
    statistic: float
    dof: tuple[int, ...]  # of lack of fit and of the repeats for F, of the residuals for chi²
    chance: float  # how often chance alone gives as much or more


@dataclass(frozen=True, slots=True, kw_only=True)
class PolynomialFit:
    """A polynomial through points: the sum of coefficient × (x - origin)^power."""

    design: Design
    coefficients: tuple[float, ...]  # in the order of `design.powers`
    covariance: tuple[tuple[float, ...], ...] | None  # None: as many points as coefficients, no u given
    residuals: tuple[float, ...]  # y less fitted, point by point
    dof: int  # points less coefficients
    residual_sd: float | None  # None without degrees of freedom; with given u's in units of these
    r_squared: float
    lack_of_fit: LackOfFit | None  # None where nothing can tell
    curve: tuple[float, ...]  # for `at`
    variance: tuple[float, ...] | None  # for `at`

    @property
    def standard_errors(self) -> tuple[float, ...] | None:
        """Standard uncertainties of the coefficients."""
        if self.covariance is None:
            return None
        return tuple(math.sqrt(row[i]) for i, row in enumerate(self.covariance))

    def value(self, x: float) -> float:
        """The fitted value."""
        return at(self.curve, x - self.design.origin)

    def u(self, x: float) -> float | None:
        """Standard uncertainty of the fitted value, not of one more y. Source: GUM, H.3.4."""
        if self.variance is None:
            return None
        return math.sqrt(max(0.0, at(self.variance, x - self.design.origin)))


def fit_polynomial(
    xs: Sequence[float],
    ys: Sequence[float],
    *,
    degree: int,
    u_ys: Sequence[float] | None = None,
    origin: float = 0.0,
    through_origin: bool = False,
    repeats: Sequence[Hashable] | None = None,
) -> PolynomialFit:
    """The polynomial with the least sum of squared residuals, each divided by its uncertainty if given.

    Args:
        xs: Where the points lie; exact.
        ys: Their values.
        degree: 0 is a constant, 1 a line.
        u_ys: Standard uncertainties of the ys, above 0. The covariance follows from them alone; without them
            it follows from the residuals.
        origin: The coefficients are those of (x - origin).
        through_origin: No constant term.
        repeats: What points that repeat each other share; the x itself where it is None.

    Raises:
        ValueError: Too few different points, or some too near each other for any double to hold the
            coefficients; lists of different lengths, an uncertainty of 0 or less.
    """
    powers = range(1 if through_origin else 0, degree + 1)
    if len(ys) != len(xs) or (u_ys is not None and len(u_ys) != len(xs)):
        raise ValueError("each point needs one x, one y and, if any, one uncertainty")
    if u_ys is not None and not all(1e-100 < u < 1e100 for u in u_ys):
        raise ValueError(f"uncertainties must be above 0 and finite, found {list(u_ys)}")
    # A weight is rounded to a double: fractions of other denominators than powers of 2 grow with each point.
    weights = [Fraction(1)] * len(xs) if u_ys is None else [Fraction(1.0 / (u * u)) for u in u_ys]
    design = Design(xs, powers=powers, weights=weights, origin=origin)
    try:
        return _fit(design, xs, ys, u_ys, weights, repeats, is_centred=not through_origin)
    except OverflowError as error:
        raise ValueError("the points lie too near each other to be fitted") from error


def _fit(
    design: Design,
    xs: Sequence[float],
    ys: Sequence[float],
    u_ys: Sequence[float] | None,
    weights: Sequence[Fraction],
    repeats: Sequence[Hashable] | None,
    *,
    is_centred: bool,
) -> PolynomialFit:
    exact_ys = list(map(Fraction, ys))
    coefficients = design.solve(exact_ys)
    residuals = [y - one for y, one in zip(exact_ys, design.fitted(coefficients), strict=True)]
    squares = _weighted_squares(weights, residuals)
    dof = len(xs) - len(design.powers)
    covariance = _covariance(design, squares, dof, is_known=u_ys is not None)
    return PolynomialFit(
        design=design,
        coefficients=tuple(map(float, coefficients)),
        covariance=None if covariance is None else tuple(tuple(map(float, row)) for row in covariance),
        residuals=tuple(map(float, residuals)),
        dof=dof,
        residual_sd=math.sqrt(squares / dof) if dof else None,
        r_squared=_r_squared(weights, exact_ys, squares, is_centred=is_centred),
        lack_of_fit=(
            _by_repeats(residuals, list(xs if repeats is None else repeats), dof)
            if u_ys is None
            else _by_uncertainties(squares, dof)
        ),
        curve=design.polynomial(coefficients),
        variance=None if covariance is None else design.variance_polynomial(covariance),
    )


def _covariance(design: Design, squares: Fraction, dof: int, *, is_known: bool) -> Matrix | None:
    if is_known:
        return design.inverse
    if not dof:
        return None
    return tuple(tuple(one * squares / dof for one in row) for row in design.inverse)


def _r_squared(
    weights: Sequence[Fraction], ys: Sequence[Fraction], squares: Fraction, *, is_centred: bool
) -> float:
    """1 less the residuals' share of the squares of y, about their mean where there is a constant term."""
    mean = Fraction()
    if is_centred:
        mean = sum((w * y for w, y in zip(weights, ys, strict=True)), Fraction()) / sum(weights)
    total = _weighted_squares(weights, [y - mean for y in ys])
    return float(1 - squares / total) if total else 1.0


def _by_repeats(residuals: Sequence[Fraction], places: Sequence[Hashable], dof: int) -> LackOfFit | None:
    """F test: the scatter of the repeats' means about the curve over that of the repeats about their means.

    Source: Draper and Smith, Applied Regression Analysis, 3rd edition, 2.1.
    """
    groups: dict[Hashable, list[Fraction]] = {}
    for place, residual in zip(places, residuals, strict=True):
        groups.setdefault(place, []).append(residual)
    dof_repeats = len(residuals) - len(groups)
    dof_lack = dof - dof_repeats
    if dof_repeats < 1 or dof_lack < 1:
        return None
    means = {place: sum(group, Fraction()) / len(group) for place, group in groups.items()}
    repeats = sum(((one - means[place]) ** 2 for place, group in groups.items() for one in group), Fraction())
    lack = sum((len(group) * means[place] ** 2 for place, group in groups.items()), Fraction())
    if not repeats:
        return None  # repeats without any scatter only say that the resolution is coarse
    statistic = float((lack / dof_lack) / (repeats / dof_repeats))
    from scipy.special import fdtrc  # half a second to import: only where a calibration is fitted

    return LackOfFit("F", statistic, (dof_lack, dof_repeats), float(fdtrc(dof_lack, dof_repeats, statistic)))


def _by_uncertainties(squares: Fraction, dof: int) -> LackOfFit | None:
    """Chi² test: the residuals against the given uncertainties."""
    if dof < 1:
        return None
    from scipy.special import chdtrc

    return LackOfFit("chi²", float(squares), (dof,), float(chdtrc(dof, float(squares))))


def _weighted_squares(weights: Sequence[Fraction], numbers: Sequence[Fraction]) -> Fraction:
    return sum((w * one * one for w, one in zip(weights, numbers, strict=True)), Fraction())


def _sums(rows: Sequence[Sequence[Fraction]], weights: Sequence[Fraction]) -> Matrix:
    """The weighted sums of products of the columns."""
    n = range(len(rows[0]))
    return tuple(
        tuple(sum((w * row[i] * row[j] for w, row in zip(weights, rows, strict=True)), Fraction()) for j in n)
        for i in n
    )


def _product(left: Matrix, right: Matrix) -> Matrix:
    return tuple(
        tuple(
            sum((a * b for a, b in zip(row, column, strict=True)), Fraction())
            for column in zip(*right, strict=True)
        )
        for row in left
    )


def _inverse(matrix: Matrix) -> Matrix:
    """By elimination; exact, and the matrix is positive definite, so no pivot is 0."""
    n = len(matrix)
    rows = [[*row, *(Fraction(i == j) for j in range(n))] for i, row in enumerate(matrix)]
    for i in range(n):
        rows[i] = [one / rows[i][i] for one in rows[i]]
        for j in range(n):
            if j != i:
                factor = rows[j][i]
                rows[j] = [a - factor * b for a, b in zip(rows[j], rows[i], strict=True)]
    return tuple(tuple(row[n:]) for row in rows)
