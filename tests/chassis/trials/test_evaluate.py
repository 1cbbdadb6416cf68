"""What an evaluation by trials says, beside first order and where that does not suffice."""

import numpy as np
import pytest

from app import resources
from app.chassis.evaluate import evaluate
from app.chassis.result import Distribution, Result
from app.chassis.survey import Floats, Options, Reference, Survey, Tolerance
from app.chassis.trials import solving
from app.chassis.trials.block import Turning
from app.chassis.trials.head import TOGETHER
from app.chassis.trials.refinement import Refined
from app.metrology.monte_carlo import LEAST_BLOCK
from app.schemas.reading import read_reference, read_survey
from app.services.solving import reference_to_engine, to_engine
from tests.chassis.poses import Pose, survey
from tests.chassis.trials.surveys import (
    SMALL_TURN,
    SOUND,
    everything_at_once,
    small_turn,
    sound,
)

SEED_DATA = resources.seed_data()
TRIALS = 20_000
CHANCE = 5.0 / np.sqrt(2.0 * TRIALS)
"""Five times what so many trials leave of a standard deviation to chance, as a share."""


def full_survey() -> tuple[Survey, Reference]:
    """The invented survey of all features."""
    taken = read_survey((SEED_DATA / "full-survey.json").read_bytes(), {})
    reference = read_reference((SEED_DATA / "full-reference.json").read_bytes())
    return to_engine(taken), reference_to_engine(reference)


def distributions(result: Result) -> dict[str, Distribution]:
    assert result.monte_carlo is not None
    return {one.key: one for one in result.monte_carlo.characteristics}


@pytest.mark.parametrize("which", ["sound", "everything at once", "all features"])
def test_trials_agree_with_first_order_where_little_is_curved(which: str) -> None:
    """Offsets, scale, warmth, squareness, spacing, covariances and all formulas go two ways."""
    taken, reference = sound(), SOUND.reference()
    if which == "everything at once":
        taken = everything_at_once()
    if which == "all features":
        taken, reference = full_survey()
    first = evaluate(taken, reference)
    result = evaluate(taken, reference, Options(monte_carlo=TRIALS, seed=1))
    told = distributions(result)
    assert first.monte_carlo is None
    for one, other in zip(result.characteristics, first.characteristics, strict=True):
        assert one.value == other.value
        if one.set_by_levelling:
            assert one == other
            continue
        u = other.standard_uncertainty
        assert one.standard_uncertainty == pytest.approx(u, rel=CHANCE), one.key
        assert one.expanded_uncertainty == pytest.approx(other.expanded_uncertainty, rel=0.04)
        assert told[one.key].mean == pytest.approx(one.value, abs=0.03 * u + 5 * u / TRIALS**0.5)
        assert told[one.key].low < one.value < told[one.key].high
        assert told[one.key].unsolved == 0
        assert one.verdict == other.verdict
    validated = [one.first_order_validated for one in told.values()]
    assert len(told) - sum(validated) <= 0.05 * len(told)


def test_trials_give_the_correlations_too() -> None:
    """Joint probability by trials against the integral over the normal distribution."""
    reference = Reference(
        {
            "head_twist": Tolerance(0.0, -0.05, 0.05),
            "axis_distance": Tolerance(SOUND.distance, -0.2, 0.2),
            "face_position": Tolerance(SOUND.position, -0.4, 0.4),
            "head_offset": Tolerance(0.0, -0.4, 0.4),
            "head_height": Tolerance(SOUND.height),
        },
        "by_height",
    )
    first = evaluate(sound(), reference)
    result = evaluate(sound(), reference, Options(monte_carlo=TRIALS, seed=3))
    p, share = first.finding.probability_all, result.finding.probability_all
    assert p is not None
    assert share is not None
    alone = np.prod([one.probability_within or 1.0 for one in first.characteristics])
    assert 0.02 < p < 0.6
    assert share == pytest.approx(p, abs=5.0 * np.sqrt(p * (1.0 - p) / TRIALS))
    for one, other in zip(result.characteristics, first.characteristics, strict=True):
        if other.probability_within is not None:
            within = other.probability_within
            chance = 5.0 * np.sqrt(within * (1.0 - within) / TRIALS) + 1e-3
            assert one.probability_within == pytest.approx(within, abs=chance)
            assert other.probability_above is not None
            assert one.probability_above == pytest.approx(other.probability_above, abs=0.02)
    assert alone != pytest.approx(p, abs=1e-3)


def test_few_degrees_of_freedom_make_students_of_the_trials() -> None:
    """Points that scatter four times as much as claimed, with 6 degrees of freedom: U as by
    Student's k, u larger by the root of 6 / 4 (JCGM 101:2008, 6.4.9, from memory)."""
    pose = Pose(stations={"s1": 0.0, "s2": 28.0, "s3": -28.0}, returns={})
    taken = survey(pose.points(), noise=0.4, seed=0)
    first = evaluate(taken, pose.reference())
    assert first.noise_check.verdict == "noisier"
    assert first.noise_check.degrees_of_freedom == 6
    result = evaluate(taken, pose.reference(), Options(monte_carlo=TRIALS, seed=5))
    for one, other in zip(result.characteristics, first.characteristics, strict=True):
        if other.degrees_of_freedom is not None and other.degrees_of_freedom < 6.1:
            assert one.expanded_uncertainty == pytest.approx(other.expanded_uncertainty, rel=0.04)
            ratio = one.standard_uncertainty / other.standard_uncertainty
            # The kurtosis of Student's distribution leaves more to chance: sqrt(5 / (4 N)) = 0.8 %.
            assert ratio == pytest.approx(np.sqrt(6.0 / 4.0), rel=0.06)


def test_a_strongly_curved_survey_is_decided_by_trials_unasked() -> None:
    """u(radius)/radius 0.14: distributions lean, their ends differ from those of first order."""
    taken, reference = small_turn(), SMALL_TURN.reference(head_offset=Tolerance(0.0, -60.0, 60.0))
    never = evaluate(taken, reference, Options(monte_carlo=0))
    assert never.monte_carlo is None
    assert "first_order_only" in [one.code for one in never.warnings]
    result = evaluate(taken, reference)
    codes = [one.code for one in result.warnings]
    assert "by_trials" in codes
    assert "first_order_only" not in codes
    assert result.monte_carlo is not None
    assert result.monte_carlo.needed
    told = distributions(result)
    distance = told["axis_distance"]
    assert not distance.first_order_validated
    middle = (distance.first_order_low + distance.first_order_high) / 2.0
    u = distance.standard_uncertainty
    assert u is not None
    # Curvature is what is measured; the radius is its inverse, and grows further than it shrinks.
    assert distance.mean < middle - 0.03 * u
    assert middle - distance.low > 1.1 * (distance.high - middle)
    verdicts = {one.key: one.verdict for one in result.characteristics}
    assert verdicts["head_offset"] == "within"
    assert verdicts["axis_distance"] == "undecided"
    for one in never.characteristics:
        if one.key == "head_offset":
            assert one.verdict == "undecided"


def test_the_same_seed_gives_the_same_trials_however_many() -> None:
    """A first part of a longer run, even one that ends within a block."""
    assert LEAST_BLOCK % TOGETHER == 0
    reference = SOUND.reference()
    wide = {key: Tolerance(one.nominal) for key, one in reference.characteristics.items()}
    wide["head_twist"] = Tolerance(0.0, None, 0.05)
    reference = Reference(wide, "by_height", materials={"frame": "steel"})

    def above(trials: int, seed: int) -> int:
        result = evaluate(sound(), reference, Options(monte_carlo=trials, seed=seed))
        share = result.characteristics[0].probability_above
        assert share is not None
        return round(share * trials)

    counts = [above(trials, 9) for trials in (300, 4_000, 12_345)]
    assert counts == [above(trials, 9) for trials in (300, 4_000, 12_345)]
    assert counts[0] <= counts[1] <= counts[2]
    assert counts[1] - counts[0] <= 3_700
    assert counts[2] != above(12_345, 10)


def test_trials_end_when_the_digits_asked_for_stand_still() -> None:
    options = Options(monte_carlo=400_000, seed=2, digits=1)
    result = evaluate(sound(), SOUND.reference(), options)
    assert result.monte_carlo is not None
    assert result.monte_carlo.stable is True
    assert result.monte_carlo.trials < 400_000
    assert min(one.digits or 0 for one in result.monte_carlo.characteristics) >= 1
    short = evaluate(sound(), SOUND.reference(), Options(monte_carlo=20_000, seed=2, digits=3))
    assert short.monte_carlo is not None
    assert (short.monte_carlo.trials, short.monte_carlo.stable) == (20_000, False)
    assert (
        evaluate(sound(), SOUND.reference(), Options(monte_carlo=5_000)).monte_carlo
        == evaluate(sound(), SOUND.reference(), Options(monte_carlo=5_000)).monte_carlo
    )


def test_a_set_up_that_moved_stays_undecided_by_trials() -> None:
    points = [(key, place + (3.0 if key[2] == "return" else 0.0)) for key, place in SOUND.points()]
    result = evaluate(survey(points), SOUND.reference(), Options(monte_carlo=2_000))
    assert result.rig_check.verdict == "moved"
    limited = [one for one in result.characteristics if one.probability_within is not None]
    assert limited
    assert {one.verdict for one in limited} == {"undecided"}


def test_trials_without_a_solution_count_and_keep_the_caveat(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Were the damped steps to find nothing, most trials of the curved survey had no answer."""

    def nothing(_block: Turning, unknowns: Floats, *_rest: Floats) -> Refined:
        return Refined(unknowns, np.zeros(unknowns.shape[1], dtype=bool))

    monkeypatch.setattr(solving, "refined", nothing)
    taken, reference = small_turn(), SMALL_TURN.reference(head_offset=Tolerance(0.0, -60.0, 60.0))
    result = evaluate(taken, reference, Options(seed=1))
    told = distributions(result)
    unsolved = told["head_offset"].unsolved
    assert result.monte_carlo is not None
    assert result.monte_carlo.trials / 10 < unsolved < result.monte_carlo.trials
    codes = [one.code for one in result.warnings]
    assert "first_order_only" in codes
    assert "by_trials" not in codes
    (offset,) = (one for one in result.characteristics if one.key == "head_offset")
    assert offset.verdict == "undecided"
    assert offset.probability_within is not None
    assert offset.probability_within <= 1.0 - unsolved / result.monte_carlo.trials
