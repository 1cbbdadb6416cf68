"""The demonstration shop: its findings come from the engine, through the services of the pages."""

import json
import subprocess
from datetime import datetime
from pathlib import Path

import pytest

from app.demonstration.cast import ARM
from app.demonstration.stories import STORIES
from app.records.scope import scoped
from app.records.tables import Customer, Insurer, Machine, Person, Reference, ShopRecord, Survey
from app.schemas.reading import survey_from
from app.services import (
    audit_check,
    certificates,
    check_bars,
    claim_opening,
    drafts,
    gauge_studies,
    handedness_checks,
    instruments,
    jobs,
    photos,
    references,
    sign_in,
    surveys,
    today,
)
from app.services.claim_opening import ClaimView
from app.services.jobs import JobView
from app.services.permissions import Role
from app.services.solving import solve
from tests.demonstration.conftest import QUICK, Filled, NoPango

EXPECTED = {
    "Åse": ("to_sign", ["within"]),
    "Bo": ("certified", ["outside", "outside", "within"]),
    "Cilla": ("measured", ["undecided"]),
    "Dag": ("measured", ["undecided"]),
    "Elin": ("certified", ["outside"]),
    "Frode": ("checked_in", []),
    "Gro": ("measuring", []),
    "Håkon": ("handed_over", ["within"]),
    "Ingrid": ("cancelled", []),
    "Jon": ("correcting", ["outside"]),
}
"""Status and findings of each customer's job."""


def found(filled: Filled) -> dict[str, JobView]:
    """Each job by its customer's first name."""
    with filled.database.read() as session:
        listed = today.today(
            session, filled.actor, filled.now.date(), include_closed=True, limit=50
        )
        views = [jobs.read(session, filled.actor, line.number) for line in listed.lines]
    return {(view.customer.name or "").split()[0]: view for view in views}


def statuses(filled: Filled) -> dict[str, tuple[str, list[str]]]:
    return {
        name: (view.status, [line.finding for line in view.surveys])
        for name, view in found(filled).items()
    }


def test_every_story_ends_as_it_is_told(demonstration: Filled) -> None:
    assert statuses(demonstration) == EXPECTED
    assert len(STORIES) == len(EXPECTED) == demonstration.made.jobs


def test_every_status_of_a_job_is_shown() -> None:
    assert {status for status, _ in EXPECTED.values()} == set(jobs.STATUSES)


def test_the_set_up_that_moved_is_the_one_of_its_story(demonstration: Filled) -> None:
    rigs = {name: [s.rig for s in view.surveys] for name, view in found(demonstration).items()}

    assert rigs.pop("Dag") == ["moved"]
    assert {rig for several in rigs.values() for rig in several} == {"steady"}


def test_the_machine_to_be_replaced_has_an_open_hold_and_a_report(demonstration: Filled) -> None:
    view = found(demonstration)["Elin"]

    assert [(hold.item, hold.closed_at) for hold in view.holds] == [("frame_cracks", None)]
    assert [(one.kind, one.status) for one in view.certificates] == [("report", "valid")]
    assert view.reference is not None
    assert view.reference.reference.repair.straightening == "forbidden"


def test_stored_results_are_what_the_engine_gives_for_the_stored_points(
    demonstration: Filled,
) -> None:
    checked = 0
    with demonstration.database.read() as session:
        for row in session.scalars(scoped(session, demonstration.actor, Survey)).all():
            job = next(v for v in found(demonstration).values() if v.id == row.job_id)
            view = surveys.read(session, demonstration.actor, job.number, row.ordinal)
            revision = references.read_revision(
                session, demonstration.actor, view.reference_id or 0, view.reference_revision
            )
            machine = revision.reference.machine
            called = f"{machine.make} {machine.model} {machine.years}, revision {revision.number}"
            again = solve(survey_from(json.loads(row.document)), revision.reference, 0.95, called)
            assert json.loads(json.dumps(again)) == view.result
            checked += 1
    assert checked == sum(len(findings) for _, findings in EXPECTED.values())


def test_before_and_after_of_the_corrected_machine_stand_side_by_side(
    demonstration: Filled,
) -> None:
    number = found(demonstration)["Bo"].number
    with demonstration.database.read() as session:
        compared = surveys.compare(session, demonstration.actor, number)

    assert compared is not None
    assert (compared.before.number, compared.after.number) == (1, 3)
    reach = next(change for change in compared.changes if change.key == "head_reach")
    assert (reach.before_verdict, reach.after_verdict) == ("outside", "within")


def test_the_measurement_in_progress_has_its_readings_as_typed(demonstration: Filled) -> None:
    view = found(demonstration)["Gro"]
    with demonstration.database.read() as session:
        (draft,) = drafts.listing(session, demonstration.actor, view.number)

    assert len(draft.standing) == view.drafts[0].points == 11
    for point in draft.standing:
        assert float(str(point.as_entered["x"]).replace(",", ".")) == point.sent["x"]


def test_certificates_are_real_signed_files(demonstration: Filled) -> None:
    with demonstration.database.read() as session:
        register = certificates.certificates(session, demonstration.actor)
        files = [
            certificates.certificate_file(session, demonstration.actor, one.number)
            for one in register
        ]

    assert sorted((one.kind, one.status) for one in register) == [
        ("completion", "valid"), ("completion", "valid"), ("report", "valid"),
    ]  # fmt: skip
    assert all(file.pdf.startswith(b"%PDF-") and b"/ByteRange" in file.pdf for file in files)
    assert demonstration.made.no_certificates is None


def test_certificates_say_where_to_ask_the_shop(demonstration: Filled) -> None:
    with demonstration.database.read() as session:
        register = certificates.certificates(session, demonstration.actor)
        printed = certificates.certificate_content(session, demonstration.actor, register[0].number)
    assert {"+00 555 0100 (invented)", "Nowhere (invented)"} <= set(printed.shop)


def test_the_claim_link_opens(demonstration: Filled) -> None:
    made = demonstration.made
    assert made.claim_token is not None
    view = claim_opening.open_link(
        demonstration.database, made.claim_token, demonstration.now, address="192.0.2.7"
    )
    assert isinstance(view, ClaimView)
    assert view.job_number == made.claim_job == found(demonstration)["Bo"].number
    assert len(view.certificates) == 1


def test_each_of_the_people_signs_in_with_one_role(demonstration: Filled) -> None:
    for access in demonstration.made.people:
        actor = sign_in.sign_in(
            demonstration.database, access.sign_in_name, access.password, "192.0.2.7",
            demonstration.now, QUICK,
        )  # fmt: skip
        assert actor.roles == {Role(access.role)}
        assert not actor.must_change_password
    assert {access.role for access in demonstration.made.people} == set(Role)


def column(filled: Filled, model: type[ShopRecord], name: str) -> list[str]:
    with filled.database.read() as session:
        rows = session.scalars(scoped(session, filled.actor, model)).all()
        return [str(getattr(row, name)) for row in rows]


def test_all_names_say_that_they_are_invented(demonstration: Filled) -> None:
    named = [
        *column(demonstration, Customer, "name"),
        *column(demonstration, Insurer, "name"),
        *column(demonstration, Machine, "make"),
        *column(demonstration, Person, "name"),
        *column(demonstration, Reference, "make"),
    ]

    assert len(named) >= 30
    assert [name for name in named if "invented" not in name.lower()] == []


def test_the_log_is_whole_and_in_the_order_of_time_per_job(demonstration: Filled) -> None:
    with demonstration.database.read() as session:
        report = audit_check.verify(session, demonstration.actor)

    assert report.breaks == ()
    assert report.events > 100


def test_it_tells_how_far_it_is(demonstration: Filled) -> None:
    acts = demonstration.told[-1][1]

    assert demonstration.told == [(done, acts) for done in range(acts + 1)]


@pytest.mark.parametrize("moment", ["2028-02-29T00:05:00+00:00"])
def test_without_pango_and_on_another_day_only_certificates_are_left_out(
    tmp_path: Path, moment: str
) -> None:
    filled = Filled(tmp_path, datetime.fromisoformat(moment), NoPango(tmp_path, own_process=False))

    assert filled.made.no_certificates is not None
    assert filled.made.no_certificates.code == "pdf_needs_pango"
    waiting = {"Bo": "to_sign", "Elin": "to_sign"}
    assert statuses(filled) == {
        name: (waiting.get(name, status), findings) for name, (status, findings) in EXPECTED.items()
    }
    with filled.database.read() as session:
        assert certificates.certificates(session, filled.actor) == ()
    filled.database.close()


def test_no_two_measurements_of_the_shop_have_the_same_points(demonstration: Filled) -> None:
    with demonstration.database.read() as session:
        measured = session.scalars(scoped(session, demonstration.actor, Survey)).all()
        found = [
            sorted(
                (point.x, point.y, point.z)
                for point in survey_from(json.loads(row.document)).points
            )
            for row in measured
        ]
    assert len(found) > 5
    assert all(one != other for place, one in enumerate(found) for other in found[:place])


def test_the_first_page_has_room_for_values_before_and_for_what_was_not_measured(
    demonstration: Filled, tmp_path: Path
) -> None:
    """Six required characteristics with both measurements: the line may not crowd the page."""
    number = found(demonstration)["Bo"].certificates[0].number
    with demonstration.database.read() as session:
        file = certificates.certificate_file(session, demonstration.actor, number)
    (tmp_path / "bo.pdf").write_bytes(file.pdf)
    command = ["pdftotext", "-layout", "-l", "1", str(tmp_path / "bo.pdf"), "-"]
    page = subprocess.run(command, capture_output=True, check=True, text=True).stdout
    assert (
        "Not measured: swing arm, fork, wheels, control points, points in pairs left and right, "
        "head height (set by levelling)." in " ".join(page.split())
    )
    assert page.count("before:") == 6
    assert "Authorised by" in page


def test_the_cracked_machine_shows_pictures_that_say_they_are_drawn(demonstration: Filled) -> None:
    number = found(demonstration)["Elin"].number
    with demonstration.database.read() as session:
        shown = photos.listing(session, demonstration.actor, number)
    assert [one.about for one in shown] == ["zone.frame", "item.frame_cracks"]
    assert all("drawing, invented" in (one.caption or "") for one in shown)


def test_the_arm_has_a_log_a_study_and_right_handed_axes(demonstration: Filled) -> None:
    """The invented arm's own record: its check bar, one reading in the sun, a study, the turn."""
    with demonstration.database.read() as session:
        actor = demonstration.actor
        (arm,) = (o for o in instruments.listing(session, actor) if o.name == ARM["name"])
        log = check_bars.log(session, actor, arm.id)
        (study,) = gauge_studies.listing(session, actor, arm.id)
        (turn,) = handedness_checks.listing(session, actor, arm.id)
        bars = check_bars.bars(session, actor)

    assert (log.standing, len(log.readings)) == ("in_control", 14)
    noticed = [one for one in log.readings if not one.in_control]
    assert len(noticed) == 1
    assert noticed[0].explanation is not None
    assert "(invented)" in noticed[0].explanation.reason
    assert any(one.limits is not None for one in log.readings)
    assert [bar.note for bar in bars] == ["invented for the demonstration"]
    assert study.document["note"] == "invented for the demonstration"
    assert (len(study.result["parts"]), study.result["trials"]) == (10, 3)
    assert turn.verdict == "right_handed"
