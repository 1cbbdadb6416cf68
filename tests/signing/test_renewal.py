"""Renewing keys, and the shop's own PKCS#12 file: what was signed before stays verifiable."""

import io
import stat
from datetime import datetime, timedelta
from pathlib import Path
from typing import NamedTuple

import pytest
from cryptography import x509
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec, rsa
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID
from pyhanko.pdf_utils.reader import PdfFileReader

from app.errors import NotAllowed, Unavailable
from app.signing.authority import (
    PASSWORD,
    authority_pem,
    change_password,
    found_authority,
    sealed_signer,
)
from app.signing.checking import check, check_against
from app.signing.keys import open_key
from app.signing.profile import SIGNER_YEARS, PrivateKey, new_key, uses
from app.signing.renewal import renew_authority, renew_signer, use_own
from app.signing.trust import signers, trust_of
from tests.databases import NOW
from tests.signing.conftest import Signed
from tests.signing.pages import signed_with
from tests.signing.test_authority import folder

__all__ = ["folder"]

LATER = NOW + timedelta(days=30)
OWN = "the password of the file"
DOCUMENTS = x509.ObjectIdentifier("1.3.6.1.5.5.7.3.36")


def verdict(pdf: bytes, folder: Path) -> str | None:
    return check_against(pdf, trust_of(folder), LATER).why_not


def test_a_renewed_signer_signs_and_the_earlier_one_stays_trusted(
    folder: Path, signed: Signed
) -> None:
    renew_signer(folder, "Brook Lane Frames", None, LATER)
    key = open_key(folder, None, LATER)
    assert key.fingerprint != signed.key.fingerprint
    assert key.authority_pem == signed.authority
    assert len(signers(folder)) == 2
    assert verdict(signed.pdf, folder) is None
    assert verdict(signed_with(key, LATER), folder) is None


def test_a_renewed_signer_is_valid_when_the_earlier_one_has_expired(folder: Path) -> None:
    late = NOW + timedelta(days=365 * SIGNER_YEARS + 1)
    with pytest.raises(Unavailable, match="signing_certificate_not_valid_now"):
        open_key(folder, None, late)
    renew_signer(folder, "Brook Lane Frames", None, late)
    assert open_key(folder, None, late).common_name


def test_a_renewed_authority_leaves_the_earlier_one_trusted(folder: Path, signed: Signed) -> None:
    renew_authority(folder, "Brook Lane Frames", None, LATER)
    key = open_key(folder, None, LATER)
    assert key.authority_pem != signed.authority
    assert verdict(signed.pdf, folder) is None
    new = signed_with(key, LATER)
    assert verdict(new, folder) is None
    assert check(new, [signed.authority], LATER).why_not == "not_trusted"
    assert check(signed.pdf, [key.authority_pem], LATER).why_not == "not_trusted"
    modes = {stat.S_IMODE(one.stat().st_mode) for one in folder.rglob("*") if one.is_file()}
    assert modes == {0o600}


def test_renewing_asks_for_the_password_of_the_keys(folder: Path) -> None:
    change_password(folder, None, "a password of the owner")
    with pytest.raises(NotAllowed, match="signing_password_needed"):
        renew_signer(folder, "Shop", None, LATER)
    for renew in (renew_signer, renew_authority):
        with pytest.raises(NotAllowed, match="signing_password_wrong"):
            renew(folder, "Shop", "another", LATER)
        renew(folder, "Shop", "a password of the owner", LATER)
    assert open_key(folder, "a password of the owner", LATER).common_name


def test_rsa_is_an_option(folder: Path) -> None:
    renew_authority(folder, "Brook Lane Frames", None, LATER, "rsa-3072")
    key = open_key(folder, None, LATER)
    held = x509.load_der_x509_certificate(key.certificate_der).public_key()
    assert isinstance(held, rsa.RSAPublicKey)
    assert held.key_size == 3072
    assert verdict(signed_with(key, LATER), folder) is None
    change_password(folder, None, "a password of the owner")
    assert open_key(folder, "a password of the owner", LATER).fingerprint == key.fingerprint


class Chain(NamedTuple):
    """What an issuer elsewhere hands out."""

    key: PrivateKey
    signer: x509.Certificate
    above: tuple[x509.Certificate, ...]

    def file(self, key: PrivateKey | None = None) -> bytes:
        return sealed_signer(key or self.key, self.signer, self.above, OWN)


def issued_to(name: str, issuers: tuple[PrivateKey, PrivateKey], **other: object) -> Chain:
    """A chain of three under the two issuers' keys, the signer's certificate as told."""
    now: datetime = other.get("now", NOW)  # type: ignore[assignment]
    root = certificate("Invented Root", issuers[0], "Invented Root", issuers[0], path=1, now=now)
    between = certificate(
        "Invented Issuer", issuers[1], "Invented Root", issuers[0], path=0, now=now
    )
    key = new_key()
    signer = certificate(name, key, "Invented Issuer", issuers[1], **other)  # type: ignore[arg-type]
    return Chain(key, signer, (between, root))


def certificate(
    name: str,
    key: PrivateKey,
    issuer: str,
    issuer_key: PrivateKey,
    *,
    path: int | None = None,
    usage: x509.KeyUsage | None = None,
    allowed: x509.ObjectIdentifier | None = DOCUMENTS,
    days: int = 400,
    now: datetime = NOW,
) -> x509.Certificate:
    """One certificate; with `path` that of an authority."""
    builder = (
        x509.CertificateBuilder()
        .subject_name(x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, name)]))
        .issuer_name(x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, issuer)]))
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - timedelta(days=1))
        .not_valid_after(now + timedelta(days=days))
        .add_extension(x509.BasicConstraints(path is not None, path), critical=True)
    )
    if path is not None:
        usage = uses(key_cert_sign=True)
    usage = usage or uses(digital_signature=True, content_commitment=True)
    builder = builder.add_extension(usage, critical=True)
    if path is None and allowed is not None:
        builder = builder.add_extension(x509.ExtendedKeyUsage([allowed]), critical=False)
    return builder.sign(issuer_key, hashes.SHA256())


@pytest.fixture(scope="module")
def issuers() -> tuple[PrivateKey, PrivateKey]:
    return new_key(), new_key()


def test_the_shops_own_file_signs_with_its_whole_chain(
    folder: Path, signed: Signed, issuers: tuple[PrivateKey, PrivateKey]
) -> None:
    chain = issued_to("Brook Lane Frames", issuers)
    use_own(folder, chain.file(), OWN, LATER)
    with pytest.raises(NotAllowed, match="signing_password_needed"):
        open_key(folder, None, LATER)
    key = open_key(folder, OWN, LATER)
    pdf = signed_with(key, LATER)
    (embedded,) = PdfFileReader(io.BytesIO(pdf)).embedded_signatures
    names = {one.subject.native["common_name"] for one in embedded.other_embedded_certs}
    assert names == {"Invented Issuer", "Invented Root"}
    assert verdict(pdf, folder) is None
    assert verdict(signed.pdf, folder) is None, "what the shop's authority signed stays trusted"
    assert check(pdf, [authority_pem(folder)], LATER).unaltered
    with pytest.raises(Unavailable, match="no_authority_key"):
        renew_signer(folder, "Shop", OWN, LATER)
    renew_authority(folder, "Shop", OWN, LATER)
    assert verdict(pdf, folder) is None, "and the other way round"


def test_another_customer_of_the_same_issuer_is_not_this_shop(
    folder: Path, issuers: tuple[PrivateKey, PrivateKey], tmp_path: Path
) -> None:
    use_own(folder, issued_to("Brook Lane Frames", issuers).file(), OWN, LATER)
    root = x509.load_pem_x509_certificate(authority_pem(folder))
    other = issued_to("Another shop", issuers)
    assert root.subject == other.above[-1].subject
    elsewhere = tmp_path / "elsewhere"
    same_root = Chain(other.key, other.signer, (other.above[0], root))
    use_own(elsewhere, same_root.file(), OWN, LATER)
    pdf = signed_with(open_key(elsewhere, OWN, LATER), LATER)
    assert check(pdf, [authority_pem(folder)], LATER).unaltered, "by the authority alone"
    assert verdict(pdf, folder) == "not_this_shop"


@pytest.mark.parametrize(
    ("told", "code"),
    [
        ({"usage": uses(digital_signature=True)}, "signing_certificate_unsuitable"),
        ({"allowed": ExtendedKeyUsageOID.SERVER_AUTH}, "signing_certificate_unsuitable"),
        ({"days": 10}, "signing_certificate_not_valid_now"),
    ],
)
def test_a_certificate_that_no_recipient_takes_is_refused_when_loaded(
    folder: Path, issuers: tuple[PrivateKey, PrivateKey], told: dict[str, object], code: str
) -> None:
    before = {one.name: one.read_bytes() for one in folder.iterdir() if one.is_file()}
    with pytest.raises(Unavailable, match=code):
        use_own(folder, issued_to("Shop", issuers, **told).file(), OWN, LATER)
    assert {one.name: one.read_bytes() for one in folder.iterdir() if one.is_file()} == before


def test_a_file_without_its_authority_or_with_another_password_is_refused(
    folder: Path, issuers: tuple[PrivateKey, PrivateKey]
) -> None:
    chain = issued_to("Shop", issuers)
    with pytest.raises(Unavailable, match="signing_authority_missing"):
        use_own(folder, Chain(chain.key, chain.signer, ()).file(), OWN, LATER)
    with pytest.raises(NotAllowed, match="signing_password_wrong"):
        use_own(folder, chain.file(), "another", LATER)
    with pytest.raises(NotAllowed, match="signing_password_wrong"):
        use_own(folder, b"not a key file", OWN, LATER)


def test_an_issuer_that_may_not_issue_is_refused(folder: Path) -> None:
    """The one between is no authority by its own certificate."""
    keys = new_key(), new_key()
    root = certificate("Invented Root", keys[0], "Invented Root", keys[0], path=0)
    between = certificate("Invented Issuer", keys[1], "Invented Root", keys[0])
    key = new_key()
    signer = certificate("Shop", key, "Invented Issuer", keys[1])
    with pytest.raises(Unavailable, match="signing_certificate_unsuitable"):
        use_own(folder, Chain(key, signer, (between, root)).file(), OWN, LATER)


def test_a_short_key_is_refused(folder: Path, issuers: tuple[PrivateKey, PrivateKey]) -> None:
    short = ec.generate_private_key(ec.SECP192R1())
    signer = certificate("Shop", short, "Invented Issuer", issuers[1])
    above = issued_to("Shop", issuers).above
    with pytest.raises(Unavailable, match="signing_key_unusable"):
        use_own(folder, Chain(short, signer, above).file(), OWN, LATER)


def test_own_file_in_a_shop_that_has_no_keys_yet(
    tmp_path: Path, issuers: tuple[PrivateKey, PrivateKey]
) -> None:
    use_own(tmp_path / "signing", issued_to("Shop", issuers).file(), OWN, NOW)
    assert found_authority(tmp_path, "Shop", NOW) == tmp_path / "signing"
    assert not (tmp_path / "signing" / PASSWORD).exists()
    assert open_key(tmp_path / "signing", OWN, NOW).common_name == "Shop"
