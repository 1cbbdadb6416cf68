"""The words of the steps: every step of every reference has a name and something to do."""

import json

import pytest

from app import resources
from app.chassis import sequence
from app.chassis.sequence import Again, Step
from app.chassis.survey import FEATURES, Reference
from app.schemas.reading import reference_from
from app.services.solving import reference_to_engine
from app.wording import steps as words
from app.wording.cautions import CAUTIONS

PAUSED = (Again(1, ("temperature", "pivot.left", "pivot.right", "station")),)


def reference(name: str) -> Reference:
    document = json.loads((resources.seed_data() / name).read_text())
    return reference_to_engine(reference_from(document))


def all_steps() -> list[Step]:
    """Steps of a small and a full reference, in every phase, with a pause in between."""
    return [
        step
        for name in ("reference.json", "full-reference.json")
        for phase in ("before", "during", "after")
        for step in sequence.steps(reference(name), phase, again=PAUSED)
    ]


@pytest.mark.parametrize("phase", ["before", "during", "after"])
@pytest.mark.parametrize("name", ["reference.json", "full-reference.json"])
def test_no_two_steps_of_a_measurement_are_called_the_same(name: str, phase: str) -> None:
    names = [words.name(step) for step in sequence.steps(reference(name), phase)]
    assert sorted(set(names)) == sorted(names)


def test_every_step_has_a_name_of_words_and_says_what_to_do() -> None:
    for step in all_steps():
        name = words.name(step)
        assert name[:1].isupper(), name
        assert "_" not in name
        assert "{" not in name
        said = words.to_do(step)
        assert said, step
        assert all(sentence.endswith((".", ":")) for sentence in said), said


def test_every_feature_and_every_group_has_its_words() -> None:
    assert words.NAMES.keys() | {"steer_target"} >= FEATURES
    assert {step.group for step in all_steps()} | {"beside"} == words.GROUPS.keys()
    assert {step.kind for step in all_steps()} <= words.TO_DO.keys()


def test_returns_are_said_to_be_the_same_place_once_more() -> None:
    step = next(s for s in all_steps() if s.code == "return.pivot.left")
    assert words.name(step) == "Once more: pivot axis, left end"
    assert words.to_do(step)[-1].startswith("The very same place")
    ahead = next(s for s in all_steps() if s.code == "return.station")
    assert words.name(ahead) == "Once more: one station of the steering"
    assert "whichever is found most easily" in words.to_do(ahead)[0]


def test_a_station_says_how_far_to_turn_and_which_way() -> None:
    by_code = {step.code: step for step in all_steps()}
    assert words.to_do(by_code["station.left"])[0] == (
        "Turn the steering about 30° to the left and let it rest."
    )
    assert words.to_do(by_code["station.half_right"])[0] == (
        "Turn the steering about 15° to the right and let it rest."
    )
    assert "straight ahead" in words.to_do(by_code["station.ahead"])[0]


def test_a_station_of_another_name_is_told_by_it() -> None:
    assert words.station("third_notch") == "Steering at station third notch"


def test_a_temperature_after_a_pause_is_no_return() -> None:
    step = next(s for s in all_steps() if s.code == "again1.temperature")
    assert words.name(step) == "Temperature of the part"
    assert not words.repeats(step)


def test_cautions_stand_where_they_matter() -> None:
    by_code = {step.code: step for step in all_steps()}
    first = words.cautions_at(by_code["cautions"], "before")
    assert CAUTIONS[5] in first
    assert CAUTIONS[4] not in first
    assert CAUTIONS[4] in words.cautions_at(by_code["cautions"], "during")
    assert words.cautions_at(by_code["visual_check"], "before") == (CAUTIONS[1],)
    assert words.cautions_at(by_code["head_face"], "before") == ()


def test_points_are_named_by_target_or_end_and_not_by_the_steps_own_label() -> None:
    by_code = {step.code: step for step in all_steps()}
    assert words.point(by_code["station.left"], "upper") == "upper"
    assert words.point(by_code["pivot.left"], "left") == ""
    assert words.point(by_code["fork_leg.left"], "lower") == "lower end"
    assert words.point(by_code["head_face"], None) == ""
