"""Certified non-linear regressions: NIST Statistical Reference Datasets (StRD).

Misra1a (lower difficulty), Thurber and MGH09 (higher). The residuals are divided by the certified
residual standard deviation, so that the covariance of the parameters carries their certified
standard deviations.
"""

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from app.metrology.estimation import least_squares

Floats = NDArray[np.float64]
Model = Callable[[Floats, Floats], tuple[Floats, Floats]]

Published = Callable[[str, str], dict[str, Any]]


def misra1a(b: Floats, x: Floats) -> tuple[Floats, Floats]:
    decay = np.exp(-b[1] * x)
    return b[0] * (1.0 - decay), np.stack((1.0 - decay, b[0] * x * decay), axis=1)


def thurber(b: Floats, x: Floats) -> tuple[Floats, Floats]:
    powers = x[:, np.newaxis] ** np.arange(4)
    above, below = powers @ b[:4], 1.0 + powers[:, 1:] @ b[4:]
    by_above = powers / below[:, np.newaxis]
    by_below = -(above / below**2)[:, np.newaxis] * powers[:, 1:]
    return above / below, np.concatenate((by_above, by_below), axis=1)


def mgh09(b: Floats, x: Floats) -> tuple[Floats, Floats]:
    above, below = x * x + x * b[1], x * x + x * b[2] + b[3]
    ratio = above / below
    slopes = (ratio, b[0] * x / below, -b[0] * ratio * x / below, -b[0] * ratio / below)
    return b[0] * ratio, np.stack(slopes, axis=1)


MODELS: dict[str, Model] = {
    "nist-strd-misra1a": misra1a,
    "nist-strd-thurber": thurber,
    "nist-strd-mgh09": mgh09,
}


@pytest.mark.parametrize(
    ("name", "start"),
    [
        ("nist-strd-misra1a", 0),
        ("nist-strd-misra1a", 1),
        ("nist-strd-thurber", 0),
        ("nist-strd-thurber", 1),
        ("nist-strd-mgh09", 1),
    ],
)
def test_certified_parameters_and_their_standard_deviations(
    name: str, start: int, published: Published
) -> None:
    """From both starts of each dataset, of MGH09 from the second (its first lies far off)."""
    case = published("nonlinear", name)
    x, y = (np.array(case["inputs"][key]) for key in "xy")
    answer, model = case["published"], MODELS[name]
    sd = float(answer["residual_sd"])
    found = least_squares(
        lambda b: (model(b, x)[0] - y) / sd,
        lambda b: model(b, x)[1] / sd,
        np.array(case["inputs"]["starts"][start], dtype=float),
    )
    certified = np.array([float(b) for b in answer["b"]])
    deviations = np.array([float(s) for s in answer["sd_b"]])
    # The solver stops when what is left is a hundred-millionth of a standard deviation.
    assert (found.parameters - certified) / deviations == pytest.approx(0.0 * certified, abs=1e-8)
    assert np.sqrt(found.covariance.diagonal()) == pytest.approx(deviations, rel=1e-6)
    assert found.chi_square * sd**2 == pytest.approx(float(answer["rss"]), rel=1e-9)
    assert found.chi_square == pytest.approx(float(answer["dof"]), rel=1e-8)
