"""The one form that a signature's bytes may have (RFC 5652), so that no byte of it goes unseen.

The bytes of a signature stand outside of what is signed. Most of them are bound by the signature
itself; versions, algorithms' parameters, the naming of the signer, certificates and unsigned
attributes are not. Those have one form here, and whatever departs from it is no longer what the
shop gave out. Used on the signature, and on the time stamp that it may carry.
"""

from collections.abc import Collection

from asn1crypto import parser  # type: ignore[import-untyped]
from asn1crypto.cms import ContentInfo, SignedData, SignerInfo  # type: ignore[import-untyped]
from asn1crypto.core import Sequence as Asn1Sequence  # type: ignore[import-untyped]
from asn1crypto.x509 import Certificate  # type: ignore[import-untyped]

from app.signing.chain import is_bound
from app.signing.der import is_distinguished

TIME_STAMP = "signature_time_stamp_token"
NULL = b"\x05\x00"
NO_PARAMETERS = (b"", NULL)
"""What an algorithm without parameters may have in their place."""


def from_gap(gap: bytes) -> ContentInfo | None:
    """The signature in a gap's hexadecimal digits, all after it zero; None when it is not so."""
    content = bytes.fromhex(gap[1:-1].decode("ascii"))
    length = len(b"".join(parser.parse(content, strict=False)[3:]))
    signature, padding = content[:length], content[length:]
    if any(padding) or not is_distinguished(signature):
        return None
    return ContentInfo.load(signature)


def stamp_of(content: ContentInfo) -> ContentInfo | None:
    """The time stamp that a signature carries as its one unsigned attribute, if it has one."""
    (signer,) = content["content"]["signer_infos"]
    attributes = list(signer["unsigned_attrs"])
    return attributes[0]["values"][0] if attributes else None


def signature_is_exact(content: ContentInfo, known: Collection[bytes]) -> bool:
    """Whether a signature has the one form; `known` are trusted certificates as DER."""
    signed, (signer,) = content["content"], content["content"]["signer_infos"]
    return (
        content["content_type"].native == "signed_data"
        and signed["encap_content_info"]["content_type"].native == "data"
        and signed["encap_content_info"]["content"].native is None
        and signed["version"].native == "v1"
        and has_at_most_a_stamp(signer)
        and is_exact(signed, signer, known)
    )


def has_at_most_a_stamp(signer: SignerInfo) -> bool:
    """Whether nothing stands beside what is signed, or one time stamp and nothing else."""
    attributes = list(signer["unsigned_attrs"])
    if not attributes:
        return signer["unsigned_attrs"].native is None
    return (
        len(attributes) == 1
        and attributes[0]["type"].native == TIME_STAMP
        and len(attributes[0]["values"]) == 1
    )


def stamp_is_exact(stamp: ContentInfo, known: Collection[bytes]) -> bool:
    """Whether a time stamp (RFC 3161) has the one form; `known` as above."""
    signed, (signer,) = stamp["content"], stamp["content"]["signer_infos"]
    attributes = {one["type"].native for one in signer["signed_attrs"]}
    return (
        stamp["content_type"].native == "signed_data"
        and signed["encap_content_info"]["content_type"].native == "tst_info"
        and signed["version"].native == "v3"
        and signer["unsigned_attrs"].native is None
        and bool(attributes & {"signing_certificate", "signing_certificate_v2"})
        and is_exact(signed, signer, known)
    )


def is_exact(signed: SignedData, signer: SignerInfo, known: Collection[bytes]) -> bool:
    """What the two have in common: one signer, named in full, and a bound company."""
    certificates = [one.chosen for one in signed["certificates"]]
    own = [one for one in certificates if names(signer, one)]
    if len(own) != 1:
        return False
    others = [one.dump() for one in certificates if one is not own[0]]
    digests = [one.dump() for one in signed["digest_algorithms"]]
    return (
        digests == [signer["digest_algorithm"].dump()]
        and signed["crls"].native is None
        and signer["version"].native == "v1"
        and has_no_parameters(signer["digest_algorithm"])
        and (
            signer["signature_algorithm"].signature_algo == "rsassa_pss"
            or has_no_parameters(signer["signature_algorithm"])
        )
        and is_bound(own[0].dump(), others, known)
    )


def names(signer: SignerInfo, certificate: Certificate) -> bool:
    """Whether the signer's entry names this certificate by issuer and number, to the byte.

    Libraries compare names without regard to the case of letters.
    """
    if signer["sid"].name != "issuer_and_serial_number":
        return False
    sid = signer["sid"].chosen
    return bool(
        sid["issuer"].dump() == certificate.issuer.dump()
        and sid["serial_number"].dump() == certificate["tbs_certificate"]["serial_number"].dump()
    )


def has_no_parameters(algorithm: Asn1Sequence) -> bool:
    """Whether the algorithm's parameters are absent or null."""
    return algorithm["parameters"].dump() in NO_PARAMETERS
