"""Several surveys of one phase in one result: what is claimed is what happens, and what they share
stays."""

import math
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from scipy import stats

from app.chassis.combining import combined
from app.chassis.evaluate import evaluate
from app.chassis.joint_values import FOLLOWS, told_by_all
from app.chassis.result import Caveat, Result
from app.chassis.sharing import Session
from app.chassis.survey import Options, Reference, Tolerance
from app.demonstration.machine import SOUND
from app.demonstration.machine_survey import measure
from app.demonstration.machine_truth import Terms
from app.demonstration.simulator import Pose, Rig, draw_setup, simulate, truth
from app.errors import Refusal
from tests.simulation.machines import BY_CONTROL, BY_LINE, WHOLE, Measuring

POSE = Pose(head_twist_deg=0.1, head_offset_mm=0.4)
TOLD = Options(shared=True)
REFERENCE = Reference(
    characteristics={
        "head_twist": Tolerance(0.0, -0.3, 0.3),
        "head_offset": Tolerance(0.0, -1.5, 1.5),
        "head_reach": Tolerance(700.0, -2.0, 2.0),
        "head_height": Tolerance(320.0),
    },
    levelling="by_height",
    materials={"frame": "steel"},
    face_squareness_deg=0.5,
)
SHARED_MOST = Rig(offset_u_mm=0.1, scale_u_ppm=200.0, face_squareness_deg=0.5, noise_mm=0.05)
TRUTH = truth(POSE, "by_height", 320.0)
FREE = ("head_twist", "head_offset", "axis_distance", "face_position", "pivot_width")
"""From these all others follow."""
PAIRS = 400


def surveys(rng: np.random.Generator, count: int = 2, rig: Rig = SHARED_MOST) -> list[Result]:
    """Of one machine with one instrument: the same ball, scale and faces, all else anew."""
    setups = [draw_setup(POSE, rig, rng) for _ in range(count)]
    first = setups[0]
    alike = [
        replace(s, ball_error=first.ball_error, scale_error=first.scale_error, tilt=first.tilt)
        for s in setups
    ]
    return [evaluate(simulate(POSE, rig, rng, setup).survey, REFERENCE, TOLD) for setup in alike]


def sharing(results: list[Result]) -> list[Session]:
    return [Session(result, "arm", "rig", "machine", "day") for result in results]


def independent(results: list[Result]) -> list[Session]:
    return [Session(result) for result in results]


def moved_by(result: Result, key: str, sigmas: float) -> Result:
    """The survey as if it had read one characteristic wrong, and all that goes with it."""
    row = result.covariance_keys.index(key)
    u = np.sqrt(result.covariance.diagonal())
    shift = sigmas * result.covariance[row] / u[row]
    items = [
        item._replace(value=item.value + float(by))
        for item, by in zip(result.characteristics, shift, strict=True)
    ]
    return result._replace(characteristics=tuple(items))


def u_of(result: Result, key: str) -> float:
    return next(i.standard_uncertainty for i in result.characteristics if i.key == key)


def errors(result: Result) -> np.ndarray:
    value = {item.key: item.value for item in result.characteristics}
    return np.array([value[key] - TRUTH[key] for key in FREE])


def test_combined_values_of_many_pairs_have_the_covariance_that_is_claimed() -> None:
    rng = np.random.default_rng(5)
    whitened, refused = [], 0
    for _ in range(PAIRS):
        try:
            result = combined(sharing(surveys(rng)), REFERENCE).result
        except Refusal as refusal:
            refused += refusal.code == "combine_disagrees"
            continue
        places = [result.covariance_keys.index(key) for key in FREE]
        root = np.linalg.cholesky(result.covariance[np.ix_(places, places)])
        whitened.append(np.linalg.solve(root, errors(result)))
    found = np.array(whitened)
    # Each mean square of n normal numbers of unit variance has a standard deviation sqrt(2 / n).
    spread = found.T @ found / len(found)
    assert np.abs(spread - np.eye(len(FREE))).max() < 4.0 * np.sqrt(2.0 / len(found))
    # One pair in a thousand is refused by chance: seven or more in 400 once in 2e-7.
    assert refused < stats.binom.isf(1e-6, PAIRS, 0.001)


def test_surveys_that_share_nothing_are_averaged_down_by_the_root_of_their_number() -> None:
    result = surveys(np.random.default_rng(6), 1)[0]
    many = combined(independent([result] * 4), REFERENCE).result
    for item in many.characteristics:
        assert item.standard_uncertainty == pytest.approx(u_of(result, item.key) / 2.0, rel=1e-6)
        assert item.value == pytest.approx(
            next(i.value for i in result.characteristics if i.key == item.key), abs=1e-9
        )


def test_what_the_surveys_share_is_not_averaged_down() -> None:
    """One probe whose radius is known to 0.1 mm: the width keeps twice that, however often it is
    measured (the ball's error counts on either side)."""
    results = surveys(np.random.default_rng(7), 12)
    together = combined(sharing(results), REFERENCE).result
    apart = combined(independent(results), REFERENCE).result
    assert u_of(together, "pivot_width") > 0.2
    assert u_of(apart, "pivot_width") < 0.12
    cause = together.shared.causes.index("instrument_offset")
    row = together.covariance_keys.index("pivot_width")
    assert abs(together.shared.derivatives[row, cause]) == pytest.approx(0.2, rel=0.01)


def test_another_instrument_halves_what_one_instrument_cannot() -> None:
    results = surveys(np.random.default_rng(8), 2)
    one = combined(sharing(results), REFERENCE).result
    other = [
        Session(r, name, "rig", "machine", "day") for r, name in zip(results, "ab", strict=True)
    ]
    two = combined(other, REFERENCE).result
    assert u_of(two, "pivot_width") < 0.85 * u_of(one, "pivot_width")
    assert "instrument_offset" in one.shared.causes
    assert "instrument_offset" not in two.shared.causes


def test_levelled_values_go_with_the_distances_that_they_follow_from() -> None:
    result = combined(sharing(surveys(np.random.default_rng(9), 3)), REFERENCE).result
    value = {item.key: item.value for item in result.characteristics}
    size = np.hypot(value["axis_distance"], value["face_position"])
    assert value["head_height"] == 320.0
    # Only the mean of curved functions lies beside the function of the mean, by far less than u.
    assert value["head_reach"] == pytest.approx(np.sqrt(size**2 - 320.0**2), abs=2e-3)
    assert u_of(result, "head_height") == 0.0


@pytest.mark.parametrize("key", ["head_twist", "head_offset", "axis_distance"])
def test_a_disagreement_of_five_sigma_is_refused_with_its_characteristic(key: str) -> None:
    rng = np.random.default_rng(10)
    one, other = surveys(rng)
    # Between two surveys that share nothing, u of the difference is u times the root of two.
    wrong = moved_by(moved_by(other, key, _back(one, other, key)), key, 5.0 * np.sqrt(2.0) + 0.01)
    with pytest.raises(Refusal) as refused:
        combined(independent([one, wrong]), REFERENCE)
    assert refused.value.code == "combine_disagrees"
    assert refused.value.facts["key"] == key
    assert refused.value.facts["survey"] in (1, 2)


def _back(one: Result, other: Result, key: str) -> float:
    """By how many of its own u the other must move to agree with the first in one value."""
    row = one.covariance_keys.index(key)
    apart = other.characteristics[row].value - one.characteristics[row].value
    return -apart / float(np.sqrt(other.covariance[row, row]))


def test_the_odd_one_out_of_three_is_named() -> None:
    one, two, three = surveys(np.random.default_rng(11), 3)
    with pytest.raises(Refusal) as refused:
        combined(sharing([one, moved_by(two, "head_offset", 9.0), three]), REFERENCE)
    assert (refused.value.facts["survey"], refused.value.facts["key"]) == (2, "head_offset")


def test_the_verdict_rests_on_the_combined_uncertainty() -> None:
    """One survey leaves it open; four together decide."""
    tight = replace(
        REFERENCE, characteristics={"head_twist": Tolerance(0.1, -0.036, 0.036)}, levelling=None
    )
    rng = np.random.default_rng(12)
    results = [evaluate(simulate(POSE, SHARED_MOST, rng).survey, tight, TOLD) for _ in range(4)]
    assert {result.finding.verdict for result in results} == {"undecided"}
    together = combined(independent(results), tight)
    assert together.result.finding.verdict == "within"
    assert together.surveys == 4
    assert together.consistency is not None
    assert together.consistency.statistic < together.consistency.limit


def test_what_one_survey_has_reason_to_leave_undecided_stays_so() -> None:
    """Four surveys would decide; but one of them says that first order does not suffice."""
    tight = replace(
        REFERENCE, characteristics={"head_twist": Tolerance(0.1, -0.036, 0.036)}, levelling=None
    )
    rng = np.random.default_rng(12)
    results = [evaluate(simulate(POSE, SHARED_MOST, rng).survey, tight, TOLD) for _ in range(4)]
    doubtful = results[1]._replace(warnings=(Caveat("first_order_only"),))
    together = combined(independent([results[0], doubtful, *results[2:]]), tight).result
    assert together.finding.verdict == "undecided"
    assert Caveat("first_order_only") in together.warnings


def test_a_verdict_that_was_withheld_is_not_given_by_combining() -> None:
    """Its own numbers would have decided: a face in doubt, or two estimates that contradict."""
    rng = np.random.default_rng(18)
    one, other = surveys(rng)
    withheld = one._replace(
        characteristics=tuple(
            i._replace(verdict="undecided") if i.key == "head_twist" else i
            for i in one.characteristics
        )
    )
    verdicts = {
        item.key: item.verdict
        for item in combined(sharing([withheld, other]), REFERENCE).result.characteristics
    }
    assert verdicts["head_twist"] == "undecided"
    assert verdicts["head_offset"] == "within"


def test_shares_of_the_budget_add_up_and_name_what_is_shared() -> None:
    result = combined(sharing(surveys(np.random.default_rng(13), 3)), REFERENCE).result
    for item in result.characteristics:
        if item.standard_uncertainty > 0.0:
            assert sum(share.share for share in item.budget) == pytest.approx(1.0, abs=1e-9)
    width = next(item for item in result.characteristics if item.key == "pivot_width")
    assert width.budget[0].source == "instrument_offset"


Alter = Callable[[Result], Result]


@pytest.mark.parametrize(
    ("alter", "code", "what"),
    [
        (
            lambda r: r._replace(rig_check=r.rig_check._replace(verdict="moved")),
            "combine_moved",
            None,
        ),
        (lambda r: r._replace(levelling="by_angle"), "combine_differs", "levelling"),
        (lambda r: r._replace(levelled_by=("seat_rear",)), "combine_differs", "levelling"),
        (lambda r: r._replace(threshold=0.9), "combine_differs", "reference"),
        (
            lambda r: r._replace(
                characteristics=(r.characteristics[0]._replace(upper=0.5), *r.characteristics[1:])
            ),
            "combine_differs",
            "reference",
        ),
    ],
)
def test_what_does_not_belong_together_is_refused(
    alter: Alter, code: str, what: str | None
) -> None:
    one, other = surveys(np.random.default_rng(14))
    with pytest.raises(Refusal) as refused:
        combined(sharing([one, alter(other)]), REFERENCE)
    assert refused.value.code == code
    assert refused.value.facts.get("what") == what
    assert refused.value.facts["survey"] == 2


def test_a_result_that_does_not_tell_what_it_shares_is_a_mistake_of_the_program() -> None:
    silent = evaluate(simulate(POSE, SHARED_MOST, np.random.default_rng(17)).survey, REFERENCE)
    with pytest.raises(ValueError, match="shared=True"):
        combined(sharing([silent, silent]), REFERENCE)


def test_one_survey_is_nothing_to_combine() -> None:
    with pytest.raises(Refusal) as refused:
        combined(sharing(surveys(np.random.default_rng(15), 1)), REFERENCE)
    assert refused.value.code == "combine_too_few"


def test_surveys_that_measured_different_things_complete_each_other() -> None:
    """A second survey without the head face adds to the axes; the head's own stay as they are."""
    rng = np.random.default_rng(16)
    whole = surveys(rng, 1)[0]
    bare = evaluate(
        simulate(POSE, replace(SHARED_MOST, head_face_points=0), rng).survey, REFERENCE, TOLD
    )
    bare = bare._replace(levelling=whole.levelling)
    result = combined(independent([whole, bare]), REFERENCE).result
    assert set(result.covariance_keys) == set(whole.covariance_keys)
    assert u_of(result, "head_twist") < 0.8 * u_of(whole, "head_twist")
    assert u_of(result, "head_offset") < u_of(whole, "head_offset")


def test_what_follows_in_one_survey_is_left_out_of_all() -> None:
    """What follows from another characteristic only just in one survey, and only just not in the
    other, must not be told by one of them alone."""
    covariance = np.zeros((4, 4))
    for session, left in enumerate((0.5 * FOLLOWS, 2.0 * FOLLOWS)):
        block, together = 2 * session, math.sqrt(1.0 - left)
        covariance[block : block + 2, block : block + 2] = [[1.0, together], [together, 1.0]]
    keys = ["reach", "angle", "reach", "angle"]
    assert told_by_all(keys, [0, 0, 1, 1], covariance) == {"reach"}
    apart = covariance.copy()
    apart[0, 1] = apart[1, 0] = 0.5
    assert told_by_all(keys, [0, 0, 1, 1], apart) == {"reach", "angle"}


@pytest.mark.parametrize("terms", [BY_CONTROL, BY_LINE])
def test_what_is_combined_is_never_known_worse_than_in_the_better_survey(terms: Terms) -> None:
    """The levelled characteristics of both are told by the same ones, however nearly one of them
    follows from the others in one of the surveys."""
    measuring = Measuring(WHOLE.extent, terms)
    for seed in range(6):
        rng = np.random.default_rng(seed)
        surveys = [measure(SOUND, WHOLE.extent, rng).survey for _ in range(2)]
        results = [evaluate(one, measuring.reference, TOLD) for one in surveys]
        sessions = [Session(result, "arm", "rig", "machine", None) for result in results]
        joint = combined(sessions, measuring.reference)
        alone = [{i.key: i.standard_uncertainty for i in r.characteristics} for r in results]
        for item in joint.result.characteristics:
            best = min(known[item.key] for known in alone if item.key in known)
            assert item.standard_uncertainty <= best * (1.0 + 1e-6), item.key
