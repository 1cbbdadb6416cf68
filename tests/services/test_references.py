"""References: revisions are kept, a used one never changes, wrong ones are refused at entry."""

import json
from typing import Any

import pytest

from app.errors import BadInput, Conflict, NotAllowed, NotFound
from app.records.permanence import PermanentRecord
from app.records.tables import ReferenceRevision
from app.services import check_in, jobs, references
from tests.services.documents import reference_document
from tests.services.forms import check_in_form
from tests.services.workshop import Workshop


def with_line(key: str, line: dict[str, Any], **changes: Any) -> dict[str, Any]:
    document = reference_document(**changes)
    document["characteristics"][key] = line
    return document


def test_a_reference_is_kept_exactly_as_sent(workshop: Workshop) -> None:
    document = reference_document()

    made = workshop.do(references.create, "technician", document)

    assert (made.name, made.revisions) == ("Invented Works Example 700 2019-2022", (1,))
    latest = made.latest
    assert latest.document == document
    assert (latest.number, latest.latest, latest.used) == (1, True, False)
    assert (latest.levelling, latest.created_by) == ("by_height", "Tove")
    assert latest.reference.characteristics["head_twist"].upper == 0.3
    assert workshop.see(references.read, "desk", made.id) == made


def test_a_text_is_kept_to_the_letter(workshop: Workshop) -> None:
    text = json.dumps(reference_document(), indent=3) + "\n"

    made = workshop.do(references.create, "owner", text)

    with workshop.database.engine.connect() as connection:
        kept = connection.exec_driver_sql("SELECT document FROM reference_revision").scalar_one()
    assert kept == text
    assert made.latest.number == 1


def test_revisions_are_kept_beside_each_other(workshop: Workshop) -> None:
    first = reference_document()
    made = workshop.do(references.create, "technician", first)
    second = with_line("head_twist", {"nominal": 0.0, "lower": -0.2, "upper": 0.2})

    revised = workshop.do(references.revise, "inspector", made.id, second)

    assert (revised.revisions, revised.latest.number) == ((2, 1), 2)
    old = workshop.see(references.read_revision, "desk", made.id, 1)
    assert (old.document, old.latest) == (first, False)
    assert workshop.see(references.read_revision, "desk", made.id).document == second


def test_a_revision_must_change_something(workshop: Workshop) -> None:
    made = workshop.do(references.create, "technician", reference_document())

    with pytest.raises(Conflict, match="nothing_changed"):
        workshop.do(references.revise, "technician", made.id, reference_document())
    assert workshop.see(references.read, "desk", made.id) == made


def test_a_used_revision_never_changes(workshop: Workshop) -> None:
    made = workshop.do(references.create, "technician", reference_document())
    number = workshop.do(check_in.check_in, "desk", check_in_form()).job_number
    workshop.do(jobs.fix_reference, "technician", number, made.id)

    assert workshop.see(references.read_revision, "desk", made.id, 1).used is True
    with pytest.raises(PermanentRecord):
        workshop.tamper(ReferenceRevision, made.latest.id, document="{}")


def test_a_job_keeps_its_revision_when_a_later_one_comes(workshop: Workshop) -> None:
    made = workshop.do(references.create, "technician", reference_document())
    number = workshop.do(check_in.check_in, "desk", check_in_form()).job_number
    workshop.do(jobs.fix_reference, "technician", number, made.id)
    later = reference_document(levelling=None)
    workshop.do(references.revise, "technician", made.id, later)

    job = workshop.see(jobs.read, "desk", number)

    assert job.reference is not None
    assert (job.reference.number, job.reference.latest) == (1, False)


TIGHT = {"nominal": 320.0, "lower": -3.0, "upper": 3.0}
CONTROL = {"control_points": {"engine_front_left": [410.0, 120.0, 95.0]}}
REFUSED: dict[str, tuple[dict[str, Any], str, str]] = {
    "a tolerance on the height that levelling sets equal": (
        with_line("head_height", TIGHT), "tolerance_on_levelled", "characteristics.head_height"
    ),
    "a tolerance on the angle that levelling sets equal": (
        with_line("head_angle", {"nominal": 24.0, "upper": 0.5}, levelling="by_angle"),
        "tolerance_on_levelled", "characteristics.head_angle",
    ),
    "a required height of a control point under by_height": (
        with_line("control.engine_front_left.z", {"required": True, "upper": 2.0}, **CONTROL),
        "control_needs_own_levelling", "characteristics.control.engine_front_left.z",
    ),
    "a required reach of a control point under by_angle": (
        with_line(
            "control.engine_front_left.x", {"required": True},
            levelling="by_angle", **CONTROL, characteristics={"head_angle": {"nominal": 24.0}},
        ),
        "control_needs_own_levelling", "characteristics.control.engine_front_left.x",
    ),
    "limits the wrong way round": (
        with_line("head_twist", {"nominal": 0.0, "lower": 1.0, "upper": -1.0}),
        "limits_crossed", "characteristics.head_twist.lower",
    ),
    "an unknown characteristic": (
        with_line("head_twisst", {"nominal": 0.0}),
        "unknown_characteristic", "characteristics.head_twisst",
    ),
    "an unknown key": (reference_document(colour="red"), "unknown_key", "colour"),
    "another format": (
        reference_document(format="jigbook.reference/2"), "not_a_reference", "format"
    ),
    "not a number": (
        with_line("head_twist", {"nominal": float("nan")}),
        "not_finite", "characteristics.head_twist.nominal",
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", REFUSED)
def test_a_wrong_reference_is_refused_when_it_is_entered(workshop: Workshop, name: str) -> None:
    document, code, field = REFUSED[name]
    made = workshop.do(references.create, "technician", reference_document())
    before = workshop.counts()

    with pytest.raises(BadInput) as created:
        workshop.do(references.create, "technician", document)
    with pytest.raises(BadInput) as revised:
        workshop.do(references.revise, "technician", made.id, json.dumps(document))

    for refusal in (created.value, revised.value):
        assert (code, field) in [(one.code, one.field) for one in refusal.problems]
    assert workshop.counts() == before


@pytest.mark.parametrize("levelling", ["by_height", "by_angle"])
def test_the_side_position_of_a_control_point_may_have_limits_under_its_own_rule(
    workshop: Workshop, levelling: str
) -> None:
    line = {"lower": -2.0, "upper": 2.0, "required": True}
    document = with_line("control.engine_front_left.z", line, levelling="by_control", **CONTROL)

    assert workshop.do(references.create, "technician", document).latest.levelling == "by_control"
    sideways = with_line(
        "control.engine_front_left.y", line, levelling=levelling, **CONTROL,
        characteristics={"head_angle": {"nominal": 24.0}},
    )  # fmt: skip
    assert workshop.do(references.create, "technician", sideways).latest.levelling == levelling


@pytest.mark.parametrize("sent", ["", "nonsense", "[1]", '{"format": 1}', "x" * 2_000_000])
def test_a_text_that_is_no_reference_is_refused(workshop: Workshop, sent: str) -> None:
    with pytest.raises(BadInput):
        workshop.do(references.create, "technician", sent)
    assert workshop.counts()["reference"] == 0


def test_references_are_found_by_name(workshop: Workshop) -> None:
    made = workshop.do(references.create, "technician", reference_document())
    other = reference_document(machine={"make": "Ñandú", "model": "Uno"})
    second = workshop.do(references.create, "technician", other)

    assert workshop.see(references.find, "desk", "nandu uno") == (second,)
    assert workshop.see(references.find, "desk", "example 2019") == (made,)
    assert workshop.see(references.find, "desk") == (made, second)


def test_refusals(workshop: Workshop) -> None:
    made = workshop.do(references.create, "owner", reference_document())
    with pytest.raises(NotFound, match="no_such_reference"):
        workshop.see(references.read, "desk", 99)
    with pytest.raises(NotFound, match="no_such_revision"):
        workshop.see(references.read_revision, "desk", made.id, 2)
    with pytest.raises(NotAllowed):
        workshop.do(references.create, "desk", reference_document())
