"""The owner's password on the signing keys, and what recipients are given."""

import pytest

from app.errors import BadInput, NotAllowed, Unavailable
from app.services import signing_keys
from app.signing.authority import found_authority
from app.signing.profile import new_key
from tests.services.certifying import Bench
from tests.signing.test_renewal import OWN as FILE_PASSWORD
from tests.signing.test_renewal import issued_to
from tests.signing.time_authority import made

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


def test_the_owner_renews_the_key_and_recipients_are_told_of_both(keyed: Bench) -> None:
    before = signing_keys.authority(keyed.press)
    with pytest.raises(NotAllowed):
        keyed.workshop.do(signing_keys.renew, "inspector", None, press=keyed.press)
    renewed = keyed.workshop.do(signing_keys.renew, "owner", None, press=keyed.press)
    assert renewed.sha256 == before.sha256
    assert renewed.signer_sha256 != before.signer_sha256
    other = keyed.workshop.do(
        signing_keys.renew, "owner", None, press=keyed.press, authority_too=True
    )
    assert other.earlier == (before.sha256,)
    assert other.is_shops_own


def test_renewing_with_a_wrong_password_is_told_beside_its_field(keyed: Bench) -> None:
    change(keyed, None, OWN)
    for wrong in (None, "not this one"):
        with pytest.raises(BadInput) as caught:
            keyed.workshop.do(signing_keys.renew, "owner", wrong, press=keyed.press)
        assert caught.value.problems[0].field == "key_password"


def test_the_shops_own_file_is_loaded_and_its_password_asked_for_when_signing(
    job: Bench,
) -> None:
    chain = issued_to("Invented Workshop", (new_key(), new_key()), now=job.workshop.now)
    with pytest.raises(BadInput) as caught:
        job.workshop.do(signing_keys.load_own, "owner", chain.file(), "no", press=job.press)
    assert caught.value.problems[0].field == "file_password"
    found = job.workshop.do(
        signing_keys.load_own, "owner", chain.file(), FILE_PASSWORD, press=job.press
    )
    assert not found.is_shops_own
    assert found.signer == "Invented Workshop"
    assert signing_keys.has_own_password(job.press)


def test_only_the_owner_sets_who_stamps(keyed: Bench) -> None:
    service = made(keyed.workshop.now).service()
    with pytest.raises(NotAllowed):
        keyed.workshop.do(signing_keys.set_time_stamps, "inspector", service, press=keyed.press)
    keyed.workshop.do(signing_keys.set_time_stamps, "owner", service, press=keyed.press)
    assert signing_keys.time_stamps(keyed.press) == service
    keyed.workshop.do(signing_keys.set_time_stamps, "owner", None, press=keyed.press)
    assert signing_keys.time_stamps(keyed.press) is None
