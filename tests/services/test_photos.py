"""Photos of a job: once each, described, taken out with a reason, erased for good."""

import hashlib
import json

import pytest

from app.errors import BadInput, Conflict, NotAllowed, NotFound
from app.records.permanence import PermanentRecord
from app.records.scope import scoped
from app.records.tables import Event, PersonalValue, Photo, PhotoFile
from app.services import audit_check, check_in, customers, idempotency, jobs, photos
from app.services.idempotency import StoredAnswer
from app.services.photos import PhotoView
from app.wording.events import FAULTS
from tests.services.forms import check_in_form
from tests.services.pictures import prepared
from tests.services.workshop import Workshop

ONE, OTHER = prepared(60, 40), prepared(80, 40)
CAPTION = "Åse's scratched tank"


@pytest.fixture
def number(workshop: Workshop) -> str:
    return workshop.do(check_in.check_in, "desk", check_in_form()).job_number


def add(workshop: Workshop, number: str, about: str | None = None, role: str = "desk") -> PhotoView:
    return workshop.do(photos.add, role, number, ONE, about, CAPTION)


@pytest.mark.parametrize("role", ["desk", "technician", "inspector", "owner"])
def test_a_photo_is_kept_with_what_it_shows_who_took_it_and_when(
    workshop: Workshop, number: str, role: str
) -> None:
    made = add(workshop, number, "zone.tank", role)

    assert workshop.see(photos.listing, "technician", number) == (made,)
    assert workshop.see(photos.read, "inspector", number, made.id) == made
    assert (made.about, made.caption, made.width, made.height) == ("zone.tank", CAPTION, 60, 40)
    assert (made.added_at, made.added_by) == (workshop.now, workshop.people[role].name)
    whole = workshop.see(photos.file, "technician", number, made.id)
    assert whole.content == ONE.whole
    assert made.sha256 == whole.sha256 == hashlib.sha256(ONE.whole).hexdigest()
    small = workshop.see(photos.file, "technician", number, made.id, thumbnail=True)
    assert small.content == ONE.thumbnail
    assert made.stands


def test_the_same_file_sent_twice_is_one_photo(workshop: Workshop, number: str) -> None:
    first = add(workshop, number, "zone.tank")
    assert add(workshop, number, "zone.tank").id == first.id
    assert add(workshop, number, "item.frame_cracks").id != first.id, "it shows two things"
    assert workshop.counts()["photo"] == 2


def test_several_are_added_together_or_not_at_all(workshop: Workshop, number: str) -> None:
    made = workshop.do(photos.add_all, "desk", number, [ONE, OTHER], None, None)
    assert [one.width for one in made] == [60, 80]
    with pytest.raises(BadInput):
        workshop.do(photos.add_all, "desk", number, [prepared(90, 40)], "zone.moon", None)
    assert workshop.counts()["photo"] == 2


@pytest.mark.parametrize(
    ("about", "caption", "code"),
    [
        ("zone.moon", None, "photo_about_unknown"),
        ("item.tank", None, "photo_about_unknown"),
        ("frame_cracks", None, "photo_about_unknown"),
        (None, "x" * 201, "text_too_long"),
        (None, "a\x00b", "not_printable"),
    ],
)
def test_what_is_said_of_a_photo_is_checked(
    workshop: Workshop, number: str, about: str | None, caption: str | None, code: str
) -> None:
    with pytest.raises(BadInput) as refused:
        workshop.do(photos.add, "desk", number, ONE, about, caption)
    assert refused.value.problems[0].code == code
    assert workshop.counts()["photo"] == workshop.counts()["photo_file"] == 0


def test_a_caption_is_put_right_and_the_log_keeps_both(workshop: Workshop, number: str) -> None:
    made = add(workshop, number)
    changed = workshop.do(photos.describe, "technician", number, made.id, "zone.fork", "left leg")
    assert (changed.about, changed.caption, changed.sha256) == (
        "zone.fork",
        "left leg",
        made.sha256,
    )
    workshop.do(photos.describe, "technician", number, made.id, "zone.fork", "left leg")
    with workshop.rows() as (session, actor):
        said = scoped(session, actor, PersonalValue).where(PersonalValue.about == "photo:1")
        captions = [json.loads(row.value or "") for row in session.scalars(said)]
    assert captions == [CAPTION, "left leg"], "what changes nothing is not logged"


def test_a_photo_taken_out_leaves_its_reason_and_its_bytes(workshop: Workshop, number: str) -> None:
    made = add(workshop, number)
    gone = workshop.do(photos.take_out, "technician", number, made.id, "another machine")
    assert (gone.stands, gone.taken_out_by, gone.taken_out_because) == (
        False, "Tove", "another machine",
    )  # fmt: skip
    assert workshop.see(photos.file, "inspector", number, made.id).content == ONE.whole
    with pytest.raises(Conflict, match="photo_not_standing"):
        workshop.do(photos.take_out, "desk", number, made.id, "again")
    with pytest.raises(Conflict, match="photo_not_standing"):
        workshop.do(photos.describe, "desk", number, made.id, None, "other")
    again = add(workshop, number)
    assert again.id != made.id, "sent again it is a new photo"


def test_only_the_owner_erases_and_then_no_byte_is_left(workshop: Workshop, number: str) -> None:
    made = add(workshop, number)
    for role in ("desk", "technician", "inspector"):
        with pytest.raises(NotAllowed):
            workshop.do(photos.erase, role, number, made.id, "a face")

    erased = workshop.do(photos.erase, "owner", number, made.id, "a stranger's face")

    assert (erased.erased_at, erased.caption, erased.stands) == (workshop.now, None, False)
    assert workshop.counts()["photo_file"] == 0
    with pytest.raises(NotFound, match="no_such_photo"):
        workshop.see(photos.file, "owner", number, made.id)
    with pytest.raises(Conflict, match="photo_erased"):
        workshop.do(photos.erase, "owner", number, made.id, "again")
    assert_nowhere(workshop, CAPTION)
    with workshop.rows() as (session, actor):
        assert audit_check.verify(session, actor).breaks == ()


def test_erasing_a_customer_erases_their_photos_and_no_others(workshop: Workshop) -> None:
    hers = workshop.do(check_in.check_in, "desk", check_in_form())
    other = {"make": "Aurelia", "model": "Brisk", "frame_number": "ZZZTEST00A2000018"}
    his = workshop.do(
        check_in.check_in, "desk", check_in_form(customer={"name": "Bo"}, machine=other)
    )
    add(workshop, hers.job_number)
    taken_out = workshop.do(photos.add, "desk", hers.job_number, OTHER, None, "her garage")
    workshop.do(photos.take_out, "desk", hers.job_number, taken_out.id, "blurred")
    kept = workshop.do(photos.add, "desk", his.job_number, ONE, None, "Bo's tank")

    workshop.do(customers.erase, "owner", hers.customer_id, "she asked for it")

    assert {one.erased_at for one in workshop.see(photos.listing, "desk", hers.job_number)} == {
        workshop.now
    }
    assert workshop.see(photos.listing, "desk", his.job_number) == (kept,)
    assert workshop.counts()["photo_file"] == 2
    for secret in (CAPTION, "her garage"):
        assert_nowhere(workshop, secret)
    with workshop.rows() as (session, actor):
        assert audit_check.verify(session, actor).breaks == ()


def test_answers_kept_for_repeated_requests_forget_an_erased_caption(workshop: Workshop) -> None:
    done = workshop.do(check_in.check_in, "desk", check_in_form())
    add(workshop, done.job_number)
    with workshop.database.write() as session:
        told = StoredAnswer(201, json.dumps({"caption": CAPTION}, ensure_ascii=False))
        idempotency.remember(session, workshop.people["desk"], "key", "r", told, workshop.now)

    workshop.do(customers.erase, "owner", done.customer_id, "she asked for it")

    assert workshop.counts()["idempotency_key"] == 0


def assert_nowhere(workshop: Workshop, secret: str) -> None:
    with workshop.database.engine.connect() as connection:
        for table in workshop.counts():
            rows = connection.exec_driver_sql(f'SELECT * FROM "{table}"').all()
            text = json.dumps([list(map(str, row)) for row in rows], ensure_ascii=False)
            assert secret not in text, f"{secret} in {table}"


def test_a_photo_of_another_job_is_not_found(workshop: Workshop, number: str) -> None:
    made = add(workshop, number)
    other = {"make": "Aurelia", "model": "Brisk", "frame_number": "ZZZTEST00A2000018"}
    elsewhere = workshop.do(
        check_in.check_in, "desk", check_in_form(customer={"name": "Bo"}, machine=other)
    ).job_number
    for see in (photos.read, photos.file):
        with pytest.raises(NotFound, match="no_such_photo"):
            workshop.see(see, "desk", elsewhere, made.id)
    with pytest.raises(NotFound, match="no_such_photo"):
        workshop.do(photos.take_out, "desk", elsewhere, made.id, "no")
    with pytest.raises(NotFound, match="no_such_photo"):
        workshop.do(photos.erase, "owner", elsewhere, made.id, "no")
    with pytest.raises(NotFound, match="no_such_job"):
        workshop.see(photos.listing, "desk", "J-2026-9999")


def test_a_closed_job_takes_no_photo_but_lets_one_be_erased(
    workshop: Workshop, number: str
) -> None:
    made = add(workshop, number)
    workshop.do(jobs.cancel, "desk", number, "sold")
    with pytest.raises(Conflict, match="job_closed"):
        add(workshop, number, "zone.fork")
    with pytest.raises(Conflict, match="job_closed"):
        workshop.do(photos.take_out, "desk", number, made.id, "no")
    assert workshop.do(photos.erase, "owner", number, made.id, "a face").erased_at is not None


def test_a_job_holds_only_so_many(
    workshop: Workshop, number: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(photos, "MOST_OF_A_JOB", 1)
    made = add(workshop, number)
    with pytest.raises(Conflict, match="too_many_photos"):
        add(workshop, number, "zone.fork")
    workshop.do(photos.take_out, "desk", number, made.id, "blurred")
    assert add(workshop, number, "zone.fork").stands


def test_the_log_tells_the_digest_and_no_caption(workshop: Workshop, number: str) -> None:
    made = add(workshop, number, "zone.tank")
    with workshop.rows() as (session, actor):
        found = scoped(session, actor, Event).where(Event.what == "photo.added")
        said = json.loads(session.scalars(found).one().public)
    assert said == {
        "photo": made.id, "about": "zone.tank", "size": len(ONE.whole), "sha256": made.sha256,
    }  # fmt: skip


@pytest.mark.parametrize(
    ("model", "change"),
    [(Photo, {"sha256": "0"}), (Photo, {"added_by_id": 2}), (PhotoFile, {"content": b"other"})],
)
def test_what_was_kept_is_never_changed(
    workshop: Workshop, number: str, model: type[Photo | PhotoFile], change: dict[str, object]
) -> None:
    add(workshop, number)
    with pytest.raises(PermanentRecord):
        workshop.tamper(model, 1, **change)


def forge(workshop: Workshop, *statements: str) -> list[tuple[str, str | None]]:
    """Changes the database behind the program's back; gives what the check of the log finds."""
    with workshop.database.engine.begin() as connection:
        for statement in statements:
            connection.exec_driver_sql(statement)
    with workshop.rows() as (session, actor):
        return [(one.code, one.name) for one in audit_check.verify(session, actor).breaks]


def test_a_photo_that_was_changed_or_removed_behind_the_log_is_noticed(
    workshop: Workshop, number: str
) -> None:
    add(workshop, number)
    workshop.do(photos.add, "desk", number, OTHER, None, None)
    workshop.do(photos.erase, "owner", number, 2, "a face")
    assert forge(workshop) == []
    whole = "photo_id = 1 AND form = 'whole'"
    altered = f"UPDATE photo_file SET content = x'00' WHERE {whole}"
    assert forge(workshop, altered) == [("photo_altered", "1")]
    removed = f"DELETE FROM photo_file WHERE {whole}"
    silently = "UPDATE photo SET erased_at = added_at WHERE id = 1"
    assert forge(workshop, removed) == [("photo_missing", "1")]
    assert forge(workshop, silently) == [("photo_missing", "1")]


def test_every_fault_has_its_sentence() -> None:
    assert set(FAULTS) == set(audit_check.FAULTS)
