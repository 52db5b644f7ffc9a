"""Which wire holds a bend: metal, gauge, strands, how far to over-bend, how much to cut.

The gauge starts from a share of the branch's diameter at the bend; the mechanics of wood and wire
then say whether it holds. The trade's own rule of thumb stands beside it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from boughwright.errors import RangeError
from boughwright.journal.terms import Bend, Fit, Metal
from boughwright.sources import Grade
from boughwright.wire.mechanics import (
    BENDS,
    WoodAge,
    hold_check,
    holding_moment_nmm,
    over_bend,
    safe_radius_mm,
    wood_of,
)
from boughwright.wire.metals import (
    COIL_DEG,
    HELIX_HOLD,
    LOOSE_HOLD,
    METALS,
    STANDARD_GAUGES_MM,
    bundle_gauge_mm,
    coil_pitch_mm,
    cut_length_mm,
    mass_g_per_m,
    plastic_moment_nmm,
)

if TYPE_CHECKING:
    from collections.abc import Sequence

    from boughwright.species.model import Species
    from boughwright.wire.mechanics import Wood

GUY_FROM_MM = 20.0
"""A base from which wire no longer holds and a padded guy does. Common practice."""

GUY_STRONG_FROM_MM = 10.0
"""The same for a strong bend."""

MOST_STRANDS = 3
BRUISES_FROM, SPRINGS_UNDER = 1.2, 0.75
"""Gauge over the gauge needed: above the first it bruises, below the second it springs back."""

GOOD_FIT = 0.9
"""Gauge over the gauge needed from which no further strand is added."""

EASY_OVER_BEND = 1.25
"""Over-bend a hand can still judge. Starting value."""

SHOOT_UNDER_MM, TWIG_UNDER_MM = 2.5, 8.0
"""Base from which the age of wood is guessed when nobody told it. Starting values."""

COIL_THEORY = (0.15, 0.60)
"""Gauge over diameter for which the mechanics of a coil hold."""

LIFTS_AGAIN = (
    "A lowered branch lifts itself 1 to 3 degrees a season once it is free. "
    "Bring it 3 to 5 degrees lower than wanted."
)

CAUTIONS = (
    "Wear eye protection: wire ends whip when cut and bent.",
    "Turn the ends in so that nobody is scratched.",
)


@dataclass(frozen=True, slots=True)
class TradeSize:
    """The trade's gauge for a branch and the over-bend it needs.

    ``low_mm`` and ``high_mm`` are one for aluminium. ``over_bend_low`` belongs to ``low_mm``.
    """

    low_mm: float
    high_mm: float
    over_bend_low: float
    over_bend_high: float


@dataclass(frozen=True, slots=True)
class WireChoice:
    """What to hold one bend with.

    Parameters
    ----------
    guy : bool
        A padded guy instead of wire; then the wire fields are None and ``strands`` is 0.
    metal : Metal
    gauge_mm : float, optional
        Gauge of one strand; None for a guy or when the stock has nothing that fits.
    strands : int
        Strands side by side.
    hold : float, optional
        What it holds over what the bend asks after a day; from 1 it does not spring back.
    over_bend : float, optional
        How many times as tight as wanted to bend it, 1 or more.
    steady_gauge_mm : float
        The one gauge that would hold with no over-bend.
    trade : TradeSize
        The trade's rule of thumb.
    coil_deg : tuple of float
        Angle between wire and branch, from and to.
    pitch_mm : tuple of float, optional
        Distance from turn to turn at those angles, wide first.
    length_mm, mass_g : float, optional
        To cut, with anchor turn and waste, all strands; None when no branch length was given.
    safe_radius_mm : float
        Smallest radius to bend to in one go.
    warnings, cautions : tuple of str
    grade : Grade
        A guess where the age of the wood was guessed; never better than borrowed.
    """

    guy: bool
    metal: Metal
    gauge_mm: float | None
    strands: int
    hold: float | None
    over_bend: float | None
    steady_gauge_mm: float
    trade: TradeSize
    coil_deg: tuple[float, float]
    pitch_mm: tuple[float, float] | None
    length_mm: float | None
    mass_g: float | None
    safe_radius_mm: float
    warnings: tuple[str, ...]
    cautions: tuple[str, ...]
    grade: Grade


@dataclass(frozen=True, slots=True)
class _Bent:
    """The branch at its bend."""

    base_mm: float
    radius_mm: float
    wood: Wood
    coil_hold: float
    """Share of the straight wire's moment that a coil of this fit holds."""

    def held_nmm(self, gauge_mm: float, metal: Metal, strands: int = 1) -> float:
        """Return the moment a coiled wire holds. [N·mm]."""
        return self.coil_hold * plastic_moment_nmm(gauge_mm, metal, strands=strands)

    def over(self, gauge_mm: float, metal: Metal, strands: int = 1) -> float:
        """Return the over-bend a wire needs here."""
        held = self.held_nmm(gauge_mm, metal, strands)
        return over_bend(self.base_mm, self.radius_mm, self.wood, held)


def choose(
    base_mm: float,
    *,
    bend: Bend,
    metal: Metal = Metal.ALUMINIUM,
    fit: Fit = Fit.NORMAL,
    age: WoodAge | None = None,
    species: Species | None = None,
    radius_mm: float | None = None,
    in_flush: bool = False,
    frozen_or_dry: bool = False,
    lowering: bool = False,
    branch_lengths_mm: tuple[float, ...] = (),
    anchor_mm: float | None = None,
    stock: Sequence[float] = STANDARD_GAUGES_MM,
) -> WireChoice:
    """Return what holds a bend.

    Parameters
    ----------
    base_mm : float
        Diameter at the base of the bend. [mm]
    bend : Bend
        How hard; the tightest radius of its class is reckoned with unless ``radius_mm`` is given.
    metal : Metal
        Aluminium unless asked otherwise: it is kinder to smooth bark.
    fit : Fit
        Loose turns hold less.
    age : WoodAge, optional
        Age of the wood; guessed from the diameter when unknown.
    species : Species, optional
        For its density, brittleness and suppleness.
    radius_mm : float, optional
        Radius of the bend wanted in the end. [mm]
    in_flush, frozen_or_dry : bool
        Make some, or all, wood brittle.
    lowering : bool
        The branch is brought down; it will lift itself again.
    branch_lengths_mm, anchor_mm
        One or two branches on one wire, and the diameter its anchor turn goes round (unknown: the
        base). [mm]
    stock : sequence of float
        Gauges at hand in that metal. [mm]

    Raises
    ------
    RangeError
        When the base or radius is not above 0, or is unknown.
    """
    for value, what in ((base_mm, "base"), (1.0 if radius_mm is None else radius_mm, "radius")):
        if not value > 0.0 or math.isinf(value):
            raise RangeError(f"a {what} of {value:g} mm cannot be wired", allowed="above 0 mm",
                             todo=f"Measure the {what}")  # fmt: skip
    wood = _wood(base_mm, age, species, in_flush=in_flush, frozen_or_dry=frozen_or_dry)
    hold = LOOSE_HOLD if fit is Fit.LOOSE else HELIX_HOLD
    bent = _Bent(base_mm, radius_mm or BENDS[bend].bend_ratio * base_mm, wood, hold)
    guy = base_mm >= GUY_FROM_MM or (bend is Bend.STRONG and base_mm > GUY_STRONG_FROM_MM)
    picked = None if guy else pick(METALS[metal].share * base_mm, stock)
    gauge, strands = picked or (None, 0)
    length = None
    if gauge is not None and branch_lengths_mm:
        length = strands * cut_length_mm(branch_lengths_mm, anchor_mm or base_mm)
    asked = holding_moment_nmm(base_mm, bent.radius_mm, wood)
    return WireChoice(
        guy=guy,
        metal=metal,
        gauge_mm=gauge,
        strands=strands,
        hold=None
        if gauge is None
        else hold_check(base_mm, bent.radius_mm, wood, bent.held_nmm(gauge, metal, strands)),
        over_bend=None if gauge is None else bent.over(gauge, metal, strands),
        steady_gauge_mm=math.cbrt(asked / bent.held_nmm(1.0, metal)),
        trade=_trade(bent, metal),
        coil_deg=COIL_DEG,
        pitch_mm=None if gauge is None else (
            coil_pitch_mm(base_mm, gauge, COIL_DEG[0]), coil_pitch_mm(base_mm, gauge, COIL_DEG[1])
        ),
        length_mm=length,
        mass_g=None if length is None or gauge is None
        else length / 1000.0 * mass_g_per_m(gauge, metal),
        safe_radius_mm=safe_radius_mm(base_mm, wood),
        warnings=(
            *_warnings(bent, bend, metal, picked, guy=guy),
            *((LIFTS_AGAIN,) if lowering else ()),
        ),
        cautions=CAUTIONS,
        grade=Grade.GUESS if age is None else Grade.BORROWED,
    )  # fmt: skip


def pick(need_mm: float, stock: Sequence[float]) -> tuple[float, int] | None:
    """Return the gauge and the strands whose hold comes nearest to one gauge that is needed.

    One strand where one comes near enough, else two or three; None when nothing in stock lies
    between springing back and bruising.
    """
    best: tuple[float, int] | None = None
    for strands in range(1, MOST_STRANDS + 1):
        if not stock:
            break
        gauge = min(stock, key=lambda g: abs(bundle_gauge_mm(g, strands) - need_mm))
        fit = bundle_gauge_mm(gauge, strands) / need_mm
        if GOOD_FIT <= fit <= BRUISES_FROM:
            return gauge, strands
        if best is None and SPRINGS_UNDER <= fit <= BRUISES_FROM:
            best = gauge, strands
    return best


def _wood(
    base_mm: float,
    age: WoodAge | None,
    species: Species | None,
    *,
    in_flush: bool,
    frozen_or_dry: bool,
) -> Wood:
    """Return how the wood at the bend behaves."""
    if age is None:
        small = WoodAge.SHOOT if base_mm < SHOOT_UNDER_MM else WoodAge.TWIG
        age = small if base_mm < TWIG_UNDER_MM else WoodAge.OLD
    if species is None:
        return wood_of(age, brittle=frozen_or_dry)
    temper = species.word("brittle")
    brittle = (temper == "old" and age is WoodAge.OLD) or (temper == "flush" and in_flush)
    supple = species.traits["supple"].value is True and age is not WoodAge.OLD
    return wood_of(age, density=species.number("density"), brittle=brittle or frozen_or_dry,
                   supple=supple)  # fmt: skip


def _trade(bent: _Bent, metal: Metal) -> TradeSize:
    row = METALS[metal]
    low, high = row.trade_low * bent.base_mm, row.trade_high * bent.base_mm
    return TradeSize(low, high, bent.over(low, metal), bent.over(high, metal))


def _warnings(
    bent: _Bent, bend: Bend, metal: Metal, picked: tuple[float, int] | None, *, guy: bool
) -> tuple[str, ...]:
    """Return what to mind with this choice, in plain sentences."""
    safe = safe_radius_mm(bent.base_mm, bent.wood)
    said: list[str] = []
    tightest = bent.radius_mm
    if guy:
        said.append("Use a padded guy: wire would bruise before it holds. Check the pad monthly.")
    elif picked is None:
        said.append(f"No gauge at hand fits. This bend needs about "
                    f"{{{METALS[metal].share * bent.base_mm:.1f} mm}}.")  # fmt: skip
    else:
        gauge, strands = picked
        factor = bent.over(gauge, metal, strands)
        tightest /= factor
        if factor > EASY_OVER_BEND:
            said.append(f"It springs back. Bend it {factor:.1f} times as tight as wanted, or add "
                        "a strand.")  # fmt: skip
        ratio = gauge / bent.base_mm
        if not COIL_THEORY[0] <= ratio <= COIL_THEORY[1]:
            said.append("This gauge lies outside what the sums hold for. Go by feel.")
        if bent.base_mm > GUY_STRONG_FROM_MM:
            said.append("A padded guy spares the bark here.")
    if tightest < safe:
        said.append(f"Do not go tighter than a radius of {{{safe:.0f} mm}} in one go. "
                    "Bend in two or three sessions.")  # fmt: skip
    if bend is Bend.STRONG:
        said.append("Feel for cracking while you bend, and stop at the first sign.")
    return tuple(said)
