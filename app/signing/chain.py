"""Chains of certificates: from a signer up to the authority that vouches for it.

A signature binds the signer's own certificate alone. Those beside it are bound here: each must
have issued the one below it, so that none of them can be changed or put in unseen.
"""

from collections.abc import Collection, Sequence

from cryptography import x509
from cryptography.exceptions import InvalidSignature


def issued(lower: x509.Certificate, upper: x509.Certificate) -> bool:
    """Whether `upper` issued `lower`, by name and by signature."""
    try:
        lower.verify_directly_issued_by(upper)
    except (ValueError, TypeError, InvalidSignature):
        return False
    return True


def chain_above(
    leaf: x509.Certificate, others: Collection[x509.Certificate]
) -> tuple[x509.Certificate, ...]:
    """Of the others, those above the leaf: its issuer, the issuer's issuer, up to the last."""
    chain: list[x509.Certificate] = []
    lower = leaf
    while not issued(lower, lower):
        upper = next((one for one in others if one not in chain and issued(lower, one)), None)
        if upper is None:
            break
        chain.append(upper)
        lower = upper
    return tuple(chain)


def is_bound(leaf: bytes, others: Sequence[bytes], known: Collection[bytes]) -> bool:
    """Whether every certificate beside the leaf is known to the byte, or bound by its signatures.

    All as DER. The topmost, which nothing above binds, must be known or signed by itself.
    """
    unknown = [x509.load_der_x509_certificate(one) for one in others if one not in known]
    everyone = [*unknown, *(x509.load_der_x509_certificate(one) for one in known)]
    chain = chain_above(x509.load_der_x509_certificate(leaf), everyone)
    if len(set(others)) != len(others) or any(one not in chain for one in unknown):
        return False
    return not unknown or chain[-1] not in unknown or issued(chain[-1], chain[-1])


def may_issue(upper: x509.Certificate, authorities_below: int) -> bool:
    """Whether a certificate is that of an authority that may stand so high (RFC 5280, 4.2.1.9).

    authorities_below: how many stand between it and the signer.
    """
    held = {one.oid: one.value for one in upper.extensions}
    basic, usage = held.get(x509.BasicConstraints.oid), held.get(x509.KeyUsage.oid)
    if not isinstance(basic, x509.BasicConstraints) or not basic.ca:
        return False
    if isinstance(usage, x509.KeyUsage) and not usage.key_cert_sign:
        return False
    return basic.path_length is None or authorities_below <= basic.path_length
