"""The generic infection model and the spring rule for leaf blight.

Sources: Magarey, Sutton & Russo 2005 (Phytopathology 95:92-100), equations as read in a manual of
model components; Neely & Himelick's temperature rule for sycamore anthracnose, as read in two
university extension leaflets. Published values of the model's parameters for blight of maples are
not known; those used here are guesses and only the arithmetic is checked.
"""

from __future__ import annotations

import numpy as np
import pytest

from boughwright.season.infection import (
    COOL,
    WARM,
    Blight,
    Fungus,
    blight_class,
    infection_response,
    required_wet_hours,
)


def test_the_curve_of_the_cool_kind() -> None:
    # f(5) by hand: (24-5)/11.5 x (5/12.5)^(12.5/11.5) = 1.652174 x 0.4^1.0869565
    #      = 1.652174 x exp(1.0869565 x -0.9162907) = 1.652174 x 0.369367 = 0.61026.
    shares = infection_response([5.0, 10.0, 12.5, 15.0, 20.0, 25.0], fungus=COOL)
    np.testing.assert_allclose(shares, [0.6103, 0.9552, 1.0, 0.9541, 0.5797, 0.0], atol=5.1e-5)
    hours = required_wet_hours([5.0, 10.0, 12.5, 15.0, 20.0, 25.0], fungus=COOL)
    np.testing.assert_allclose(hours, [19.66, 12.56, 12.0, 12.58, 20.70, np.inf], atol=5.1e-3)


def test_the_curve_of_the_warm_kind() -> None:
    shares = infection_response([10.0, 15.0, 20.0, 25.0], fungus=WARM)
    np.testing.assert_allclose(shares, [0.0965, 0.4816, 0.8702, 0.9902], atol=5.1e-5)
    hours = required_wet_hours([10.0, 15.0, 20.0, 25.0], fungus=WARM)
    np.testing.assert_allclose(hours, [36.0, 12.46, 6.89, 6.06], atol=5.1e-3)


@pytest.mark.parametrize("fungus", [COOL, WARM, Fungus(1.0, 20.0, 35.0, 6.0, 40.0, 8.0)])
def test_the_curve_peaks_at_the_best_temperature(fungus: Fungus) -> None:
    # The published form is 1 at its best temperature and 0 at both limits, for any parameters.
    t = np.linspace(fungus.t_min_c, fungus.t_max_c, 501)
    shares = infection_response(t, fungus=fungus)
    assert shares[0] == 0.0
    assert shares[-1] == pytest.approx(0.0, abs=1e-12)
    assert t[int(np.argmax(shares))] == pytest.approx(fungus.t_best_c, abs=0.06)
    assert shares.max() <= 1.0 + 1e-12


def test_the_spring_rule() -> None:
    # Under 55 °F severe, 55 to 60 °F less severe, above 60 °F negligible.
    classes = blight_class([12.0, 14.0, 16.0, np.nan, (54.9 - 32) / 1.8, (60.1 - 32) / 1.8])
    assert [Blight(code) for code in classes] == [
        Blight.SEVERE, Blight.MODERATE, Blight.SLIGHT, Blight.UNKNOWN, Blight.SEVERE, Blight.SLIGHT,
    ]  # fmt: skip
