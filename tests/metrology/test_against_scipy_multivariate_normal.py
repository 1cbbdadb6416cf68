"""Joint probability against scipy.stats.multivariate_normal.cdf, an independent program."""

import numpy as np
import pytest
from scipy.stats import multivariate_normal

from app.metrology.conformity import joint_probability


@pytest.mark.parametrize("count", [2, 3, 5, 10])
def test_random_covariances_agree_with_scipy(count: int) -> None:
    rng = np.random.default_rng(106 + count)
    for _ in range(2):
        root = rng.normal(size=(count, count + 2))
        covariance = root @ root.T
        scale = np.sqrt(np.diag(covariance))
        mean = 0.3 * scale * rng.normal(size=count)
        low, high = -scale * rng.uniform(0.8, 4.0, count), scale * rng.uniform(0.8, 4.0, count)
        scipy_says = multivariate_normal.cdf(
            high, mean, covariance, lower_limit=low, maxpts=500_000, abseps=1e-6, releps=1e-6,
            rng=np.random.default_rng(1),
        )  # fmt: skip
        found = joint_probability(mean, covariance, low, high)
        # The covariances are nearly singular, and SciPy's own random points err as much as ours.
        assert found == pytest.approx(scipy_says, abs=2e-5 if count < 7 else 1e-4)
