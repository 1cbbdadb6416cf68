"""`jigbook.reference/1`: taken whole, and refused where its tolerances could say nothing."""

from typing import Any

import pytest

from app.errors import BadInput
from app.schemas.characteristic_keys import NAMED_KEYS, PLAIN_KEYS, unit_of
from app.schemas.reading import reference_from
from tests.schemas.examples import REFERENCE


def problems_of(characteristics: dict[str, Any], **more: object) -> list[tuple[str, str]]:
    sent = {"format": "jigbook.reference/1", "characteristics": characteristics, **more}
    try:
        reference_from(sent)
    except BadInput as error:
        return [(problem.code, problem.field) for problem in error.problems]
    return []


LIMITS = {"nominal": 0.0, "lower": -1.0, "upper": 1.0}
CONTROL = {"control_points": {"mount": [410.0, 120.0, 95.0]}}


def test_every_key_of_the_format_is_taken_and_kept() -> None:
    assert reference_from(REFERENCE).model_dump(mode="json", exclude_unset=True) == REFERENCE


def test_format_and_characteristics_alone_are_needed() -> None:
    assert problems_of({}) == []


@pytest.mark.parametrize(
    "key",
    ["head_twistt", "", "pair_roll", "pair_roll.", "pair_roll.a.b", "control.mount", "control.a.w",
     "distance.a", "head_twist.x", "Head_twist", "control.A.x", "pivot"],
)  # fmt: skip
def test_a_key_that_names_no_characteristic_is_refused(key: str) -> None:
    assert unit_of(key) is None
    assert [code for code, _ in problems_of({key: {"nominal": 1.0}})] == ["unknown_characteristic"]


def test_every_known_key_is_taken() -> None:
    keys = [*PLAIN_KEYS, *(f"{key}.name" for key in NAMED_KEYS), "distance.a.b", "control.mount.x"]
    for key in keys:
        line = {} if key.startswith("control") else {"nominal": 1.0}
        assert problems_of({key: line}, **CONTROL) == [], key


@pytest.mark.parametrize(
    ("characteristics", "more", "expected"),
    [
        ({"head_twist": {**LIMITS, "lower": 2.0}}, {}, "limits_crossed"),
        ({"head_twist": {"lower": -1.0}}, {}, "limit_without_nominal"),
        ({"control.mount.y": {"lower": -1.0}}, {}, "control_point_missing"),
        ({"control.mount.y": {"nominal": 3.0}}, CONTROL, "control_nominal"),
        ({}, {"control_weights": {"mount": 1.0}}, "control_point_missing"),
        ({"head_height": LIMITS}, {"levelling": "by_height"}, "tolerance_on_levelled"),
        ({"head_angle": LIMITS}, {"levelling": "by_angle"}, "tolerance_on_levelled"),
        ({"head_angle": {"nominal": 25.0, "required": True}}, {"levelling": "by_angle"},
         "tolerance_on_levelled"),
        ({"control.mount.x": {"lower": -1.0, "upper": 1.0}}, {"levelling": "by_height", **CONTROL},
         "control_needs_own_levelling"),
        ({"control.mount.z": {"required": True}}, {"levelling": "by_angle", **CONTROL},
         "control_needs_own_levelling"),
        ({}, {"materials": {"frame": "titanium"}}, "expansion_missing"),
        ({}, {"materials": {"seat": "steel"}}, "not_one_of"),
        ({}, {"levelling": "by_eye"}, "not_one_of"),
        ({}, {"provenance": {"detail": "x"}}, "missing"),
        ({}, {"face_squareness_deg": 0.0}, "too_small"),
    ],
)  # fmt: skip
def test_a_reference_that_could_say_nothing_is_refused(
    characteristics: dict[str, Any], more: dict[str, Any], expected: str
) -> None:
    assert [code for code, _ in problems_of(characteristics, **more)] == [expected]


@pytest.mark.parametrize(
    ("characteristics", "more"),
    [
        ({"head_height": {"nominal": 600.0}}, {"levelling": "by_height"}),
        ({"head_height": LIMITS}, {"levelling": "by_angle"}),
        ({"control.mount.y": {"lower": -1.0}}, {"levelling": "by_height", **CONTROL}),
        ({"control.mount.x": {"lower": -1.0}}, {"levelling": "by_line", **CONTROL}),
        ({"control.mount.x": {"lower": -1.0, "required": False}},
         {"levelling": "by_height", **CONTROL}),
        ({}, {"materials": {"frame": "titanium"}, "expansion_per_k": {"frame": [8.6e-6, 1e-6]}}),
        ({"head_twist": {"nominal": 0.0, "upper": 1.0}}, {}),
    ],
)  # fmt: skip
def test_a_reference_that_says_something_is_taken(
    characteristics: dict[str, Any], more: dict[str, Any]
) -> None:
    assert problems_of(characteristics, **more) == []
