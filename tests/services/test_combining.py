"""Which measurements share what is decided by names: cautiously either way."""

from typing import Any

import pytest

from app.errors import Refusal
from app.schemas.reading import reference_from, survey_from
from app.schemas.result import ResultOut
from app.services import combining
from app.services.combining import Measured
from tests.services.documents import reference_document, survey_document

FIGURES = {
    "standard_uncertainty_mm": 0.1,
    "offset_u_mm": 0.1,
    "scale_u_ppm": 300.0,
    "probe_radius_mm": 3.0,
}
REFERENCE = reference_from(reference_document())


def measured(
    seed: int,
    name: str | None = None,
    phase: str = "before",
    spacing_mm: float | None = None,
    **more: Any,
) -> Measured:
    """A sound chassis, measured with an instrument of that name (and calibration)."""
    instrument = {**FIGURES, **({} if name is None else {"name": name}), **more}
    document = {**survey_document(seed=seed, instrument=instrument), "phase": phase}
    if spacing_mm is not None:
        document["rig"] = {"target_spacing_mm": [["lower", "upper", spacing_mm, 0.4]]}
    return combining.evaluated(survey_from(document), REFERENCE)


def u_of(result: ResultOut, key: str) -> float:
    found = {one["key"]: one["standard_uncertainty"] for one in result["characteristics"]}
    return found[key]


def combined_u(*names: str | None, key: str = "pivot_width") -> float:
    parts = [measured(seed, name) for seed, name in enumerate(names, 1)]
    return u_of(combining.combine(parts, REFERENCE), key)


def change_u(one: Measured, other: Measured, key: str = "pivot_width") -> float:
    changes = combining.change(one, other)["characteristics"]
    return next(item["standard_uncertainty"] for item in changes if item["key"] == key)


def test_an_instrument_without_a_name_counts_as_that_of_the_others() -> None:
    """Else its ball's error would be averaged down with itself."""
    same = combined_u("arm 2", "arm 2")
    assert combined_u("arm 2", None) == pytest.approx(same)
    assert combined_u(None, None) == pytest.approx(same)
    assert combined_u("arm 2", "arm 3") < 0.85 * same


def test_of_a_change_only_what_is_surely_the_same_drops_out() -> None:
    before, after = measured(1, "arm 2"), measured(2, "arm 2", "after")
    same = change_u(before, after)
    for other in (
        measured(2, "arm 3", "after"),
        measured(2, None, "after"),
        measured(2, "arm 2", "after", calibrated="2026-02-20"),
    ):
        assert change_u(before, other) > 1.3 * same
    assert combining.change(before, after)["same_instrument"] is True
    unnamed = combining.change(measured(1), measured(2, None, "after"))
    assert unnamed["same_instrument"] is False


def test_one_bracket_is_known_by_its_spacing() -> None:
    """Its length's error is one error in both; another bracket's is its own."""
    length = _distance_of_targets()
    parts = [
        measured(seed, "arm 2", spacing_mm=round(length + shift, 3))
        for seed, shift in ((1, 0.0), (2, 0.0), (2, 0.01))
    ]
    keys = parts[0].result.shared.causes
    assert "target_spacing.lower.upper" in keys
    one = combining.combine(parts[:2], REFERENCE)
    two = combining.combine([parts[0], parts[2]], REFERENCE)
    assert "target_spacing.lower.upper" in one["shared"]["causes"]
    assert "target_spacing.lower.upper" not in two["shared"]["causes"]


def _distance_of_targets() -> float:
    points = survey_document()["points"]
    upper, lower = (
        next(p for p in points if p.get("label") == name and p.get("station") == "1")
        for name in ("upper", "lower")
    )
    return float(sum((upper[axis] - lower[axis]) ** 2 for axis in "xyz") ** 0.5)


def test_a_combined_result_says_what_it_was_made_of() -> None:
    parts = [measured(seed, "arm 2") for seed in (1, 2, 3)]
    result = combining.combine(parts, REFERENCE, "the reference")
    assert result["format"] == "jigbook.result/1"
    assert result["combined"]["surveys"] == 3
    assert result["combined"]["degrees_of_freedom"] == 10
    assert result["combined"]["sentence"].startswith("3 measurements combined by weight")
    assert "the reference" in result["finding"]["sentence"]
    assert result["handling"] == {}


def test_what_was_combined_is_compared_as_one() -> None:
    befores = [measured(seed, "arm 2") for seed in (1, 2)]
    after = measured(3, "arm 2", "after")
    joined = combining.joined(befores, REFERENCE)
    key = "head_twist"
    assert change_u(joined, after, key) < 0.9 * change_u(befores[0], after, key)


@pytest.mark.parametrize(
    ("phases", "code", "survey"),
    [
        (("before", "after"), "combine_differs", 2),
        (("after", "after", "during"), "combine_differs", 3),
    ],
)
def test_phases_are_not_mixed(phases: tuple[str, ...], code: str, survey: int) -> None:
    parts = [measured(seed, "arm 2", phase) for seed, phase in enumerate(phases, 1)]
    with pytest.raises(Refusal) as refused:
        combining.combine(parts, REFERENCE)
    assert (refused.value.code, refused.value.facts["survey"]) == (code, survey)


def test_one_measurement_under_two_names_is_not_two() -> None:
    parts = [measured(1, "arm 2"), measured(2, "arm 2"), measured(1, "arm 3")]
    with pytest.raises(Refusal) as refused:
        combining.combine(parts, REFERENCE)
    assert refused.value.code == "combine_same"
    assert (refused.value.facts["survey"], refused.value.facts["other"]) == (3, 1)
