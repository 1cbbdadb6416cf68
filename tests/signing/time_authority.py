"""An authority for time stamps in this process: a root, one between, and who stamps.

Its answers go in where the network would give them.
"""

from dataclasses import dataclass
from datetime import datetime, timedelta

import pytest
from asn1crypto import cms, tsp  # type: ignore[import-untyped]
from cryptography import x509
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import rsa
from cryptography.hazmat.primitives.serialization import Encoding, NoEncryption, PrivateFormat
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID
from pyhanko.keys import load_certs_from_pemder_data, load_private_key_from_pemder_data
from pyhanko.sign.timestamps import DummyTimeStamper

from app.signing.profile import uses
from app.signing.time_stamp_service import Choice, Service
from app.signing.trust import pem_of

YEARS = timedelta(days=365 * 15)


@dataclass(frozen=True)
class TimeAuthority:
    root: x509.Certificate
    between: x509.Certificate
    stamper: x509.Certificate
    key: rsa.RSAPrivateKey

    @property
    def pem(self) -> str:
        return pem_of(self.root).decode()

    def service(self, choice: Choice = "refuse") -> Service:
        return Service("https://stamps.example/tsa", choice, self.pem)

    def answers(self, at: datetime) -> "Answers":
        return Answers(self, at)


@dataclass(frozen=True)
class Answers:
    """What the service answers, in the place of `Stamper.posted`."""

    authority: TimeAuthority
    at: datetime

    def __call__(self, _stamper: object, query: bytes) -> bytes:
        request = tsp.TimeStampReq.load(query)
        return bytes(self.response(request).dump())

    def response(self, request: tsp.TimeStampReq) -> tsp.TimeStampResp:
        (own,) = load_certs_from_pemder_data(der(self.authority.stamper))
        company = [
            one
            for held in (self.authority.between, self.authority.root)
            for one in load_certs_from_pemder_data(der(held))
        ]
        stamper = DummyTimeStamper(
            tsa_cert=own,
            tsa_key=load_private_key_from_pemder_data(key_der(self.authority.key), None),
            certs_to_embed=company,  # type: ignore[arg-type]
            fixed_dt=self.at,
        )
        return stamper.request_tsa_response(request)


def der(certificate: x509.Certificate) -> bytes:
    return certificate.public_bytes(Encoding.DER)


def key_der(key: rsa.RSAPrivateKey) -> bytes:
    return key.private_bytes(Encoding.DER, PrivateFormat.PKCS8, NoEncryption())


def made(start: datetime, until: datetime | None = None) -> TimeAuthority:
    """A new one, its stamper valid until then."""
    keys = [rsa.generate_private_key(65537, 2048) for _ in range(3)]
    top = certificate("Invented Time Root", keys[0], None, start, start + YEARS, 1)
    middle = certificate("Invented Time Middle", keys[1], (top, keys[0]), start, start + YEARS, 0)
    leaf = certificate(
        "Invented Time Stamps", keys[2], (middle, keys[1]), start, until or start + YEARS, None
    )
    return TimeAuthority(top, middle, leaf, keys[2])


def certificate(
    name: str,
    key: rsa.RSAPrivateKey,
    issuer: tuple[x509.Certificate, rsa.RSAPrivateKey] | None,
    start: datetime,
    until: datetime,
    path_length: int | None,
) -> x509.Certificate:
    """One certificate; `path_length` None: that of who stamps."""
    subject = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, name)])
    is_authority = path_length is not None
    usage = uses(key_cert_sign=True) if is_authority else uses(digital_signature=True)
    builder = (
        x509.CertificateBuilder()
        .subject_name(subject)
        .issuer_name(issuer[0].subject if issuer else subject)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(start)
        .not_valid_after(until)
        .add_extension(x509.BasicConstraints(is_authority, path_length), critical=True)
        .add_extension(usage, critical=True)
    )
    if not is_authority:
        stamping = x509.ExtendedKeyUsage([ExtendedKeyUsageOID.TIME_STAMPING])
        builder = builder.add_extension(stamping, critical=True)
    return builder.sign(issuer[1] if issuer else key, hashes.SHA256())


def put_in_place(patch: pytest.MonkeyPatch, authority: TimeAuthority, at: datetime) -> None:
    """Let every query be answered by this authority, at that moment."""
    answers = authority.answers(at)
    patch.setattr(
        "app.signing.time_stamps.Stamper.posted", lambda stamper, query: answers(stamper, query)
    )


def stamp_in(pdf_signature: cms.ContentInfo) -> cms.ContentInfo:
    """The time stamp within a signature."""
    (signer,) = pdf_signature["content"]["signer_infos"]
    return signer["unsigned_attrs"][0]["values"][0]
