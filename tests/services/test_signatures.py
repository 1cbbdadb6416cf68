"""Signatures of customers: drawn on the screen or given on the printed card, and erased."""

import json
from typing import Any

import pytest

from app.errors import BadInput, Conflict, NotAllowed
from app.records.permanence import PermanentRecord
from app.records.scope import scoped
from app.records.tables import Event, Signature
from app.schemas.reading import checked
from app.schemas.signature import HEIGHT, MOST_POINTS, WIDTH, SignatureIn
from app.services import audit_check, check_in, customers, jobs, signatures
from tests.services.forms import check_in_form
from tests.services.workshop import Workshop

STROKES = [[[100, 200], [300, 100], [500, 200]], [[600, 50], [600, 300]]]
WORDING = "The shop may inspect the machine."


@pytest.fixture
def number(workshop: Workshop) -> str:
    return workshop.do(
        check_in.check_in, "desk", check_in_form(authorised_by="", privacy_notice_given=False)
    ).job_number


def signed(**changes: Any) -> SignatureIn:
    sent = {"purpose": "authorisation", "name": "Åse Ödegård", "strokes": STROKES, **changes}
    return checked(SignatureIn, sent)


def test_strokes_are_kept_as_they_were_drawn(workshop: Workshop, number: str) -> None:
    made = workshop.do(signatures.sign, "desk", number, signed(wording=WORDING))

    assert made.strokes == tuple(tuple((x, y) for x, y in stroke) for stroke in STROKES)
    assert (made.way, made.name, made.wording) == ("on_screen", "Åse Ödegård", WORDING)
    assert (made.at, made.taken_by) == (workshop.now, "Dora")
    assert workshop.see(signatures.listing, "inspector", number) == (made,)
    job = workshop.see(jobs.read, "desk", number)
    assert (job.authorised_by, job.privacy_notice_at) == ("Åse Ödegård", None)


def test_a_form_sends_the_strokes_as_text(workshop: Workshop, number: str) -> None:
    made = workshop.do(signatures.sign, "desk", number, signed(strokes=json.dumps(STROKES)))
    assert len(made.strokes) == 2


def test_the_printed_card_may_be_signed_instead(workshop: Workshop, number: str) -> None:
    card = signed(purpose="privacy", strokes="", on_card="on")
    made = workshop.do(signatures.sign, "desk", number, card)
    assert (made.way, made.strokes) == ("on_card", ())
    job = workshop.see(jobs.read, "desk", number)
    assert (job.authorised_by, job.privacy_notice_at) == (None, workshop.now)


def test_the_newest_of_a_purpose_stands_and_earlier_ones_are_kept(
    workshop: Workshop, number: str
) -> None:
    workshop.do(signatures.sign, "desk", number, signed())
    later = workshop.do(signatures.sign, "desk", number, signed(name="Bo", strokes=STROKES[1:]))
    assert workshop.see(signatures.standing, "desk", number) == {"authorisation": later}
    assert len(workshop.see(signatures.listing, "desk", number)) == 2


@pytest.mark.parametrize(
    ("changes", "code"),
    [
        ({"strokes": None}, "not_signed"),
        ({"strokes": []}, "not_signed"),
        ({"strokes": "[]"}, "not_signed"),
        ({"strokes": [[[5, 5]]]}, "signature_too_short"),
        ({"strokes": [[[5, 5], [100, 5]]]}, "signature_too_short"),
        ({"strokes": "[[[1,2],"}, "signature_unreadable"),
        ({"strokes": [[[0, 0], [WIDTH + 1, 0]]]}, "too_large"),
        ({"strokes": [[[0, HEIGHT + 1], [900, 0]]]}, "too_large"),
        ({"strokes": [[[-1, 0], [900, 0]]]}, "too_small"),
        ({"strokes": [[[0.5, 0], [900, 0]]]}, "wrong_type"),
        ({"strokes": [[["0", 0], [900, 0]]]}, "wrong_type"),
        ({"strokes": [[[0, 0, 0], [900, 0]]]}, "too_many"),
        ({"strokes": [[[0, 0], [900, 0]]] * 201}, "too_many"),
        ({"strokes": [[[0, 0], [900, 0]] * 1500] * 2}, "too_many"),
        ({"on_card": True}, "signed_twice"),
        ({"name": " "}, "missing"),
        ({"purpose": "sale"}, "not_one_of"),
    ],
)
def test_what_is_no_signature_is_refused(changes: dict[str, Any], code: str) -> None:
    with pytest.raises(BadInput) as refused:
        signed(**changes)
    assert refused.value.problems[0].code == code
    assert MOST_POINTS == 4000


def test_a_long_signature_is_taken_whole(workshop: Workshop, number: str) -> None:
    stroke = [[i % WIDTH, (7 * i) % HEIGHT] for i in range(MOST_POINTS)]
    made = workshop.do(signatures.sign, "desk", number, signed(strokes=[stroke]))
    assert sum(map(len, made.strokes)) == MOST_POINTS


def test_only_the_counter_has_customers_sign_and_technicians_do_not_see_it(
    workshop: Workshop, number: str
) -> None:
    for role in ("technician", "inspector"):
        with pytest.raises(NotAllowed):
            workshop.do(signatures.sign, role, number, signed())
    with pytest.raises(NotAllowed):
        workshop.see(signatures.listing, "technician", number)
    assert workshop.do(signatures.sign, "owner", number, signed()).id == 1


def test_a_closed_job_is_not_signed(workshop: Workshop, number: str) -> None:
    workshop.do(jobs.cancel, "desk", number, "sold")
    with pytest.raises(Conflict, match="job_closed"):
        workshop.do(signatures.sign, "desk", number, signed())


def test_erasing_a_customer_erases_name_and_strokes_but_not_that_it_was_signed(
    workshop: Workshop,
) -> None:
    done = workshop.do(check_in.check_in, "desk", check_in_form())
    workshop.do(signatures.sign, "desk", done.job_number, signed(wording=WORDING))

    workshop.do(customers.erase, "owner", done.customer_id, "she asked for it")

    (left,) = workshop.see(signatures.listing, "desk", done.job_number)
    assert (left.name, left.strokes, left.erased_at) == (None, (), workshop.now)
    assert (left.way, left.wording, left.taken_by) == ("on_screen", WORDING, "Dora")
    with workshop.rows() as (session, actor):
        assert audit_check.verify(session, actor).breaks == ()
        kept = session.scalars(scoped(session, actor, Signature)).one()
        assert (kept.name, kept.strokes) == ("", "")


def test_the_log_tells_digests_and_no_name(workshop: Workshop, number: str) -> None:
    workshop.do(signatures.sign, "desk", number, signed(wording=WORDING))
    with workshop.rows() as (session, actor):
        event = session.scalars(
            scoped(session, actor, Event).where(Event.what == "job.signed")
        ).one()
    said = json.loads(event.public)
    assert set(said) == {"signature", "purpose", "way", "strokes_sha256", "wording_sha256"}
    assert "Åse" not in event.public


@pytest.mark.parametrize(
    "change", [{"wording": "more"}, {"way": "on_card"}, {"purpose": "privacy"}]
)
def test_what_was_signed_is_never_changed(
    workshop: Workshop, number: str, change: dict[str, str]
) -> None:
    workshop.do(signatures.sign, "desk", number, signed(wording=WORDING))
    with pytest.raises(PermanentRecord):
        workshop.tamper(Signature, 1, **change)
