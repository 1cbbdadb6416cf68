"""Gauge studies: what went in comes out, by two ways that share no formula; small and odd ones."""

import numpy as np
import pytest

from app.metrology.gauge_study import Floats, anova, average_range


def drawn(
    rng: np.random.Generator, people: int, parts: int, trials: int, sigma: dict[str, float]
) -> Floats:
    person = rng.normal(0.0, sigma["person"], (people, 1, 1))
    part = rng.normal(0.0, sigma["part"], (1, parts, 1))
    both = rng.normal(0.0, sigma["both"], (people, parts, 1))
    noise = rng.normal(0.0, sigma["gauge"], (people, parts, trials))
    return np.asarray(100.0 + person + part + both + noise)


SIGMA = {"person": 0.3, "part": 1.0, "both": 0.25, "gauge": 0.2}


def test_mean_variances_of_many_studies_are_those_that_were_drawn() -> None:
    """2,000 studies of 6 people, 10 parts, 3 trials; the pooled model takes no part in it."""
    rng = np.random.default_rng(20261125)
    found = [anova(drawn(rng, 6, 10, 3, SIGMA), pool_from=2.0) for _ in range(2000)]
    spreads = [one.with_interaction for one in found]
    assert all(one is not None for one in spreads)
    sums = {
        "gauge": [one.repeatability**2 for one in spreads if one],
        "both": [(one.interaction or 0.0) ** 2 for one in spreads if one],
        "person": [(one.reproducibility or 0.0) ** 2 for one in spreads if one],
        "part": [one.part**2 for one in spreads if one],
    }
    for name, variances in sums.items():
        assert np.mean(variances) == pytest.approx(SIGMA[name] ** 2, rel=0.05), name


def test_averages_and_ranges_find_the_same_without_an_interaction() -> None:
    rng = np.random.default_rng(7)
    sigma = {**SIGMA, "both": 0.0}
    found = [average_range(drawn(rng, 3, 10, 3, sigma)).spread for _ in range(2000)]
    repeatability = np.mean([one.repeatability for one in found])
    assert repeatability == pytest.approx(0.2, rel=0.01)
    part = np.mean([one.part**2 for one in found])
    assert part == pytest.approx(1.0, rel=0.06)


def test_sums_of_squares_add_up_and_order_does_not_matter() -> None:
    readings = drawn(np.random.default_rng(5), 4, 7, 2, SIGMA)
    found = anova(readings)
    assert found.people is not None
    assert found.interaction is not None
    lines = (found.people, found.parts, found.interaction, found.repeatability)
    assert sum(one.sum_of_squares for one in lines) == pytest.approx(
        found.total.sum_of_squares, rel=1e-12
    )
    assert sum(one.degrees_of_freedom for one in lines) == found.total.degrees_of_freedom
    mixed = anova(readings[::-1, ::-1, ::-1])
    assert mixed.spread.gauge == pytest.approx(found.spread.gauge, rel=1e-12)
    assert mixed.parts.sum_of_squares == pytest.approx(found.parts.sum_of_squares, rel=1e-12)


def test_an_interaction_that_shows_is_not_pooled() -> None:
    readings = drawn(np.random.default_rng(5), 3, 10, 3, {**SIGMA, "both": 0.8})
    found = anova(readings)
    assert not found.pooling
    assert found.spread is found.with_interaction
    assert found.spread.interaction == pytest.approx(0.8, rel=0.4)


def test_one_person_alone_shows_no_difference_between_people() -> None:
    readings = drawn(np.random.default_rng(5), 1, 5, 3, SIGMA)
    for spread in (anova(readings).spread, average_range(readings).spread):
        assert spread.reproducibility is None
        assert spread.share(spread.reproducibility) is None
        assert spread.gauge == spread.repeatability
    assert anova(readings).people is None


def test_variance_shares_add_up_to_one() -> None:
    spread = anova(drawn(np.random.default_rng(5), 3, 10, 3, {**SIGMA, "both": 0.8})).spread
    parts = (spread.repeatability, spread.reproducibility, spread.interaction, spread.part)
    assert sum(spread.variance_share(one) or 0.0 for one in parts) == pytest.approx(1.0, rel=1e-12)


def test_readings_that_are_all_the_same_divide_by_nothing() -> None:
    readings = np.full((2, 3, 2), 4.0)
    found = anova(readings)
    assert (found.spread.gauge, found.spread.total, found.spread.categories) == (0.0, 0.0, None)
    assert found.spread.share(found.spread.gauge) is None
    assert average_range(readings).beyond == ()
    coarse = readings + np.arange(3.0)[None, :, None]
    assert anova(coarse).spread.categories is None
    assert anova(coarse).spread.part == pytest.approx(1.0, rel=1e-12)


def test_a_gauge_coarser_than_the_parts_tells_one_kind() -> None:
    readings = drawn(np.random.default_rng(5), 3, 10, 3, {**SIGMA, "gauge": 5.0})
    assert anova(readings).spread.categories == 1


def test_a_reading_far_from_its_repeats_is_named() -> None:
    readings = drawn(np.random.default_rng(5), 3, 10, 3, SIGMA)
    readings[1, 4, 2] += 5.0
    assert average_range(readings).beyond == ((1, 4),)


@pytest.mark.parametrize("shape", [(2, 1, 3), (2, 3, 1), (0, 3, 3), (3, 3)])
def test_what_is_no_study_is_refused(shape: tuple[int, ...]) -> None:
    with pytest.raises(ValueError, match="no gauge study"):
        anova(np.zeros(shape))
