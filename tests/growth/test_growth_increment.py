"""The yearly increment before readings, and what readings make of it."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from boughwright.errors import RangeError
from boughwright.growth.increment import (
    PRIOR_SD,
    Increment,
    Readings,
    from_readings,
    prior,
    switched,
)
from boughwright.journal.terms import Phase, Vigour
from boughwright.sources import Grade
from boughwright.species.tables import all_species, find, with_overrides

TRUNK, PRIMARY, RAMIFICATION, REFINEMENT = range(4)
MAPLE = find("Acer palmatum")  # 1.5 mm developing, 0.2 mm refined


def one(phase: int = PRIMARY, vigour: int = 3, outer: int = 1, running: int = 1) -> Increment:
    return prior(MAPLE, phase=phase, vigour=vigour, outer=outer, running=running)


def start(log_mean: float = 0.0, log_sd: float = PRIOR_SD, branches: int = 1) -> Increment:
    guess = np.full(branches, int(Grade.GUESS), np.int8)
    return Increment(np.full(branches, log_mean), np.full(branches, log_sd), guess)


def readings(rows: list[int], base: list[float], rings: list[float], sd: float = 0.1) -> Readings:
    return Readings(np.array(rows), np.array(base), np.full(len(rows), sd), np.array(rings))


def test_phases_are_in_the_order_the_codes_assume() -> None:
    assert list(Phase) == [Phase.TRUNK, Phase.PRIMARY, Phase.RAMIFICATION, Phase.REFINEMENT]


@pytest.mark.parametrize("species", [pytest.param(s, id=s.key) for s in all_species()])
def test_the_species_values_hold_where_they_are_defined(species) -> None:  # type: ignore[no-untyped-def]
    strong = prior(species, phase=PRIMARY, vigour=Vigour.STRONG, outer=1, running=1)
    steady = prior(species, phase=REFINEMENT, vigour=Vigour.STEADY, outer=1, running=0)
    assert strong.quantile_mm(0.5) == pytest.approx([species.number("increment_developing_mm")])
    assert steady.quantile_mm(0.5) == pytest.approx([species.number("increment_refined_mm")])


def test_known_branches_have_the_whole_spread_and_no_more() -> None:
    # sqrt(0.5² + 0.4² + 0.5²) = sqrt(0.66) = 0.8124, between species, trees and branches.
    assert one().log_sd == pytest.approx([0.8124], abs=5e-5)
    assert one().log_sd == pytest.approx(one(phase=REFINEMENT).log_sd)


def test_worked_values() -> None:
    # Steady halves a strong branch; running over cut is 2.5; inner is 0.6 of outer.
    assert one(vigour=2).quantile_mm(0.5) == pytest.approx([0.75])
    assert one(running=0).quantile_mm(0.5) == pytest.approx([0.6])
    assert one(outer=0).quantile_mm(0.5) == pytest.approx([0.9])
    # Half-way on the logarithm, strong and cut: between 0.6 and 0.4, sqrt(0.24) = 0.4899.
    assert one(phase=RAMIFICATION, running=0).quantile_mm(0.5) == pytest.approx([0.24**0.5])


def test_order_of_phases_strengths_and_running() -> None:
    by_phase = prior(MAPLE, phase=[0, 1, 2, 3], vigour=2, outer=1, running=0).log_mean
    assert by_phase[0] == by_phase[1] > by_phase[2] > by_phase[3]
    by_vigour = prior(MAPLE, phase=1, vigour=[0, 1, 2, 3], outer=1, running=0).log_mean
    assert np.all(np.diff(by_vigour) > 0)


@pytest.mark.parametrize("unknown", ["phase", "vigour", "outer", "running"])
def test_what_is_unknown_lies_inside_and_widens(unknown: str) -> None:
    known = {"phase": 2, "vigour": 2, "outer": 1, "running": 0}
    own = prior(MAPLE, **known)
    blind = prior(MAPLE, **known | {unknown: -1})
    codes = {"phase": [0, 3], "vigour": [1, 3], "outer": [0, 1], "running": [0, 1]}[unknown]
    ends = prior(MAPLE, **known | {unknown: codes}).log_mean
    assert ends.min() < blind.log_mean[0] < ends.max()
    assert blind.log_sd[0] > own.log_sd[0]
    assert blind.grade[0] == Grade.GUESS


def test_grade_follows_the_species() -> None:
    own = with_overrides(MAPLE, {"increment_developing_mm": 1.1, "increment_refined_mm": 0.2})
    told = prior(own, phase=[1, 1], vigour=[3, -1], outer=1, running=1)
    assert told.grade.tolist() == [Grade.MEASURED, Grade.GUESS]
    assert one().grade.tolist() == [Grade.GUESS]


def test_quantiles_are_those_of_the_log_normal() -> None:
    # 90 % of a normal lies below 1.2816 standard deviations.
    assert start(0.0, 1.0).quantile_mm(0.9) == pytest.approx([np.exp(1.2815515655)])


def test_switching_to_cut_and_back() -> None:
    running = start(0.0)
    cut = switched(running, running_was=1, running_will=0)
    assert cut.quantile_mm(0.5) == pytest.approx([0.4])
    back = switched(cut, running_was=0, running_will=1)
    assert back.log_mean == pytest.approx([0.0])
    same = switched(running, running_was=1, running_will=1)
    assert same.log_mean == running.log_mean
    assert same.grade == running.grade


# --- readings -----------------------------------------------------------------------------------


def exact_moments(before: Increment, base: list[float], rings: list[float], sd: float):  # type: ignore[no-untyped-def]
    """Return mean and spread of log A, by adaptive quadrature over A and in closed form over D0."""
    mean, spread = float(before.log_mean[0]), float(before.log_sd[0])
    grown, read = 2 * np.array(rings), np.array(base)
    grown, read = grown - grown.mean(), read - read.mean()

    def log_weight(theta: float) -> float:
        left = read - np.exp(theta) * grown
        return float(-0.5 * left @ left / sd**2 - 0.5 * ((theta - mean) / spread) ** 2)

    best = max(np.linspace(-9, 4, 5001), key=log_weight)

    def weight(theta: float, power: int) -> float:
        return float(theta**power * np.exp(log_weight(theta) - log_weight(best)))

    parts = [
        quad(weight, best - 4, best + 4, (power,), points=[best], limit=500)[0]
        for power in range(3)
    ]
    first = parts[1] / parts[0]
    return first, np.sqrt(parts[2] / parts[0] - first**2)


@pytest.mark.parametrize(
    ("base", "rings", "sd"),
    [
        ([9.0, 10.0], [2026.1, 2026.6], 0.1),  # sharp
        ([9.0, 9.1], [2026.1, 2026.6], 0.2),  # dull
        ([9.0, 8.9], [2026.1, 2026.6], 0.1),  # shrank
        ([9.0, 9.6, 10.1, 11.2], [2023.0, 2024.0, 2025.0, 2026.0], 0.05),
        ([9.0, 24.0], [2025.0, 2026.0], 0.1),  # far from the prior
    ],
)
def test_readings_give_the_exact_posterior(
    base: list[float], rings: list[float], sd: float
) -> None:
    before = start(-0.5)
    after = from_readings(
        before, readings([0] * len(base), base, rings, sd), season=2026, drift_sd=0.0
    )
    mean, spread = exact_moments(before, base, rings, sd)
    assert after.log_mean[0] == pytest.approx(mean, abs=1e-4)
    assert after.log_sd[0] == pytest.approx(spread, rel=1e-3)


def test_a_sharp_pair_says_what_it_measured() -> None:
    # 9.0 to 11.0 mm over one whole ring: 1.0 mm of radius, error 0.1 √2 / 2 = 0.07 mm.
    pair = readings([0, 0], [9.0, 11.0], [2025.0, 2026.0])
    after = from_readings(start(-1.0), pair, season=2026, drift_sd=0.0)
    assert after.quantile_mm(0.5) == pytest.approx([1.0], abs=0.02)
    assert after.log_sd == pytest.approx([0.07], abs=0.005)
    assert after.grade.tolist() == [Grade.MEASURED]


def test_only_the_branch_that_was_read_is_told() -> None:
    before = start(-0.5, branches=3)
    after = from_readings(
        before, readings([1, 1, 2], [9.0, 10.0, 5.0], [2025.0, 2026.0, 2026.0]), season=2026
    )
    assert after.log_sd[1] < before.log_sd[1]
    for row in (0, 2):  # never read; read once only
        assert after.log_mean[row] == before.log_mean[row]
        assert after.log_sd[row] == before.log_sd[row]
        assert after.grade[row] == before.grade[row]


def test_unknown_readings_are_left_out() -> None:
    whole = readings([0, 0], [9.0, 10.0], [2025.0, 2026.0])
    holes = readings([0, 0, 0, 0], [9.0, np.nan, 10.0, 3.0], [2025.0, 2025.5, 2026.0, np.nan])
    first, second = (from_readings(start(), r, season=2026) for r in (whole, holes))
    assert first.log_mean == second.log_mean
    nothing = from_readings(start(), readings([], [], []), season=2026)
    assert nothing.log_mean == start().log_mean
    assert nothing.log_sd == start().log_sd


def test_old_readings_count_for_less() -> None:
    pair = readings([0, 0], [9.0, 11.0], [2020.0, 2021.0])
    near, far = (from_readings(start(-1.0), pair, season=s) for s in (2021, 2031))
    assert near.log_sd < far.log_sd < start().log_sd
    assert -1.0 < far.log_mean < near.log_mean


def test_bad_readings_are_refused() -> None:
    with pytest.raises(RangeError, match="none of the branches"):
        from_readings(start(), readings([1], [9.0], [2026.0]), season=2026)
    with pytest.raises(RangeError, match="error of 0 mm"):
        from_readings(start(), readings([0], [9.0], [2026.0], sd=0.0), season=2026)


SERIES = st.lists(
    st.tuples(st.floats(3, 30), st.floats(2020, 2027), st.floats(0.05, 0.4)), min_size=2, max_size=7
)


@given(series=SERIES, log_mean=st.floats(-3, 1.5))
def test_growth_is_never_negative_and_readings_never_widen(
    series: list[tuple[float, float, float]], log_mean: float
) -> None:
    base, rings, sd = map(np.array, zip(*series, strict=True))
    before = start(log_mean)
    after = from_readings(before, Readings(np.zeros(len(base), int), base, sd, rings), season=2026)
    assert np.isfinite(after.log_mean).all()
    assert 0 < after.log_sd[0] <= before.log_sd[0]
    assert after.quantile_mm(0.001)[0] > 0
    assert -0.95 <= after.base_link[0] <= 0.95


@given(series=SERIES, order=st.randoms())
def test_the_order_of_readings_does_not_matter(series, order) -> None:  # type: ignore[no-untyped-def]
    def run(rows):  # type: ignore[no-untyped-def]
        base, rings, sd = map(np.array, zip(*rows, strict=True))
        return from_readings(
            start(), Readings(np.zeros(len(base), int), base, sd, rings), season=2026
        )

    shuffled = list(series)
    order.shuffle(shuffled)
    assert run(series).log_mean == pytest.approx(run(shuffled).log_mean, abs=1e-8)
    assert run(series).log_sd == pytest.approx(run(shuffled).log_sd, abs=1e-8)
