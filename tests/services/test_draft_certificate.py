"""The pages before the signature: what they say, and that nobody takes them for a certificate."""

from pathlib import Path

import pytest

from app.errors import NotAllowed, RefusedToIssue
from app.services.composing import Wish
from app.services.draft_certificate import draft_certificate
from tests.services.certifying import Bench, Benches, pages_of, text_of


def wish(job: Bench, role: str = "inspector", opinion: str = "") -> Wish:
    shop = job.workshop
    return Wish(shop.people[role], job.number, "completion", shop.now, None, None, opinion)


def test_a_draft_says_what_the_certificate_will_and_that_it_is_none(
    benches: Benches, tmp_path: Path
) -> None:
    job = benches.copy(tmp_path)
    found = wish(job, opinion="Ride it again.")
    pdf = draft_certificate(job.workshop.database, found, job.press)
    words = text_of(pdf, tmp_path)
    assert "Ride it again." in words
    assert "within the tolerances" in words.lower()
    assert "never: this is a draft, and it is not signed" in words
    pages = pages_of(pdf, tmp_path)
    assert len(pages) > 1
    assert all("Draft: " in page and "not signed" in page for page in pages)
    assert "from then until replaced or withdrawn" not in words
    assert b"/ByteRange" not in pdf
    assert job.register() == {}


def test_what_may_not_be_issued_has_no_draft_either(benches: Benches, tmp_path: Path) -> None:
    job = benches.copy(tmp_path, of="ready")
    with pytest.raises(RefusedToIssue) as refused:
        draft_certificate(job.workshop.database, wish(job), job.press)
    assert "no_survey" in {problem.code for problem in refused.value.reasons}


def test_a_draft_is_for_those_who_sign(benches: Benches, tmp_path: Path) -> None:
    job = benches.copy(tmp_path)
    with pytest.raises(NotAllowed):
        draft_certificate(job.workshop.database, wish(job, role="technician"), job.press)
