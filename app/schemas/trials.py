"""How many simulated measurements (Monte Carlo trials) may be asked for, and how."""

from typing import NamedTuple

LEAST_TRIALS = 100
"""Fewer do not tell where an interval of 95 % ends."""
MOST_TRIALS = 10_000_000
MOST_TRIALS_SENT = 1_000_000
"""Over the network, where others wait meanwhile."""
HIGHEST_SEED = 2**53
LEAST_DIGITS, MOST_DIGITS = 1, 4


class TrialsAsked(NamedTuple):
    """monte_carlo: how many, None: only where first order does not suffice; seed: None: always the
    same; digits: enough when these significant digits of u stand still, None: all of them."""

    monte_carlo: int | None = None
    seed: int | None = None
    digits: int | None = None


UNASKED = TrialsAsked()
