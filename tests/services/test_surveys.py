"""Surveys: stored as sent with their results, refused without a trace, superseded, never edited."""

import json
from typing import Any

import pytest

from app.demonstration.seed_files import RIG, semicolons, survey
from app.errors import BadInput, Conflict, NotAllowed, NotFound, Refusal
from app.records.permanence import PermanentRecord
from app.records.tables import Result, Survey, SurveyPoint
from app.services import check_in, instruments, jobs, references, surveys
from app.services.solving import solve
from tests.services.documents import (
    BENT,
    COARSE,
    MOVED,
    SOUND,
    calibration,
    reference_document,
    survey_document,
)
from tests.services.forms import check_in_form
from tests.services.measuring import MEASURED_AT, Ready, ready
from tests.services.workshop import Workshop


@pytest.fixture
def job(workshop: Workshop) -> Ready:
    return ready(workshop)


def test_a_survey_is_stored_exactly_as_sent_with_what_the_engine_gave(job: Ready) -> None:
    text = json.dumps(survey_document(measured_at=MEASURED_AT), indent=2) + "\n"

    stored = job.submit(text)

    assert (stored.number, stored.phase, stored.sent_as) == (1, "before", "json")
    assert (stored.document, stored.content_type) == (text, "application/json")
    assert stored.submitted_by == stored.measured_by == "Tove"
    assert (stored.reference_id, stored.reference_revision) == (job.reference_id, 1)
    assert stored.result["finding"]["verdict"] == "within"
    assert stored.engine_version == stored.result["engine_version"]
    assert job.workshop.see(surveys.read, "desk", job.number, 1) == stored
    assert job.workshop.counts()["survey_point"] == len(stored.survey.points)


def test_the_stored_document_gives_the_stored_result_again(job: Ready) -> None:
    stored = job.submit()
    revision = job.workshop.see(references.read_revision, "desk", job.reference_id, 1)

    called = "Invented Works Example 700 2019-2022, revision 1"
    again = solve(stored.survey, revision.reference, 0.95, called)

    assert json.loads(json.dumps(again)) == stored.result


def test_the_instrument_and_its_calibration_come_from_the_record(job: Ready) -> None:
    document = survey_document(measured_at=MEASURED_AT)
    assert "instrument" not in document

    stored = job.submit(document)

    used = stored.survey.instrument
    assert (used.name, used.standard_uncertainty_mm, used.probe_radius_mm) == ("arm 2", 0.1, 3.0)
    assert (stored.instrument_id, stored.in_calibration) == (job.instrument_id, True)
    assert stored.calibration is not None
    assert stored.calibration.laboratory == "Invented Laboratory"
    assert "instrument" not in json.loads(stored.document)
    assert json.loads(stored.evaluated)["instrument"]["due"] == "2027-01-10"


def test_what_the_survey_says_of_its_instrument_goes_first(job: Ready) -> None:
    document = survey_document(instrument={"name": "arm 2", "scale_u_ppm": 40.0})
    document["instrument"] = {"name": "arm 2", "standard_uncertainty_mm": 0.2}

    stored = job.submit(document)

    assert stored.survey.instrument.standard_uncertainty_mm == 0.2
    assert stored.survey.instrument.scale_u_ppm == 20.0
    assert stored.instrument_id == job.instrument_id


def test_an_instrument_that_is_not_the_shops_speaks_for_itself(job: Ready) -> None:
    document = survey_document()
    document["instrument"] = {
        "name": "borrowed arm", "standard_uncertainty_mm": 0.2,
        "calibrated": "2026-01-01", "due": "2026-02-01",
    }  # fmt: skip

    stored = job.submit({**document, "measured_at": MEASURED_AT})

    assert (stored.instrument_id, stored.calibration) == (None, None)
    assert (stored.instrument_name, stored.in_calibration) == ("borrowed arm", False)


@pytest.mark.parametrize(
    ("measured_at", "expected"),
    [("2026-01-09T09:00:00Z", False), ("2026-01-10T09:00:00Z", True), (MEASURED_AT, True)],
)
def test_the_calibration_of_the_day_counts(job: Ready, measured_at: str, expected: bool) -> None:
    document = survey_document(measured_at=measured_at)
    document["points"] = [{**point, "u": 0.1} for point in document["points"]]

    assert (job.submit(document).in_calibration or False) is expected


def test_a_later_calibration_does_not_reach_back(job: Ready) -> None:
    coarser = calibration(calibrated="2026-03-02", due="2026-09-01", standard_uncertainty_mm=0.3)
    job.workshop.do(instruments.calibrate, "owner", job.instrument_id, coarser)

    earlier = job.submit(survey_document(measured_at="2026-03-01T09:00:00Z"))
    later = job.submit(survey_document(measured_at=MEASURED_AT))

    assert earlier.survey.instrument.standard_uncertainty_mm == 0.1
    assert later.survey.instrument.standard_uncertainty_mm == 0.3


def test_a_table_of_points_is_taken_with_its_heading(job: Ready) -> None:
    text = semicolons(survey(SOUND, RIG, 3, "before"))
    heading = {"up": [0.0, 0.0, 1.0], "mounting": "on stands", "measured_at": MEASURED_AT}

    stored = job.submit(text, phase="before", heading=heading)

    assert (stored.document, stored.content_type, stored.sent_as) == (text, "text/csv", "csv")
    assert stored.survey.mounting == "on stands"
    assert [stored.phase, stored.survey.phase] == ["before", "before"]


def test_a_wrong_cell_of_a_table_is_named_by_its_row(job: Ready) -> None:
    lines = semicolons(survey(SOUND, RIG, 3, "before")).splitlines()
    lines[4] = lines[4].replace("pivot_face", "pivot_fase")

    with pytest.raises(BadInput) as refusal:
        job.submit("\n".join(lines), phase="before")

    assert [one.field for one in refusal.value.problems] == ["rows.5.feature"]


FINDINGS = {
    "in order": (SOUND, RIG, "within", "to_sign"),
    "bent": (BENT, RIG, "outside", "measured"),
    "a set-up that moved": (SOUND, MOVED, "undecided", "measured"),
    "too coarse to decide": (SOUND, COARSE, "undecided", "measured"),
}


@pytest.mark.parametrize("name", FINDINGS)
def test_the_status_follows_the_finding(job: Ready, name: str) -> None:
    pose, rig, finding, status = FINDINGS[name]

    stored = job.submit(survey_document(pose, rig, measured_at=MEASURED_AT))

    assert stored.result["finding"]["verdict"] == finding
    assert job.status() == status
    (line,) = job.workshop.see(jobs.read, "desk", job.number).surveys
    assert (line.finding, line.superseded_by) == (finding, None)
    assert line.rig == ("moved" if rig is MOVED else "steady")


def test_without_a_reference_there_are_numbers_and_no_verdict(workshop: Workshop) -> None:
    number = workshop.do(check_in.check_in, "desk", check_in_form()).job_number
    document = survey_document(measured_at=MEASURED_AT)
    document["points"] = [{**point, "u": 0.1} for point in document["points"]]

    stored = workshop.do(surveys.submit, "technician", number, document)

    assert {one["verdict"] for one in stored.result["characteristics"]} == {"no_tolerance"}
    assert stored.result["finding"]["verdict"] == "undecided"
    assert (stored.reference_revision, stored.instrument_id) == (None, None)
    assert (stored.calibration, stored.in_calibration) == (None, None)


def few(document: dict[str, Any]) -> dict[str, Any]:
    return {**document, "points": document["points"][:5]}


def first_point(document: dict[str, Any], **changes: Any) -> dict[str, Any]:
    return {**document, "points": [{**document["points"][0], **changes}, *document["points"][1:]]}


def exchanged(point: dict[str, Any]) -> dict[str, Any]:
    """The point with left and right exchanged in its label."""
    other = {"left": "right", "right": "left"}
    return {**point, "label": other.get(point.get("label", ""), point.get("label"))}


def in_metres(point: dict[str, Any]) -> dict[str, Any]:
    return {**point, **{axis: point[axis] / 1000.0 for axis in "xyz"}}


GOOD = survey_document(measured_at=MEASURED_AT)
REFUSED: dict[str, tuple[Any, str]] = {
    "too few points": (few(GOOD), "axis_not_determined"),
    "metres": (
        {**GOOD, "points": [in_metres(point) for point in GOOD["points"]]},
        "metres",
    ),
    "left and right exchanged": (
        {**GOOD, "points": [exchanged(point) for point in GOOD["points"]]},
        "left_right_or_mirrored",
    ),
    "not a number": (first_point(GOOD, x=float("nan")), "not_finite"),
    "beyond all numbers": (first_point(GOOD, x=float("1e999")), "not_finite"),
    "a coordinate as text": (first_point(GOOD, x="412,5"), "wrong_type"),
    "an unknown feature": (first_point(GOOD, feature="engine"), "unknown_feature"),
    "an unknown key": ({**GOOD, "colour": "red"}, "unknown_key"),
    "another format": ({**GOOD, "format": "jigbook.survey/2"}, "not_a_survey"),
    "a list": ([1, 2], "not_a_survey"),
    "no points": ({**GOOD, "points": []}, "too_few_points"),
    "measured tomorrow": ({**GOOD, "measured_at": "2026-03-04T09:00:00Z"}, "in_the_future"),
    "a text that is nothing": ("hello", "unknown_column"),
    "an empty text": ("  ", "file_empty"),
    "broken JSON": ('{"format": ', "not_json"),
    "half a character": ('{"format": "jigbook.survey/1\ud800"}', "not_utf8"),
}  # fmt: skip


@pytest.mark.parametrize("name", REFUSED)
def test_a_refused_survey_stores_nothing(job: Ready, name: str) -> None:
    document, code = REFUSED[name]
    before = job.workshop.counts()

    with pytest.raises((BadInput, Refusal)) as refusal:
        job.submit(document, phase="before")

    problems = getattr(refusal.value, "problems", ())
    assert code in {refusal.value.code, *(one.code for one in problems)}
    assert job.workshop.counts() == before
    assert job.status() == "checked_in"


def test_the_phase_must_be_said_once_and_the_same(job: Ready) -> None:
    document = {**GOOD}
    del document["phase"]

    with pytest.raises(BadInput) as missing:
        job.submit(document)
    assert [(one.code, one.field) for one in missing.value.problems] == [("missing", "phase")]
    with pytest.raises(BadInput) as unknown:
        job.submit(document, phase="afterwards")
    assert [(one.code, one.field) for one in unknown.value.problems] == [("not_one_of", "phase")]
    with pytest.raises(BadInput, match="phase_differs"):
        job.submit(GOOD, phase="after")
    assert job.submit(document, phase="during").phase == "during"


def test_a_survey_takes_the_place_of_another(job: Ready) -> None:
    job.submit(survey_document(SOUND, MOVED, measured_at=MEASURED_AT))

    second = job.submit(supersedes=1, because="the stand had slipped")

    first = job.workshop.see(surveys.read, "desk", job.number, 1)
    assert (first.superseded_by, first.supersedes) == (2, None)
    assert (second.supersedes, second.supersedes_because) == (1, "the stand had slipped")
    assert job.status() == "to_sign"
    lines = job.workshop.see(jobs.read, "desk", job.number).surveys
    assert [(line.number, line.superseded_by) for line in lines] == [(1, 2), (2, None)]
    with pytest.raises(Conflict, match="survey_superseded"):
        job.submit(supersedes=1, because="again")
    with pytest.raises(NotFound, match="no_such_survey"):
        job.submit(supersedes=7, because="again")
    assert job.submit(supersedes=2, because="bumped").number == 3


def test_surveys_points_and_results_never_change(job: Ready) -> None:
    stored = job.submit()

    for model, changes in (
        (Survey, {"phase": "after"}), (SurveyPoint, {"x": 0.0}), (Result, {"verdict": "outside"})
    ):  # fmt: skip
        with pytest.raises(PermanentRecord):
            job.workshop.tamper(model, 1, **changes)
    assert job.workshop.see(surveys.read, "desk", job.number, 1) == stored


def test_what_was_prepared_is_not_stored_against_another_reference(job: Ready) -> None:
    prepared = job.workshop.see(surveys.prepare, "technician", job.number, GOOD)
    other = job.workshop.do(references.create, "technician", reference_document(levelling=None))
    job.workshop.do(jobs.fix_reference, "technician", job.number, other.id)

    with pytest.raises(Conflict, match="job_changed"):
        job.workshop.do(surveys.store, "technician", prepared)
    assert job.workshop.counts()["survey"] == 0


def test_what_was_prepared_is_stored_with_its_number(job: Ready) -> None:
    prepared = job.workshop.see(surveys.prepare, "technician", job.number, GOOD)
    assert job.workshop.counts()["survey"] == 0

    stored = job.workshop.do(surveys.store, "technician", prepared)

    assert (stored.number, stored.result) == (1, prepared.result)
    other = job.workshop.do(references.create, "technician", reference_document())
    with pytest.raises(Conflict, match="reference_in_use"):
        job.workshop.do(jobs.fix_reference, "technician", job.number, other.id)


def test_before_and_after_side_by_side(job: Ready) -> None:
    assert job.workshop.see(surveys.compare, "desk", job.number) is None
    before = job.submit(survey_document(BENT, measured_at=MEASURED_AT))
    job.submit(survey_document(BENT, MOVED, measured_at=MEASURED_AT))
    assert job.workshop.see(surveys.compare, "desk", job.number) is None
    job.workshop.do(jobs.note_correction, "technician", job.number, "pulled 11 mm forward")
    after = job.submit({**survey_document(SOUND, measured_at=MEASURED_AT), "phase": "after"})

    found = job.workshop.see(surveys.compare, "desk", job.number)

    assert found is not None
    assert (found.before, found.after, found.same_reference) == (before, after, True)
    twist = {change.key: change for change in found.changes}["head_twist"]
    assert (twist.before_verdict, twist.after_verdict) == ("outside", "within")
    earlier, later = (
        next(one for one in view.result["characteristics"] if one["key"] == "head_twist")
        for view in (before, after)
    )
    assert (twist.before, twist.after) == (earlier["value"], later["value"])
    assert (twist.before_sense, twist.after_sense) == (earlier["sense"], later["sense"])
    assert twist.after_expanded_uncertainty == later["expanded_uncertainty"]
    assert [change.key for change in found.changes] == [
        one["key"] for one in after.result["characteristics"]
    ]


def test_the_whole_road_to_signing(job: Ready) -> None:
    job.submit(survey_document(BENT, measured_at=MEASURED_AT))
    assert job.status() == "measured"
    job.workshop.do(jobs.note_correction, "technician", job.number, "pulled 8 mm forward")
    assert job.status() == "correcting"
    job.submit({**survey_document(BENT, measured_at=MEASURED_AT), "phase": "during"})
    assert job.status() == "correcting"
    job.submit({**survey_document(SOUND, measured_at=MEASURED_AT), "phase": "after"})
    assert job.status() == "to_sign"
    assert job.workshop.see(jobs.read, "desk", job.number).waits_for == "inspector"


def test_a_frame_that_must_not_be_straightened_waits_for_the_inspector(workshop: Workshop) -> None:
    made = ready(workshop)
    repair = {"straightening": "forbidden", "limit_mm": None}
    aluminium = reference_document(repair=repair, materials={"frame": "aluminium"})
    reference = workshop.do(references.create, "technician", aluminium)
    workshop.do(jobs.fix_reference, "technician", made.number, reference.id)

    made.submit(survey_document(BENT, measured_at=MEASURED_AT))

    job = workshop.see(jobs.read, "desk", made.number)
    assert (job.status, job.waits_for) == ("to_sign", "inspector")
    assert {step.code: step.state for step in job.road}["correct"] == "stopped"


def test_refusals(job: Ready) -> None:
    job.submit()
    with pytest.raises(NotFound, match="no_such_survey"):
        job.workshop.see(surveys.read, "desk", job.number, 2)
    with pytest.raises(NotFound, match="no_such_job"):
        job.workshop.do(surveys.submit, "technician", "J-2026-0099", GOOD)
    for role in ("desk", "owner"):
        with pytest.raises(NotAllowed):
            job.workshop.do(surveys.submit, role, job.number, GOOD)
    job.workshop.do(jobs.hand_over, "desk", job.number, "Åse")
    with pytest.raises(Conflict, match="job_closed"):
        job.submit()
