"""What the first page of a certificate says where it applies. All names are invented."""

import dataclasses
from collections.abc import Iterator
from pathlib import Path
from typing import Any, cast

import pytest

from app.schemas.correction import CorrectionIn
from app.schemas.reference import ReferenceIn
from app.schemas.result import ResultOut
from app.schemas.visual_check import VisualCheckIn
from app.services import corrections, visual_checks
from app.services.certificate_case import Case, gather
from app.services.certificate_content import subtitle
from app.services.certificate_first_page import beside_headline, headline
from app.services.certificate_not_measured import not_measured, not_measured_in_brief
from app.services.certificate_sources import about_reference, without_source
from app.services.surveys import SurveyView
from app.wording import orders
from tests.services.certifying import Bench, Benches, pages_of
from tests.services.composed import composed
from tests.services.documents import SOUND, survey_document
from tests.services.measuring import MEASURED_AT
from tests.services.whole_result import result


@pytest.fixture
def done(benches: Benches, tmp_path: Path) -> Iterator[Bench]:
    made = benches.copy(tmp_path)
    yield made
    made.workshop.database.close()


def case_of(done: Bench, **changes: Any) -> Case:
    """The job's records, its reference changed."""
    shop = done.workshop
    with shop.database.read() as session:
        case = gather(session, shop.people["inspector"], done.number)
    assert case.reference is not None
    document = ReferenceIn.model_validate({**case.reference.document, **changes})
    return dataclasses.replace(
        case, reference=dataclasses.replace(case.reference, reference=document)
    )


def told(case: Case) -> str:
    assert case.survey is not None
    return about_reference(case, case.survey.result)


def test_that_the_maker_forbids_straightening_is_told_first(done: Bench) -> None:
    assert "straightening" not in told(case_of(done))
    forbidden = {"straightening": "forbidden", "limit_mm": None}
    before = told(case_of(done, repair=forbidden))
    assert before.startswith("The reference says that the maker forbids straightening. The")
    words = CorrectionIn(text="pulled by 7 mm", part="head", method="pulled")
    done.workshop.do(corrections.note, "technician", done.number, words)
    after = told(case_of(done, repair=forbidden))
    assert after.startswith(
        "The reference says that the maker forbids straightening; force or heat was used."
    )


def test_limits_without_a_source_are_marked_by_name(done: Bench) -> None:
    content = composed(done).content
    marks = {line.key: line.mark for line in content.characteristics}
    assert marks["head_twist"] == "††"
    assert marks["head_offset"] == "†"
    assert marks["pivot_width"] == "", "without a limit"
    assert content.marks == {"†", "††"}
    assert "1 limit (††) without a source" in content.about_reference
    assert without_source(None, result()) == frozenset()


def test_what_was_seen_names_its_place_once(done: Bench) -> None:
    seen: tuple[dict[str, str], ...] = (
        {"item": "frame_cracks", "answer": "seen", "place": "left down tube, at the weld"},
        {"item": "wheel_rims", "answer": "seen", "place": "front"},
        {"item": "fork_tubes", "answer": "seen"},
    )
    sent = [VisualCheckIn.model_validate(one) for one in seen]
    done.workshop.do(visual_checks.answer, "technician", done.number, sent)
    content = composed(done, "report").content
    place = "cracks in the frame (left down tube, at the weld)"
    assert content.on_hold == f"{place}. Seen, and not settled."
    assert content.on_damage.endswith("the maker's instruction goes first.")
    assert content.how_sure.endswith("what was seen stands below.")
    assert place not in content.visual_check.in_brief
    named = "cracks in the frame, bent or marked fork legs, dented or bent rims (front)."
    assert named in content.visual_check.in_brief
    (hold,) = done.workshop.see(visual_checks.holds, "technician", done.number)
    reason = "the frame was replaced"
    done.workshop.do(visual_checks.close_hold, "inspector", done.number, hold.id, reason)
    content = composed(done, "report").content
    assert content.on_hold == ""
    assert content.on_damage, "seen, whatever became of the hold"
    assert place in content.visual_check.in_brief


def test_what_levelling_set_and_what_the_reference_has_beside_is_not_measured(
    done: Bench,
) -> None:
    content = composed(done).content
    assert "head height (set by levelling)" in content.parts_not_measured
    figures = {"nominal": 0.0, "lower": -1.0, "upper": 1.0, "required": False}
    case = case_of(done)
    assert case.survey is not None
    assert case.reference is not None
    known = cast(dict[str, Any], case.reference.document["characteristics"])
    assert "In the reference" not in " ".join(not_measured(case.survey, case.reference))
    more = dict.fromkeys(("face_squareness", "bore_runout", "axis_toe.shock_bolt"), figures)
    more |= dict.fromkeys(("axis_twist.shock_bolt", "datum_roll", "fork_rake"), figures)
    case = case_of(done, characteristics={**known, **more})
    assert case.survey is not None
    assert (
        not_measured_in_brief(case.survey, case.reference)
        == "Not measured: swing arm; fork; wheels; control points; points in pairs left and right; "
        "head height (set by levelling); head face against the steering axis; run-out of the "
        "bearing seats; axis shock bolt and 1 more.".replace(";", ",")
    )
    words = " ".join(not_measured(case.survey, case.reference))
    assert (
        "In the reference, and not measured: head face against the steering axis, run-out of the "
        "bearing seats, shock bolt: toe of the axis, shock bolt: twist of the axis, pivot axis "
        "roll." in words
    )
    assert "fork rake" not in words, "its whole part was not measured"


def test_what_is_kept_off_for_the_way_of_levelling_is_told() -> None:
    @dataclasses.dataclass
    class Measured:
        result: ResultOut

    by_head: ResultOut = {**result(), "levelling": "by_height"}
    survey = cast(SurveyView, Measured(by_head))
    assert not_measured_in_brief(survey, None) == "Not measured: control points seen from the side."
    assert "sound points would look wrong" in " ".join(not_measured(survey, None))
    free = cast(SurveyView, Measured(result()))
    assert "look wrong" not in " ".join(not_measured(free, None))


@pytest.fixture
def job(benches: Benches, tmp_path: Path) -> Iterator[Bench]:
    """Ready to be measured; measuring alone is ordered."""
    made = benches.copy(tmp_path, of="ready")
    yield made
    made.workshop.database.close()


def test_where_nothing_was_corrected_no_title_says_so(job: Bench, tmp_path: Path) -> None:
    job.measure("before", survey_document(SOUND, measured_at=MEASURED_AT))
    assert job.codes("completion") == []
    found = composed(job, "completion").content
    assert found.kind == "completion"
    assert found.title == "Certificate of measurement"
    assert found.subtitle == "No correction was ordered or noted. What was measured is certified."
    assert composed(job, "report").content.subtitle == ""
    page, *more = pages_of(job.pdf(job.issue("completion").number), tmp_path)
    assert found.subtitle in " ".join(page.split())
    every = "\f".join([page, *more])
    assert "Completion" not in every
    assert every.count(found.title) == len(more) + 2, "as the title, and at the foot of each page"


@pytest.mark.parametrize(
    ("ordered", "told"),
    [
        (orders.scope("correct"), "Corrections were ordered; none was noted. What"),
        ("straighten it", "No correction was noted. What"),
        ("", "No correction was noted. What"),
    ],
)
def test_what_was_ordered_and_not_noted_is_told(job: Bench, ordered: str, told: str) -> None:
    job.measure("before", survey_document(SOUND, measured_at=MEASURED_AT))
    case = case_of(job)
    asked = dataclasses.replace(case.job, authorised_scope=ordered)
    assert subtitle(dataclasses.replace(case, job=asked), "completion").startswith(told)


def test_a_completion_after_a_correction_is_called_so(done: Bench) -> None:
    content = composed(done).content
    assert (content.title, content.subtitle) == ("Completion certificate", "")


def test_the_earlier_finding_is_told_once_and_what_its_headline_leaves_out_beside_its_method(
    done: Bench,
) -> None:
    content = composed(done).content
    assert content.before_headline.startswith("Outside the tolerances of reference")
    assert content.before_headline not in " ".join(content.before_method)
    case = case_of(done)
    assert case.survey is not None
    (rest,) = beside_headline(case.survey.result)
    sentence = case.survey.result["finding"]["sentence"]
    assert rest.startswith("Probability that all that are required are so at once: ")
    assert f"{headline(case.survey.result)} {rest} This says nothing of" in sentence
