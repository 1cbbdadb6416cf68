"""The dual numbers of the engine on a worked example of JCGM 100:2008 (GUM).

Every input of the engine is a column of unit variance; correlated inputs are made of such columns
by a root of their covariance. The numbers stand in tests/published/gum.json.
"""

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from app.geometry.dual import Scalar, cos, sin

Published = Callable[[str, str], dict[str, Any]]
Printed = Callable[[str], Any]


def test_resistance_agrees_with_gum_example_h2(published: Published, printed: Printed) -> None:
    """JCGM 100:2008, H.2, tables H.2 to H.4: R = 127.732 ohm, u(R) = 0.071 ohm.

    The correlations of the three results (-0.588, -0.485, 0.993) are from memory.
    """
    case = published("gum", "gum-h2-resistance-reactance")
    given, answer = case["inputs"], case["published"]
    observed = np.array(
        [given["V_volt"], np.array(given["I_milliampere"]) / 1000.0, given["phi_radian"]]
    )
    root = np.linalg.cholesky(np.cov(observed) / observed.shape[1])
    voltage, current, phase = (
        Scalar(float(mean), slopes)
        for mean, slopes in zip(observed.mean(axis=1), root, strict=True)
    )
    impedance = voltage / current
    told = [impedance * cos(phase), impedance * sin(phase), impedance]
    slopes = np.array([one.slopes for one in told])
    covariance = slopes @ slopes.T
    u = np.sqrt(np.diag(covariance))
    r = covariance / np.outer(u, u)
    assert [one.value for one in told] == [printed(answer[key]) for key in "RXZ"]
    assert u[0] == printed(answer["u(R)"])
    assert u[2] == printed(answer["u(Z)"])
    # In full precision u(X) is 0.2956; the printed 0.295 is one unit of its last digit away.
    assert u[1] == pytest.approx(float(answer["u(X)"]), abs=0.001)
    assert [r[0, 1], r[0, 2], r[1, 2]] == [
        printed(answer[key]) for key in ("r(R,X)", "r(R,Z)", "r(X,Z)")
    ]
