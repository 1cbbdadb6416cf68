"""The change between two surveys: what both share drops out of its uncertainty, nothing else."""

from dataclasses import replace

import numpy as np
import pytest

from app.chassis.change import Changed, change
from app.chassis.combining import combined
from app.chassis.evaluate import evaluate
from app.chassis.result import Result
from app.chassis.sharing import Session
from app.chassis.survey import Options, Reference, Tolerance
from app.demonstration.simulator import Pose, Rig, draw_setup, simulate, truth
from app.errors import Refusal

BENT = Pose(head_twist_deg=0.4, head_offset_mm=-1.8, head_reach_mm=696.0)
PULLED = Pose(head_twist_deg=0.1, head_offset_mm=-0.3, head_reach_mm=699.5)
RIG = Rig(offset_u_mm=0.1, scale_u_ppm=400.0, face_squareness_deg=0.5, noise_mm=0.05)
TOLD = Options(shared=True)
REFERENCE = Reference(
    characteristics={"head_height": Tolerance(320.0)},
    levelling="by_height",
    materials={"frame": "steel"},
    face_squareness_deg=0.5,
)
PAIRS = 400


def before_and_after(rng: np.random.Generator, *, same: bool = True) -> tuple[Session, Session]:
    """With one instrument on one machine; the arms and faces are its own all the time."""
    one, other = draw_setup(BENT, RIG, rng), draw_setup(PULLED, RIG, rng)
    other = replace(other, tilt=one.tilt)
    if same:
        other = replace(other, ball_error=one.ball_error, scale_error=one.scale_error)
    names = ("arm", "arm") if same else ("arm", "another")
    surveys = simulate(BENT, RIG, rng, one).survey, simulate(PULLED, RIG, rng, other).survey
    first, second = (
        Session(evaluate(survey, REFERENCE, TOLD), name, None, "machine")
        for survey, name in zip(surveys, names, strict=True)
    )
    return first, second


def by_key(changes: tuple[Changed, ...]) -> dict[str, Changed]:
    return {one.key: one for one in changes}


def u_of(result: Result, key: str) -> float:
    return next(i.standard_uncertainty for i in result.characteristics if i.key == key)


@pytest.mark.parametrize("same", [True, False])
def test_changes_scatter_about_the_true_one_as_their_uncertainty_says(same: bool) -> None:
    rng = np.random.default_rng(21)
    true = {
        key: after - before
        for (key, before), after in zip(
            truth(BENT, "by_height", 320.0).items(),
            truth(PULLED, "by_height", 320.0).values(),
            strict=True,
        )
    }
    pulls: dict[str, list[float]] = {}
    for _ in range(PAIRS):
        before, after = before_and_after(rng, same=same)
        if "moved" in (before.result.rig_check.verdict, after.result.rig_check.verdict):
            continue
        for one in change(before, after):
            error = one.change - true[one.key]
            pulls.setdefault(one.key, []).append(error / one.standard_uncertainty)
    assert set(pulls) == set(true) - {"head_height"}
    for key, found in pulls.items():
        # The root mean square of n has a standard deviation of 1 / sqrt(2 n).
        spread = np.sqrt(np.mean(np.square(found)))
        assert spread == pytest.approx(1.0, abs=4.0 / np.sqrt(2.0 * len(found))), key


def test_what_one_instrument_reads_wrong_twice_drops_out() -> None:
    """400 ppm of 770 mm is 0.3 mm: most of u(axis_distance) here, and none of its change's."""
    before, after = before_and_after(np.random.default_rng(22))
    other = before_and_after(np.random.default_rng(22), same=False)
    mine, its = by_key(change(before, after)), by_key(change(*other))
    both = np.hypot(u_of(before.result, "axis_distance"), u_of(after.result, "axis_distance"))
    assert mine["axis_distance"].standard_uncertainty < 0.4 * both
    assert its["axis_distance"].standard_uncertainty == pytest.approx(both, rel=0.02)


def test_another_machine_shares_no_faces() -> None:
    before, after = before_and_after(np.random.default_rng(23))
    same = by_key(change(before, after))
    apart = by_key(change(before, after._replace(machine="another")))
    assert apart["face_position"].standard_uncertainty != same["face_position"].standard_uncertainty


def test_a_change_tells_which_way_and_whether_it_can_be_seen() -> None:
    before, after = before_and_after(np.random.default_rng(24))
    found = by_key(change(before, after))
    twist, offset, width = (found[k] for k in ("head_twist", "head_offset", "pivot_width"))
    assert twist.significant
    assert twist.change == pytest.approx(-0.3, abs=0.1)
    assert twist.sense_code == "anticlockwise_from_behind"
    assert offset.significant
    assert offset.sense_code == "head_to_the_left"
    assert offset.after - offset.before == pytest.approx(offset.change, abs=1e-12)
    assert not width.significant
    assert width.expanded_uncertainty == pytest.approx(
        width.coverage_factor * width.standard_uncertainty
    )
    assert "head_height" not in found


def test_nothing_changed_between_a_survey_and_itself() -> None:
    """Not even the noise: but that is not known to be shared, so an uncertainty stays."""
    before, _ = before_and_after(np.random.default_rng(25))
    for one in change(before, before):
        assert one.change == 0.0
        assert not one.significant
        assert one.standard_uncertainty > 0.0


def test_combined_surveys_can_be_compared_as_well() -> None:
    rng = np.random.default_rng(26)
    one, after = before_and_after(rng)
    again = evaluate(simulate(BENT, RIG, rng).survey, REFERENCE, TOLD)
    together = combined([one, Session(again, "arm", None, "machine")], REFERENCE).result
    joined = Session(together, "arm", None, "machine")
    found, alone = by_key(change(joined, after)), by_key(change(one, after))
    twist = found["head_twist"].standard_uncertainty
    assert twist < alone["head_twist"].standard_uncertainty


def test_a_survey_whose_set_up_moved_tells_no_change() -> None:
    before, after = before_and_after(np.random.default_rng(27))
    check = after.result.rig_check._replace(verdict="moved")
    with pytest.raises(Refusal) as refused:
        change(before, after._replace(result=after.result._replace(rig_check=check)))
    assert refused.value.code == "change_moved"
    assert refused.value.facts["phase"] == "after"


def test_surveys_levelled_otherwise_tell_no_change() -> None:
    before, after = before_and_after(np.random.default_rng(28))
    other = after._replace(result=after.result._replace(levelling="by_angle"))
    with pytest.raises(Refusal) as refused:
        change(before, other)
    assert refused.value.code == "change_differs"
