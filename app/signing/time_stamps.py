"""Time stamps (RFC 3161): what a service states of when a signature was there.

What comes back is cut down to
what the stamp itself binds, and its chain is made whole, so that the strict rule can look at
every byte of it.
"""

import urllib.request

from asn1crypto import cms, tsp  # type: ignore[import-untyped]
from asn1crypto.x509 import Certificate  # type: ignore[import-untyped]
from cryptography import x509
from cryptography.hazmat.primitives.serialization import Encoding
from pyhanko.sign.timestamps import TimeStamper

from app.signing.chain import chain_above
from app.signing.signed_data import names, stamp_is_exact
from app.signing.time_stamp_service import Service

TIMEOUT_S = 10.0
LARGEST_ANSWER = 200_000
QUERY = {"Content-Type": "application/timestamp-query", "Accept": "application/timestamp-reply"}
SIGNED_FIELDS = (
    "version", "sid", "digest_algorithm", "signed_attrs", "signature_algorithm", "signature",
)  # fmt: skip


class NoStamp(Exception):
    """The service gave no usable stamp; says why."""


class Stamper(TimeStamper):
    """Asks one service for stamps. Whatever goes wrong is told as NoStamp."""

    def __init__(self, service: Service) -> None:
        super().__init__()  # type: ignore[no-untyped-call]
        self.service = service
        self.authorities = x509.load_pem_x509_certificates(service.authorities_pem.encode())

    async def async_request_tsa_response(self, req: tsp.TimeStampReq) -> tsp.TimeStampResp:
        """The service's answer. It is waited for: nothing else is done in this process."""
        return tsp.TimeStampResp.load(self.posted(req.dump()))

    async def async_timestamp(self, message_digest: bytes, md_algorithm: str) -> cms.ContentInfo:
        """A stamp on a digest, in the one form that the strict rule takes."""
        try:
            stamp = await super().async_timestamp(message_digest, md_algorithm)
            imprint = stamp["content"]["encap_content_info"]["content"].parsed["message_imprint"]
            if imprint["hashed_message"].native != message_digest:
                raise NoStamp("of another digest")
            return exact(stamp, self.authorities)
        except NoStamp:
            raise
        except Exception as error:
            # A service may answer anything; the library then raises what it likes.
            raise NoStamp(f"{type(error).__name__}: {error}"[:200]) from error

    def posted(self, query: bytes) -> bytes:
        """The bytes of the answer to a query."""
        request = urllib.request.Request(self.service.address, query, QUERY)
        with urllib.request.urlopen(request, timeout=TIMEOUT_S) as answer:
            return bytes(answer.read(LARGEST_ANSWER))


def exact(stamp: cms.ContentInfo, authorities: list[x509.Certificate]) -> cms.ContentInfo:
    """The stamp without what it does not bind, and with its chain up to an authority's root."""
    signed = stamp["content"]
    (signer,) = signed["signer_infos"]
    sent = [one.chosen for one in signed["certificates"]]
    (own,) = (one for one in sent if names(signer, one))
    others = [*(x509.load_der_x509_certificate(one.dump()) for one in sent), *authorities]
    chain = chain_above(x509.load_der_x509_certificate(own.dump()), others)
    if not chain or chain[-1] not in authorities:
        raise NoStamp("not of the authority that the shop trusts")
    kept = cms.ContentInfo(
        {"content_type": "signed_data", "content": reduced(signed, signer, own, chain)}
    )
    kept = cms.ContentInfo.load(kept.dump())
    if not stamp_is_exact(kept, ()):
        raise NoStamp("of an unusual form")
    return kept


def reduced(
    signed: cms.SignedData,
    signer: cms.SignerInfo,
    own: Certificate,
    chain: tuple[x509.Certificate, ...],
) -> cms.SignedData:
    """The signed data anew: what the signer's signature binds, and the chain."""
    above = [Certificate.load(one.public_bytes(Encoding.DER)) for one in chain]
    fields = (
        "version",
        "sid",
        "digest_algorithm",
        "signed_attrs",
        "signature_algorithm",
        "signature",
    )
    bare = cms.SignerInfo({name: signer[name] for name in fields})
    return cms.SignedData(
        {
            "version": "v3",
            "digest_algorithms": [signer["digest_algorithm"]],
            "encap_content_info": signed["encap_content_info"],
            "certificates": [own, *above],
            "signer_infos": [bare],
        }
    )
