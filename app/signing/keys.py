"""The signing key as it is loaded: opened by its password, and checked before it is used.

A signature made with an expired certificate, or with a key that does not belong to it, comes
about without complaint and is refused by every recipient; so both are looked at here.
"""

from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from cryptography import x509
from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec, rsa
from cryptography.hazmat.primitives.serialization import (
    Encoding,
    NoEncryption,
    PrivateFormat,
    PublicFormat,
    pkcs12,
)
from cryptography.x509.oid import NameOID

from app.errors import NotAllowed, Unavailable
from app.signing.authority import SIGNER, authority_pem, kept_password

SigningPrivateKey = ec.EllipticCurvePrivateKey | rsa.RSAPrivateKey


@dataclass(frozen=True, slots=True)
class SigningKey:
    """An opened key. It crosses to the worker process over a pipe, never by argument or file."""

    private_der: bytes
    certificate_der: bytes
    authority_pem: bytes
    common_name: str
    fingerprint: str
    """SHA-256 of the signer's certificate."""

    def __repr__(self) -> str:
        return f"SigningKey({self.common_name!r}, {self.fingerprint[:16]})"


def open_key(folder: Path, password: str | None, now: datetime) -> SigningKey:
    """Open the signer's PKCS#12 file and check it.

    password: None as long as the random one lies beside the keys. Raises NotAllowed when the
    password is needed or wrong; Unavailable when the certificate is not valid now, when key and
    certificate do not belong together, or when the authority did not issue it.
    """
    given = password or kept_password(folder)
    if given is None:
        raise NotAllowed("signing_password_needed")
    key, certificate = read_pkcs12(folder / SIGNER, given)
    authority = authority_pem(folder)
    check(key, certificate, x509.load_pem_x509_certificate(authority), now)
    common = certificate.subject.get_attributes_for_oid(NameOID.COMMON_NAME)
    return SigningKey(
        private_der=key.private_bytes(Encoding.DER, PrivateFormat.PKCS8, NoEncryption()),
        certificate_der=certificate.public_bytes(Encoding.DER),
        authority_pem=authority,
        common_name=str(common[0].value) if common else "",
        fingerprint=certificate.fingerprint(hashes.SHA256()).hex(),
    )


def read_pkcs12(path: Path, password: str) -> tuple[SigningPrivateKey, x509.Certificate]:
    """Key and certificate of a PKCS#12 file."""
    try:
        key, certificate, _ = pkcs12.load_key_and_certificates(path.read_bytes(), password.encode())
    except OSError as error:
        raise Unavailable("signing_key_unreadable", None, path=str(path)) from error
    except ValueError as error:
        raise NotAllowed("signing_password_wrong") from error
    if certificate is None or not isinstance(key, SigningPrivateKey):
        raise Unavailable("signing_key_unusable")
    return key, certificate


def check(
    key: SigningPrivateKey,
    certificate: x509.Certificate,
    authority: x509.Certificate,
    now: datetime,
) -> None:
    """Raise Unavailable unless a signature made now would be accepted."""
    if public_bytes(key.public_key()) != public_bytes(certificate.public_key()):
        raise Unavailable("signing_key_not_of_certificate")
    for one in (certificate, authority):
        if not one.not_valid_before_utc <= now <= one.not_valid_after_utc:
            raise Unavailable(
                "signing_certificate_not_valid_now",
                None,
                valid_from=one.not_valid_before_utc.date().isoformat(),
                valid_until=one.not_valid_after_utc.date().isoformat(),
            )
    try:
        certificate.verify_directly_issued_by(authority)
    except (ValueError, TypeError, InvalidSignature) as error:
        raise Unavailable("signing_certificate_of_other_authority") from error


def public_bytes(key: object) -> bytes:
    """The public key as bytes, to compare."""
    if not isinstance(key, ec.EllipticCurvePublicKey | rsa.RSAPublicKey):
        raise Unavailable("signing_key_unusable")
    return key.public_bytes(Encoding.DER, PublicFormat.SubjectPublicKeyInfo)
