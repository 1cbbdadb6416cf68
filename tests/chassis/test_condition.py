"""The quick look at a matrix's condition never passes what the eigenvalues would refuse."""

import numpy as np
import pytest

from app.chassis.estimate import clearly_conditioned
from app.chassis.refusals import CONDITION_NEEDED


def test_nothing_badly_conditioned_passes() -> None:
    rng = np.random.default_rng(1)
    passed = 0
    for _ in range(5000):
        root = rng.standard_normal((4, 4)) * 10.0 ** rng.uniform(-3.0, 3.0, (4, 1))
        matrix = root @ root.T
        size = np.linalg.eigvalsh(matrix)
        if clearly_conditioned(matrix.tolist()):
            passed += 1
            assert size[0] > CONDITION_NEEDED * size[-1]
    assert passed > 100


@pytest.mark.parametrize("least", [1e-9, 0.0])
def test_the_edge_and_beyond(least: float) -> None:
    assert clearly_conditioned(np.diag([1.0, 0.5, 0.2, 0.01]).tolist())
    assert not clearly_conditioned(np.diag([1.0, 1.0, 1.0, least]).tolist())
