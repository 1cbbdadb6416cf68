"""Intervals, tolerances and blocks of trials, on numbers that can be worked by hand."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.special import ndtri

from app.metrology.monte_carlo import (
    Stability,
    Summary,
    block_size,
    half_width,
    numerical_tolerance,
    shortest_interval,
    stream,
    summary,
    symmetric_interval,
    tails,
)


@pytest.mark.parametrize(
    ("u", "digits", "tolerance"),
    [
        (0.35, 1, 0.05),
        (0.35, 2, 0.005),
        (0.00035, 2, 0.000005),
        (2.0, 1, 0.5),
        (9.6, 1, 5.0),
        (9.4, 1, 0.5),
        (0.0996, 2, 0.005),
        (35.0, 2, 0.5),
        (0.0, 2, 0.0),
        (float("nan"), 2, 0.0),
    ],
)
def test_the_tolerance_is_half_a_unit_of_the_last_digit(
    u: float, digits: int, tolerance: float
) -> None:
    """JCGM 101:2008, 7.9.2 (from memory): u = 0.35 g with two digits is 35 x 10^-2 g, so that the
    tolerance is 0.005 g; rounding may carry, as 0.0996 is 10 x 10^-2."""
    assert numerical_tolerance(u, digits) == pytest.approx(tolerance, rel=1e-12)


def test_intervals_of_a_hundred_numbers() -> None:
    """95 of 100 trials: the ends are a pair of the sorted ones 95 places apart."""
    values = np.arange(100.0) ** 2
    values[3] = 8.5
    mixed = np.random.default_rng(1).permutation(values)
    low, high = tails(mixed, 0.95)
    ordered = np.sort(values)
    assert low.tolist() == ordered[:5].tolist()
    assert high.tolist() == ordered[95:].tolist()
    assert shortest_interval(low, high) == (ordered[0], ordered[95])
    assert symmetric_interval(low, high) == (ordered[2], ordered[97])
    assert half_width(low, high, 0.0) == ordered[95]


@settings(deadline=None, derandomize=True, max_examples=40)
@given(
    st.integers(20, 400),
    st.floats(0.5, 0.99),
    st.integers(0, 2**32),
    st.booleans(),
    st.floats(-2, 2),
)
def test_intervals_are_those_of_a_search_over_all(
    count: int, p: float, seed: int, rounded: bool, value: float
) -> None:
    values = np.random.default_rng(seed).normal(size=count)
    values = np.round(values, 1) if rounded else values
    inside = min(count - 1, int(p * count + 0.5))
    ordered = np.sort(values)
    low, high = tails(values.copy(), p)
    ends = shortest_interval(low, high)
    widths = ordered[inside:] - ordered[: count - inside]
    assert ends[1] - ends[0] == widths.min()
    assert np.count_nonzero((values >= ends[0]) & (values <= ends[1])) > inside
    u = half_width(low, high, value)
    assert u == np.sort(np.abs(values - value))[inside]


def test_tails_of_very_many_are_those_of_all_sorted() -> None:
    generator = np.random.default_rng(3)
    for values in (
        generator.normal(size=100_003),
        np.sort(generator.normal(size=50_000)),
        np.sort(generator.normal(size=50_000))[::-1],
        np.repeat(7.0, 40_000),
        np.round(generator.normal(size=60_000)),
    ):
        ordered, (low, high) = np.sort(values), tails(values.copy(), 0.95)
        out = len(values) - int(0.95 * len(values) + 0.5)
        assert np.array_equal(low, ordered[:out])
        assert np.array_equal(high, ordered[len(ordered) - out :])


def test_a_sample_that_misleads_is_not_trusted() -> None:
    """Every eighth number, which the sample consists of, is far lower than the rest."""
    values = np.random.default_rng(4).normal(size=40_000)
    values[::8] -= 100.0
    low, high = tails(values.copy(), 0.5)
    assert np.array_equal(low, np.sort(values)[:20_000])
    assert np.array_equal(high, np.sort(values)[20_000:])


def test_blocks_have_streams_of_their_own() -> None:
    one, again = stream(5, 0).normal(size=8), stream(5, 0).normal(size=8)
    assert np.array_equal(one, again)
    assert not np.array_equal(one, stream(5, 1).normal(size=8))
    assert not np.array_equal(one, stream(6, 0).normal(size=8))
    assert block_size(0.95) == 10_000
    assert block_size(0.999) == 100_000


def test_stability_is_judged_by_the_averages_over_blocks() -> None:
    """Four numbers of 100 blocks: s of an average is a tenth of that of a block."""
    generator = np.random.default_rng(7)
    watched = Stability()
    watched.add([Summary(0.0, 1.0, -2.0, 2.0)])
    assert watched.digits(1.0, 0) == 0
    watched = Stability()
    for _ in range(100):
        watched.add([Summary(*generator.normal((0.0, 1.0, -2.0, 2.0), 0.02))])
    assert watched.spread()[0] == pytest.approx(np.full(4, 0.004), rel=0.4)
    assert watched.digits(1.0, 0) == 3
    assert watched.digits(0.001, 0) == 0


def test_the_deviation_of_all_blocks_follows_from_each() -> None:
    values = np.random.default_rng(9).normal((3.0, -700.0), (0.4, 0.01), (1_200, 2)).T
    watched = Stability()
    for block in np.split(values, 4, axis=1):
        watched.add([summary(row) for row in block])
    assert watched.u(300) == pytest.approx(values.std(axis=1, ddof=1).tolist(), rel=1e-9)


def test_a_summary_of_normal_trials() -> None:
    values = np.random.default_rng(8).normal(10.0, 0.5, 400_000)
    found = summary(values)
    assert found.mean == pytest.approx(10.0, abs=5 * 0.5 / np.sqrt(4e5))
    assert found.u == pytest.approx(0.5, rel=5 / np.sqrt(8e5))
    assert found.high - found.low == pytest.approx(2 * 0.5 * ndtri(0.975), rel=0.01)
    low, high = tails(values, 0.95)
    assert half_width(low, high, 10.0) == pytest.approx(0.5 * ndtri(0.975), rel=0.01)
