"""First-order propagation of uncertainty, with all covariances (JCGM 100:2008, 5.2; JCGM 102)."""

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


def propagate(jacobian: Floats, covariance: Floats) -> Floats:
    """(m, m) covariance of outputs with derivatives `jacobian` (m, n) of inputs (n, n)."""
    product: Floats = jacobian @ covariance @ jacobian.T
    return (product + product.T) * 0.5


def implicit_derivative(by_output: Floats, by_input: Floats) -> Floats:
    """(m, n) derivatives dy/dx of the y that solves h(y, x) = 0.

    by_output: (m, m) dh/dy; by_input: (m, n) dh/dx, both at the solution. Raises
    numpy.linalg.LinAlgError when dh/dy is singular. Formula: implicit function theorem.
    """
    return np.asarray(-np.linalg.solve(by_output, by_input), dtype=np.float64)


def correlations(covariance: Floats) -> Floats:
    """(n, n) correlation coefficients; zero beside a quantity without uncertainty."""
    deviation = np.sqrt(np.diag(covariance))
    scale = np.divide(1.0, deviation, out=np.zeros_like(deviation), where=deviation > 0.0)
    coefficients: Floats = covariance * np.outer(scale, scale)
    return coefficients
