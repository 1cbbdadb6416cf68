"""The shop's authority and its signer: X.509 certificates as checkers of PDF signatures want them.

The extended key usages and trust were tried against pyHanko, poppler's pdfsig and OpenSSL:
document signing alone is refused by the last two, together with e-mail protection all accept it.
"""

from datetime import datetime, timedelta
from typing import Literal

from cryptography import x509
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec, rsa
from cryptography.x509.oid import NameOID

AUTHORITY_YEARS = 20
SIGNER_YEARS = 5
CLOCK_SLACK = timedelta(minutes=5)
"""Valid from a little before now: the recipient's clock may be slow."""
SIGNER_USES = (
    "1.3.6.1.5.5.7.3.36",  # document signing, RFC 9336
    "1.3.6.1.5.5.7.3.4",  # e-mail protection
    "1.2.840.113583.1.1.5",  # authentic documents, as PDF readers ask for it
)
NO_USES = dict.fromkeys(
    (
        "digital_signature", "content_commitment", "key_encipherment", "data_encipherment",
        "key_agreement", "key_cert_sign", "crl_sign", "encipher_only", "decipher_only",
    ),
    False,
)  # fmt: skip
LONGEST_NAME = 64
"""X.520 allows no longer name; counted in bytes here, to be safe."""

PrivateKey = ec.EllipticCurvePrivateKey | rsa.RSAPrivateKey
KeyKind = Literal["ec-p256", "rsa-3072"]
"""On the curve P-256 by itself; RSA for a recipient whose checker knows nothing else."""
RSA_BITS = 3072


def new_key(kind: KeyKind = "ec-p256") -> PrivateKey:
    """A fresh key."""
    if kind == "rsa-3072":
        return rsa.generate_private_key(65537, RSA_BITS)
    return ec.generate_private_key(ec.SECP256R1())


def name_of(shop: str, role: str) -> x509.Name:
    """The distinguished name: the shop, and what this certificate is for."""
    organisation = organisation_of(shop)
    common = f"{cut(organisation, LONGEST_NAME - len(role) - 3)} - {role}"
    return x509.Name(
        [
            x509.NameAttribute(NameOID.ORGANIZATION_NAME, organisation),
            x509.NameAttribute(NameOID.COMMON_NAME, common),
        ]
    )


def organisation_of(shop: str) -> str:
    """What a certificate calls the shop: its name, where that is short enough."""
    return cut(shop.strip(), LONGEST_NAME) or "Workshop"


def cut(text: str, size: int) -> str:
    """The text, cut to so many bytes of UTF-8."""
    return text.encode()[:size].decode(errors="ignore").strip()


def uses(**named: bool) -> x509.KeyUsage:
    """Key usage with only the named ones set."""
    return x509.KeyUsage(**{**NO_USES, **named})


def authority_certificate(shop: str, key: PrivateKey, now: datetime) -> x509.Certificate:
    """The shop's authority, signed by itself; it may sign no further authority."""
    name = name_of(shop, "shop authority")
    return (
        started(name, name, key, now, years_on(now, AUTHORITY_YEARS))
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .add_extension(uses(key_cert_sign=True, crl_sign=True), critical=True)
        .sign(key, hashes.SHA256())
    )


def signer_certificate(
    shop: str,
    key: PrivateKey,
    authority: x509.Certificate,
    authority_key: PrivateKey,
    now: datetime,
) -> x509.Certificate:
    """The signer of certificates, under the authority and no longer valid than that."""
    identifier = authority.extensions.get_extension_for_class(x509.SubjectKeyIdentifier).value
    issuer_key = x509.AuthorityKeyIdentifier.from_issuer_subject_key_identifier(identifier)
    allowed = x509.ExtendedKeyUsage([x509.ObjectIdentifier(use) for use in SIGNER_USES])
    name = name_of(shop, "certificate signing")
    until = min(years_on(now, SIGNER_YEARS), authority.not_valid_after_utc)
    return (
        started(name, authority.subject, key, now, until)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(uses(digital_signature=True, content_commitment=True), critical=True)
        .add_extension(issuer_key, critical=False)
        .add_extension(allowed, critical=False)
        .sign(authority_key, hashes.SHA256())
    )


def years_on(now: datetime, years: int) -> datetime:
    """So many years later, of 365 days."""
    return now + timedelta(days=365 * years)


def started(
    subject: x509.Name, issuer: x509.Name, key: PrivateKey, now: datetime, until: datetime
) -> x509.CertificateBuilder:
    """What both certificates have in common."""
    return (
        x509.CertificateBuilder()
        .subject_name(subject)
        .issuer_name(issuer)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - CLOCK_SLACK)
        .not_valid_after(until)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
    )
