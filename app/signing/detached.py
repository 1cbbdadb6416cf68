"""A signature beside a file (CMS, RFC 5652), by the same key as the certificates'.

Signed are the file's digest, the time that is stated, and which certificate signs: the attributes
of a certificate's signature, and the time, which there stands in the PDF.
"""

import hashlib
from datetime import datetime

from asn1crypto import cms, core, tsp  # type: ignore[import-untyped]
from asn1crypto.algos import DigestAlgorithm, SignedDigestAlgorithm  # type: ignore[import-untyped]
from asn1crypto.x509 import Certificate  # type: ignore[import-untyped]
from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec, padding

from app.signing.keys import SigningKey
from app.signing.profile import PrivateKey

DIGEST = {"algorithm": "sha256"}


def sign_detached(content: bytes, key: SigningKey, when: datetime) -> bytes:
    """The signature of a content as DER, which does not hold the content itself.

    `openssl cms -verify -inform DER -binary -content FILE` checks it.
    """
    own = Certificate.load(key.certificate_der)
    above = [Certificate.load(der) for der in (*key.between_der, authority_der(key))]
    attributes = signed_attributes(content, key.certificate_der, when)
    opened = serialization.load_der_private_key(key.private_der, None)
    assert isinstance(opened, PrivateKey)
    signer = cms.SignerInfo(
        {
            "version": "v1",
            "sid": cms.SignerIdentifier(
                "issuer_and_serial_number",
                cms.IssuerAndSerialNumber(
                    {"issuer": own.issuer, "serial_number": own.serial_number}
                ),
            ),
            "digest_algorithm": DigestAlgorithm(DIGEST),
            "signed_attrs": attributes,
            "signature_algorithm": SignedDigestAlgorithm({"algorithm": algorithm_of(opened)}),
            "signature": signature_by(opened, attributes.dump()),
        }
    )
    signed = cms.SignedData(
        {
            "version": "v1",
            "digest_algorithms": [DigestAlgorithm(DIGEST)],
            "encap_content_info": {"content_type": "data"},
            "certificates": [own, *above],
            "signer_infos": [signer],
        }
    )
    made: bytes = cms.ContentInfo({"content_type": "signed_data", "content": signed}).dump()
    return made


def signed_attributes(content: bytes, certificate: bytes, when: datetime) -> cms.CMSAttributes:
    """What is signed in the place of the content."""
    held = tsp.ESSCertIDv2({"cert_hash": hashlib.sha256(certificate).digest()})
    return cms.CMSAttributes(
        [
            cms.CMSAttribute({"type": "content_type", "values": ["data"]}),
            cms.CMSAttribute(
                {"type": "message_digest", "values": [hashlib.sha256(content).digest()]}
            ),
            cms.CMSAttribute(
                {"type": "signing_time", "values": [cms.Time({"utc_time": core.UTCTime(when)})]}
            ),
            cms.CMSAttribute(
                {
                    "type": "signing_certificate_v2",
                    "values": [tsp.SigningCertificateV2({"certs": [held]})],
                }
            ),
        ]
    )


def authority_der(key: SigningKey) -> bytes:
    """The authority's certificate."""
    authority = x509.load_pem_x509_certificate(key.authority_pem)
    return authority.public_bytes(serialization.Encoding.DER)


def algorithm_of(key: PrivateKey) -> str:
    """The name of the signature's algorithm."""
    return "sha256_ecdsa" if isinstance(key, ec.EllipticCurvePrivateKey) else "sha256_rsa"


def signature_by(key: PrivateKey, content: bytes) -> bytes:
    """The bare signature."""
    if isinstance(key, ec.EllipticCurvePrivateKey):
        return key.sign(content, ec.ECDSA(hashes.SHA256()))
    return key.sign(content, padding.PKCS1v15(), hashes.SHA256())
