"""The owner's password on the signing keys, and what recipients are given."""

import pytest

from app.errors import BadInput, NotAllowed, Unavailable
from app.services import signing_keys
from app.signing.authority import found_authority
from tests.services.certifying import Bench

OWN = "a key kept by the owner"


@pytest.fixture
def keyed(job: Bench) -> Bench:
    """A shop that has its authority already."""
    found_authority(job.press.data_dir, "Invented Workshop", job.workshop.now)
    return job


def change(job: Bench, old: str | None, new: str, role: str = "owner") -> None:
    job.workshop.do(signing_keys.set_password, role, old, new, press=job.press)


def test_recipients_get_the_authoritys_certificate_and_its_digest(keyed: Bench) -> None:
    given = signing_keys.authority(keyed.press)
    assert given.pem.startswith(b"-----BEGIN CERTIFICATE-----")
    assert len(given.sha256) == 64


def test_before_the_first_certificate_there_is_no_authority(job: Bench) -> None:
    with pytest.raises(Unavailable, match="no_authority"):
        signing_keys.authority(job.press)
    with pytest.raises(Unavailable, match="no_authority"):
        change(job, None, OWN)
    assert not signing_keys.has_own_password(job.press)


def test_the_owner_sets_and_changes_the_password(keyed: Bench) -> None:
    assert not signing_keys.has_own_password(keyed.press)
    change(keyed, None, OWN)
    assert signing_keys.has_own_password(keyed.press)
    for wrong in (None, "not this one"):
        with pytest.raises(BadInput) as caught:
            change(keyed, wrong, "another key of the owner")
        assert caught.value.problems[0].code == "signing_password_wrong"
    change(keyed, OWN, "another key of the owner")


def test_a_weak_password_and_another_role_are_refused(keyed: Bench) -> None:
    with pytest.raises(BadInput) as caught:
        change(keyed, None, "short")
    assert caught.value.problems[0].field == "new_password"
    with pytest.raises(NotAllowed):
        change(keyed, None, OWN, role="inspector")
    assert not signing_keys.has_own_password(keyed.press)
