"""The shop's keys: made once, private, under a password, and checked when they are opened."""

import shutil
import stat
import threading
from datetime import timedelta
from pathlib import Path

import pytest
from cryptography import x509
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import ExtendedKeyUsageOID

from app.errors import NotAllowed, Unavailable
from app.signing.authority import (
    PASSWORD,
    SIGNER,
    authority_pem,
    change_password,
    fingerprint,
    found_authority,
    sealed_signer,
)
from app.signing.keys import check, open_key
from app.signing.profile import (
    SIGNER_YEARS,
    authority_certificate,
    new_key,
    signer_certificate,
)
from tests.databases import NOW
from tests.signing.conftest import Signed


@pytest.fixture
def folder(tmp_path: Path, signed: Signed) -> Path:
    """A copy of the keys, to be changed."""
    copy = tmp_path / "signing"
    shutil.copytree(signed.folder, copy)
    return copy


def test_files_are_readable_by_their_owner_alone(signed: Signed) -> None:
    modes = {path.name: stat.S_IMODE(path.stat().st_mode) for path in signed.folder.iterdir()}
    assert modes == dict.fromkeys(
        ["authority.pem", "authority-key.pem", "signer.p12", "signers.pem", "password"], 0o600
    )
    assert stat.S_IMODE(signed.folder.stat().st_mode) == 0o700


def test_made_on_first_use_and_kept(tmp_path: Path) -> None:
    first = authority_pem(found_authority(tmp_path, "Brook Lane Frames", NOW))
    again = authority_pem(found_authority(tmp_path, "Another name", NOW + timedelta(days=1)))
    assert first == again


def test_two_programs_that_start_at_once_agree_on_one_authority(tmp_path: Path) -> None:
    seen: list[str] = []
    start = threading.Barrier(4)

    def begin() -> None:
        start.wait()
        seen.append(fingerprint(authority_pem(found_authority(tmp_path, "Shop", NOW))))

    threads = [threading.Thread(target=begin) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(seen) == 4
    assert len(set(seen)) == 1
    assert [path.name for path in tmp_path.iterdir()] == ["signing"]


def test_certificates_carry_what_checkers_ask_for(signed: Signed) -> None:
    authority = x509.load_pem_x509_certificate(signed.authority)
    signer = x509.load_der_x509_certificate(signed.key.certificate_der)
    of_authority = authority.extensions.get_extension_for_class(x509.BasicConstraints)
    assert of_authority.critical
    assert (of_authority.value.ca, of_authority.value.path_length) == (True, 0)
    usage = signer.extensions.get_extension_for_class(x509.KeyUsage).value
    assert usage.digital_signature
    assert usage.content_commitment
    assert not usage.key_cert_sign
    uses = signer.extensions.get_extension_for_class(x509.ExtendedKeyUsage).value
    assert ExtendedKeyUsageOID.EMAIL_PROTECTION in uses
    assert x509.ObjectIdentifier("1.3.6.1.5.5.7.3.36") in uses
    assert isinstance(signer.public_key(), ec.EllipticCurvePublicKey)
    signer.verify_directly_issued_by(authority)


def test_a_long_shop_name_still_fits_a_certificate(tmp_path: Path) -> None:
    key = open_key(found_authority(tmp_path, "Ø" * 200, NOW), None, NOW)
    assert key.common_name.endswith("certificate signing")


def test_the_owners_password_replaces_the_random_one(folder: Path) -> None:
    change_password(folder, None, "a password of the owner")
    assert not (folder / PASSWORD).exists()
    with pytest.raises(NotAllowed, match="signing_password_needed"):
        open_key(folder, None, NOW)
    with pytest.raises(NotAllowed, match="signing_password_wrong"):
        open_key(folder, "another", NOW)
    assert open_key(folder, "a password of the owner", NOW).common_name
    with pytest.raises(NotAllowed, match="signing_password_wrong"):
        change_password(folder, "another", "a third password")
    change_password(folder, "a password of the owner", "a third password")
    assert open_key(folder, "a third password", NOW).common_name


@pytest.mark.parametrize("moment", [timedelta(hours=-1), timedelta(days=365 * SIGNER_YEARS + 1)])
def test_a_certificate_that_is_not_valid_now_is_not_used(signed: Signed, moment: timedelta) -> None:
    with pytest.raises(Unavailable, match="signing_certificate_not_valid_now"):
        open_key(signed.folder, None, NOW + moment)


def test_a_key_of_another_certificate_is_not_used(signed: Signed) -> None:
    """The library that writes PKCS#12 files makes no such pair, but other tools do."""
    signer = x509.load_der_x509_certificate(signed.key.certificate_der)
    authority = x509.load_pem_x509_certificate(signed.authority)
    with pytest.raises(Unavailable, match="signing_key_not_of_certificate"):
        check(new_key(), signer, authority, NOW)


def test_a_signer_of_another_authority_is_not_used(folder: Path) -> None:
    password = (folder / PASSWORD).read_text()
    authority_key, key = new_key(), new_key()
    authority = authority_certificate("Another shop", authority_key, NOW)
    signer = signer_certificate("Another shop", key, authority, authority_key, NOW)
    (folder / SIGNER).write_bytes(sealed_signer(key, signer, (authority,), password))
    with pytest.raises(Unavailable, match="signing_certificate_of_other_authority"):
        open_key(folder, None, NOW)


@pytest.mark.parametrize("content", [b"", b"not a key file"])
def test_a_broken_key_file_is_refused_and_not_a_crash(folder: Path, content: bytes) -> None:
    (folder / SIGNER).write_bytes(content)
    with pytest.raises((Unavailable, NotAllowed)):
        open_key(folder, None, NOW)
    (folder / SIGNER).unlink()
    with pytest.raises(Unavailable, match="signing_key_unreadable"):
        open_key(folder, None, NOW)


def test_the_opened_key_does_not_print_itself(signed: Signed) -> None:
    assert "private" not in repr(signed.key)
