"""Numbers and vectors that carry what a formula needs of them: derivatives, or many trials at once.

One text of each formula then serves the first-order propagation of uncertainty and Monte Carlo.
A quantity is in one of three states:

    with derivatives   value () or (3,), slopes (n,) or (3, n) by n inputs
    over trials        value (trials,) or (3, trials), slopes None
    constant           value () or (3,), slopes None; it may meet either of the others

Dual numbers, forward differentiation: textbook calculus, no source needed.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Scalar:
    """value: () or (trials,); slopes: (n,) or None."""

    value: Floats | float
    slopes: Floats | None = None


@dataclass(frozen=True, slots=True)
class Vector:
    """value: (3,) or (3, trials); slopes: (3, n) or None."""

    value: Floats
    slopes: Floats | None = None
