"""The signing key as it is loaded: opened by its password, and checked before it is used.

A signature made with an expired certificate, or with a key that does not belong to it, comes
about without complaint and is refused by every recipient; so all of that is looked at here.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from cryptography import x509
from cryptography.hazmat.primitives.asymmetric import ec, rsa
from cryptography.hazmat.primitives.serialization import (
    Encoding,
    NoEncryption,
    PrivateFormat,
    PublicFormat,
)
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

from app.errors import NotAllowed, Unavailable
from app.signing.authority import authority_pem, kept_password, opened_signer
from app.signing.chain import chain_above, issued, may_issue
from app.signing.distrust import distrusted
from app.signing.private_files import alone_in
from app.signing.profile import SIGNER_USES, PrivateKey
from app.signing.trust import fingerprint_of, note_signer

FEWEST_RSA_BITS = 2048
CURVES = ("secp256r1", "secp384r1", "secp521r1")
USES = frozenset({*SIGNER_USES, ExtendedKeyUsageOID.ANY_EXTENDED_KEY_USAGE.dotted_string})
"""One of these must be allowed where a certificate says what it is for."""


@dataclass(frozen=True, slots=True)
class SigningKey:
    """An opened key. It crosses to the worker process over a pipe, never by argument or file."""

    private_der: bytes
    certificate_der: bytes
    authority_pem: bytes
    common_name: str
    fingerprint: str
    """SHA-256 of the signer's certificate."""
    between_der: tuple[bytes, ...] = ()
    """Certificates between the signer and the authority."""

    def __repr__(self) -> str:
        return f"SigningKey({self.common_name!r}, {self.fingerprint[:16]})"


def open_key(folder: Path, password: str | None, now: datetime) -> SigningKey:
    """Open the signer's PKCS#12 file and check it.

    password: None as long as the random one lies beside the keys. Raises NotAllowed when the
    password is needed or wrong; Unavailable when the certificate is not valid now or not meant
    for documents, when key and certificate do not belong together, when the authority did
    not issue it, or when it was marked as not to be trusted any more. While the keys are being
    renewed it waits for that.
    """
    if not folder.is_dir():
        raise Unavailable("signing_key_unreadable", None, path=str(folder))
    with alone_in(folder):
        return opened_as_it_is(folder, password, now)


def opened_as_it_is(folder: Path, password: str | None, now: datetime) -> SigningKey:
    """The same, where nobody changes the folder meanwhile."""
    given = password or kept_password(folder)
    if given is None:
        raise NotAllowed("signing_password_needed")
    key, certificate, others = opened_signer(folder, given)
    if fingerprint_of(certificate) in {one.signer_sha256 for one in distrusted(folder)}:
        raise Unavailable("signing_key_distrusted")
    authority = authority_pem(folder)
    between = check(key, certificate, x509.load_pem_x509_certificate(authority), now, others)
    note_signer(folder, certificate)
    return SigningKey(
        private_der=key.private_bytes(Encoding.DER, PrivateFormat.PKCS8, NoEncryption()),
        certificate_der=certificate.public_bytes(Encoding.DER),
        authority_pem=authority,
        common_name=common_name(certificate),
        fingerprint=fingerprint_of(certificate),
        between_der=tuple(one.public_bytes(Encoding.DER) for one in between),
    )


def common_name(certificate: x509.Certificate) -> str:
    """What the certificate calls its holder; empty when it does not say."""
    common = certificate.subject.get_attributes_for_oid(NameOID.COMMON_NAME)
    return str(common[0].value) if common else ""


def organisation(certificate: x509.Certificate) -> str:
    """Whose it is, as the certificate says; empty when it does not."""
    named = certificate.subject.get_attributes_for_oid(NameOID.ORGANIZATION_NAME)
    return str(named[0].value) if named else ""


def check(
    key: PrivateKey,
    certificate: x509.Certificate,
    authority: x509.Certificate,
    now: datetime,
    others: Sequence[x509.Certificate] = (),
) -> tuple[x509.Certificate, ...]:
    """The certificates between the two; `others` may hold them and more.

    Raises Unavailable unless a signature made now would be accepted.
    """
    if public_bytes(key.public_key()) != public_bytes(certificate.public_key()):
        raise Unavailable("signing_key_not_of_certificate")
    check_strength(key)
    chain = chain_above(certificate, (*others, authority))
    if authority not in chain:
        raise Unavailable("signing_certificate_of_other_authority")
    between = chain[: chain.index(authority)]
    for one in (certificate, *between, authority):
        check_dates(one, now)
    check_uses(certificate)
    if not all(may_issue(upper, below) for below, upper in enumerate((*between, authority))):
        raise Unavailable("signing_certificate_unsuitable", None, what="chain")
    return between


def check_strength(key: PrivateKey) -> None:
    """Raise Unavailable for a key that checkers refuse or that is too short."""
    usual = (
        key.key_size >= FEWEST_RSA_BITS
        if isinstance(key, rsa.RSAPrivateKey)
        else key.curve.name in CURVES
    )
    if not usual:
        raise Unavailable("signing_key_unusable")


def check_dates(one: x509.Certificate, now: datetime) -> None:
    """Raise Unavailable for a certificate that is not valid now."""
    if not one.not_valid_before_utc <= now <= one.not_valid_after_utc:
        raise Unavailable(
            "signing_certificate_not_valid_now",
            None,
            valid_from=one.not_valid_before_utc.date().isoformat(),
            valid_until=one.not_valid_after_utc.date().isoformat(),
        )


def check_uses(certificate: x509.Certificate) -> None:
    """Raise Unavailable for a certificate that is not meant to sign documents.

    RFC 5280, 4.2.1.3 and 4.2.1.12: what a certificate does not restrict is allowed.
    """
    held = {one.oid: one.value for one in certificate.extensions}
    usage = held.get(x509.KeyUsage.oid)
    if isinstance(usage, x509.KeyUsage) and not usage.content_commitment:
        raise Unavailable("signing_certificate_unsuitable", None, what="key usage")
    extended = held.get(x509.ExtendedKeyUsage.oid)
    if isinstance(extended, x509.ExtendedKeyUsage):
        allowed = {use.dotted_string for use in extended}
        if not allowed & USES:
            raise Unavailable("signing_certificate_unsuitable", None, what="extended key usage")
    basic = held.get(x509.BasicConstraints.oid)
    if isinstance(basic, x509.BasicConstraints) and basic.ca:
        raise Unavailable("signing_certificate_unsuitable", None, what="authority")


def authority_in(
    certificate: x509.Certificate, others: Sequence[x509.Certificate]
) -> x509.Certificate:
    """The topmost certificate above the signer's, which is to be trusted.

    Raises Unavailable when the signer's stands alone or is signed by itself.
    """
    chain = chain_above(certificate, others)
    if not chain or issued(certificate, certificate):
        raise Unavailable("signing_authority_missing")
    return chain[-1]


def public_bytes(key: object) -> bytes:
    """The public key as bytes, to compare."""
    if not isinstance(key, ec.EllipticCurvePublicKey | rsa.RSAPublicKey):
        raise Unavailable("signing_key_unusable")
    return key.public_bytes(Encoding.DER, PublicFormat.SubjectPublicKeyInfo)
