"""`jigbook.survey/1`: what may be sent is taken whole, and what hangs together is checked."""

from typing import Any

import pytest

from app.chassis.survey import FEATURES
from app.errors import BadInput
from app.schemas.points import LABELS, NAMED, WITH_NORMAL
from app.schemas.reading import survey_from
from tests.schemas.examples import SURVEY, survey, with_value

POINT = {"x": 1.0, "y": 2.0, "z": 3.0, "u": 0.1}


def problems_of(*points: dict[str, Any], **more: object) -> list[tuple[str, str]]:
    sent = {"format": "jigbook.survey/1", "points": [{**POINT, **p} for p in points], **more}
    try:
        survey_from(sent)
    except BadInput as error:
        return [(problem.code, problem.field) for problem in error.problems]
    return []


def test_every_key_of_the_format_is_taken_and_kept() -> None:
    taken = survey_from(SURVEY)
    kept = taken.model_dump(mode="json", exclude_unset=True)
    assert kept == with_value(
        SURVEY, ("rig", "target_spacing_mm"), [["upper", "lower", 200.0, 0.05]]
    )


def test_format_and_points_alone_are_needed() -> None:
    assert problems_of({"feature": "pivot"}) == []


def test_every_feature_of_the_engine_is_taken_with_a_label_that_fits() -> None:
    labels = {"pair": "tail.left", **dict.fromkeys(NAMED - {"pair"}, "name")}
    labels |= {feature: allowed[0] for feature, allowed in LABELS.items()}
    points = [
        {"feature": f, "label": labels.get(f), "station": "s1" if f == "steer_target" else None}
        for f in sorted(FEATURES)
    ]
    assert problems_of(*points) == []


@pytest.mark.parametrize(
    ("point", "code", "field"),
    [
        ({"feature": "pivo"}, "unknown_feature", "points.0.feature"),
        ({"feature": "pivot_face", "label": "top"}, "wrong_label", "points.0.label"),
        ({"feature": "pivot_face"}, "wrong_label", "points.0.label"),
        ({"feature": "steer_target", "station": "s1"}, "label_missing", "points.0.label"),
        ({"feature": "steer_target", "label": "a"}, "station_missing", "points.0.station"),
        ({"feature": "pair", "label": "tail"}, "pair_without_side", "points.0.label"),
        ({"feature": "pair", "label": "tail.up"}, "pair_without_side", "points.0.label"),
        ({"feature": "control", "label": "a.left"}, "not_a_name", "points.0.label"),
        ({"feature": "control", "label": "A b"}, "not_a_name", "points.0.label"),
        ({"feature": "pivot", "offset": 3.0}, "offset_without_normal", "points.0.offset"),
        ({"feature": "pivot", "offset": 0.0}, "offset_without_normal", "points.0.offset"),
        ({"feature": "pivot", "turn": "left"}, "turn_without_steering", "points.0.turn"),
        ({"feature": "head_face", "offset": -1.0}, "too_small", "points.0.offset"),
        ({"feature": "pivot", "u": 0.0}, "too_small", "points.0.u"),
        ({"feature": "pivot", "u": None}, "no_uncertainty", "points.0.u"),
        ({"feature": "pivot", "x": True}, "wrong_type", "points.0.x"),
        ({"feature": "pivot", "x": "1.0"}, "wrong_type", "points.0.x"),
        ({"feature": "pivot", "x": 1e8}, "too_large", "points.0.x"),
    ],
)
def test_a_point_that_does_not_fit_its_feature_is_refused(
    point: dict[str, Any], code: str, field: str
) -> None:
    assert problems_of(point) == [(code, field)]


def test_an_offset_is_taken_where_there_is_a_surface() -> None:
    for feature in sorted(WITH_NORMAL):
        label = LABELS.get(feature, (None,))[0]
        assert problems_of({"feature": feature, "label": label, "offset": 3.0}) == []


def test_every_point_without_uncertainty_is_named_unless_the_instrument_has_one() -> None:
    without: dict[str, Any] = {"feature": "pivot", "u": None}
    points = [without, {"feature": "pivot"}, without]
    assert problems_of(*points) == [
        ("no_uncertainty", "points.0.u"),
        ("no_uncertainty", "points.2.u"),
    ]
    assert problems_of(*points, instrument={"standard_uncertainty_mm": 0.1}) == []


def test_a_covariance_stands_for_the_uncertainty() -> None:
    cov = [0.01, 0.0, 0.0, 0.01, 0.0, 0.01]
    assert problems_of({"feature": "pivot", "u": None, "cov": cov}) == []
    assert problems_of({"feature": "pivot", "u": None, "cov": cov[:5]}) == [
        ("missing", "points.0.cov.5")
    ]


def test_upward_needs_a_direction() -> None:
    assert problems_of({"feature": "pivot"}, up=[0, 0, 0]) == [("up_without_direction", "up")]
    assert problems_of({"feature": "pivot"}, up=[0, 0, -0.5]) == []


@pytest.mark.parametrize(
    ("path", "value", "code"),
    [
        (("measured_at",), "2026-03-02T09:40:00", "time_without_zone"),
        (("measured_at",), "2026-03-02", "time_without_zone"),
        (("measured_at",), 1_770_000_000, "wrong_type"),
        (("measured_at",), "yesterday", "not_a_moment"),
        (("instrument", "calibrated"), 20260110, "wrong_type"),
        (("instrument", "calibrated"), "10.01.2026", "not_a_day"),
        (("phase",), "later", "not_one_of"),
        (("after_ride_in",), "yes", "wrong_type"),
        (("after_ride_in",), 1, "wrong_type"),
        (("by",), "a\nb", "not_printable"),
        (("by",), "", "text_empty"),
        (("by",), "x" * 201, "text_too_long"),
        (("by",), 3, "wrong_type"),
        (("rig", "target_spacing_mm"), [["upper", "lower", -200.0, 0.05]], "too_small"),
        (("rig", "target_spacing_mm"), [["upper", "lower", 200.0]], "missing"),
    ],
)
def test_a_field_of_the_wrong_kind_is_refused_by_its_code(
    path: tuple[str | int, ...], value: object, code: str
) -> None:
    with pytest.raises(BadInput) as caught:
        survey_from(with_value(survey(), path, value))
    assert caught.value.code == code
    assert caught.value.problems[0].field.startswith(".".join(map(str, path)))
