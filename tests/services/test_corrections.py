"""Corrections: what was done, to what, how and by whom; put right without working once more."""

import json
from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pytest

from app.errors import BadInput, Conflict, NotAllowed, NotFound
from app.records.scope import scoped
from app.records.tables import Event
from app.schemas.correction import METHODS, PARTS, CorrectionIn
from app.services import certificates, check_in, corrections, jobs, references
from app.services.certificate_case import gather
from app.services.certificate_corrections import correction_caution, correction_words, when
from app.services.jobs import CorrectionView
from app.wording import corrections as words
from tests.services.certifying import Bench
from tests.services.documents import SOUND, reference_document, survey_document
from tests.services.forms import check_in_form
from tests.services.workshop import Workshop


@pytest.fixture
def number(workshop: Workshop) -> str:
    return workshop.do(check_in.check_in, "desk", check_in_form()).job_number


def note(workshop: Workshop, number: str, role: str = "technician", **sent: Any) -> CorrectionView:
    return workshop.do(corrections.note, role, number, CorrectionIn.model_validate(sent))


def standing(workshop: Workshop, number: str) -> tuple[CorrectionView, ...]:
    return workshop.see(jobs.read, "desk", number).corrections


WHOLE = {
    "text": "pulled by 7 mm",
    "part": "head",
    "method": "pulled",
    "instruction": "handbook, page 31",
    "done_by": "Quay Forks (invented)",
    "done_on": "2026-03-02",
}


def test_all_that_is_said_of_a_correction_is_kept(workshop: Workshop, number: str) -> None:
    made = note(workshop, number, **WHOLE)
    assert standing(workshop, number) == (made,)
    assert (made.text, made.part, made.method) == ("pulled by 7 mm", "head", "pulled")
    assert (made.instruction, made.done_by) == ("handbook, page 31", "Quay Forks (invented)")
    assert (made.done_on, made.done_at) == (date(2026, 3, 2), workshop.now)
    assert (made.by, made.put_right_at) == ("Tove", None)


def test_words_alone_are_enough_and_no_day_means_today(workshop: Workshop, number: str) -> None:
    made = note(workshop, number, text="head bearings new")
    assert (made.part, made.method, made.instruction, made.done_by) == (None, None, None, None)
    assert (made.done_on, when(made)) == (date(2026, 3, 2), "2 March 2026")
    workshop.now += timedelta(days=2)
    put_right = note(workshop, number, text="head bearings and races new", supersedes=made.id)
    assert put_right.done_on == date(2026, 3, 2)


def test_an_old_note_without_a_day_tells_when_it_was_noted(workshop: Workshop, number: str) -> None:
    made = note(workshop, number, text="head bearings new")
    assert when(replace(made, done_on=None)).startswith("noted on 2 March 2026, 08:0")


def test_a_correction_put_right_stands_once_and_as_of_its_first_moment(
    workshop: Workshop, number: str
) -> None:
    wrong = note(workshop, number, **{**WHOLE, "text": "pulled by 17 mm"})
    note(workshop, number, text="fork tubes new")
    right = note(workshop, number, **WHOLE, supersedes=wrong.id)
    again = note(workshop, number, text="pulled by 7 mm, twice", supersedes=right.id)
    first, second = standing(workshop, number)
    assert first == again
    assert (first.text, first.done_at, first.by) == ("pulled by 7 mm, twice", wrong.done_at, "Tove")
    assert first.put_right_at == workshop.now
    assert second.text == "fork tubes new"


def test_only_the_note_that_stands_can_be_put_right(workshop: Workshop, number: str) -> None:
    wrong = note(workshop, number, text="one")
    note(workshop, number, text="two", supersedes=wrong.id)
    with pytest.raises(Conflict, match="correction_put_right"):
        note(workshop, number, text="three", supersedes=wrong.id)
    form = check_in_form()
    form["machine"] = {**form["machine"], "frame_number": "ZZZTEST00A1000099"}
    other = workshop.do(check_in.check_in, "desk", form).job_number
    mine = note(workshop, other, text="of another machine")
    for identity in (mine.id, 4711):
        with pytest.raises(NotFound, match="no_such_correction"):
            note(workshop, number, text="x", supersedes=identity)
    assert [one.text for one in standing(workshop, number)] == ["two"]


def test_putting_words_right_asks_for_no_new_measurement(done: Bench) -> None:
    shop = done.workshop
    assert shop.see(jobs.read, "desk", done.number).status == "to_sign"
    (wrong,) = standing(shop, done.number)
    note(shop, done.number, text="head pulled 7 mm forward", supersedes=wrong.id)
    assert shop.see(jobs.read, "desk", done.number).status == "to_sign"
    assert done.codes("completion") == []
    note(shop, done.number, text="pulled once more")
    assert shop.see(jobs.read, "desk", done.number).status == "correcting"
    assert "corrected_since_measured" in done.codes("completion")


@pytest.mark.parametrize(
    ("day", "code"),
    [
        ("2026-03-04", "correction_to_come"),
        ("2031-01-01", "correction_to_come"),
        ("2026-02-28", "corrected_before_received"),
    ],
)
def test_a_day_that_cannot_be_is_refused(
    workshop: Workshop, number: str, day: str, code: str
) -> None:
    with pytest.raises(BadInput, match=code) as caught:
        note(workshop, number, text="pulled", done_on=day)
    assert caught.value.problems[0].field == "done_on"
    assert standing(workshop, number) == ()


@pytest.mark.parametrize("day", ["2026-03-01", "2026-03-02", "2026-03-03"])
def test_a_day_that_it_may_be_in_some_zone_is_taken(
    workshop: Workshop, number: str, day: str
) -> None:
    """The machine came at 08:01 UTC on 2 March, and it is noted at 11:00."""
    workshop.now = workshop.now.replace(hour=11)
    assert note(workshop, number, text="pulled", done_on=day).done_on == date.fromisoformat(day)


def test_who_may_not_and_where_nothing_more_may_be_added(workshop: Workshop, number: str) -> None:
    for role in ("desk", "owner"):
        with pytest.raises(NotAllowed):
            note(workshop, number, role, text="x")
    workshop.do(jobs.cancel, "desk", number, "sold")
    with pytest.raises(Conflict, match="job_closed"):
        note(workshop, number, text="x")


def test_the_log_says_what_was_noted_and_what_was_put_right(
    workshop: Workshop, number: str
) -> None:
    wrong = note(workshop, number, **WHOLE)
    note(workshop, number, text="other", supersedes=wrong.id)
    with workshop.rows() as (session, owner):
        rows = session.scalars(scoped(session, owner, Event).order_by(Event.id))
        said = {
            row.what: json.loads(row.public)
            for row in rows
            if row.what.startswith("job.correction")
        }
    assert said["job.correction_noted"] == {
        "words" if name == "text" else name: value for name, value in WHOLE.items()
    }
    assert said["job.correction_put_right"] == {
        "words": "other",
        "done_on": WHOLE["done_on"],
        "supersedes": wrong.id,
    }


def test_every_part_and_method_has_its_words() -> None:
    for code in PARTS:
        assert words.part(code)
        assert "_" not in words.part(code)
    for code in METHODS:
        assert words.method(code)
    assert set(words.PARTS) == set(PARTS)
    assert set(words.METHODS) == set(METHODS)
    assert words.part("") == words.method("") == ""


def test_force_and_heat_bring_their_caution() -> None:
    assert words.caution("replaced") == words.caution("adjusted") == words.caution("") == ""
    for code in ("pulled", "pressed", "heated", "welded"):
        assert "Follow the maker's instruction" in words.caution(code)
    for code in ("heated", "welded"):
        assert "Use no heat" in words.caution(code)


def test_straightening_what_must_not_be_is_told_to_the_signer_and_on_paper(job: Bench) -> None:
    shop = job.workshop
    repair = {"straightening": "forbidden", "limit_mm": None}
    aluminium = reference_document(repair=repair, materials={"frame": "aluminium"})
    reference = shop.do(references.create, "technician", aluminium)
    shop.do(jobs.fix_reference, "technician", job.number, reference.id)
    note(shop, job.number, text="yokes new", part="fork", method="replaced")
    job.measure("before", survey_document(SOUND, measured_at="2026-03-02T09:00:00+01:00"))
    assert told(job) == ([], "")
    note(shop, job.number, text="pulled", part="head", method="pulled")
    codes, caution = told(job)
    assert codes == ["straightened_though_forbidden"]
    assert caution.startswith("The reference says that the maker forbids straightening this frame.")


def told(job: Bench) -> tuple[list[str], str]:
    shop = job.workshop
    inspector = shop.people["inspector"]
    with shop.database.read() as session:
        found = certificates.remarks(session, inspector, job.number, "report", shop.now)
        case = gather(session, inspector, job.number)
    codes = [one.code for one in found if one.field == "corrections"]
    return codes, correction_caution(case)


def test_corrections_after_the_measurement_are_told_apart(job: Bench) -> None:
    shop = job.workshop
    said = []
    for act in ("measure", "note", "again"):
        if act == "measure":
            job.measure("before")
        else:
            note(shop, job.number, text="pulled")
        with shop.database.read() as session:
            case = gather(session, shop.people["inspector"], job.number)
        assert case.survey is not None
        said.append(correction_words(case, case.survey))
    assert said[0] == "None was noted."
    assert said[1] == said[2]
    assert said[1].startswith("All of these were noted after the measurement")
    job.measure("after")
    note(shop, job.number, text="and once more")
    with shop.database.read() as session:
        case = gather(session, shop.people["inspector"], job.number)
    assert case.survey is not None
    assert correction_words(case, case.survey).startswith("1 of these was noted after")
