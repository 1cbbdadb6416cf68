"""Whom a check trusts: the shop's authorities of today and before, its signers, time stamps.

Renewing keeps what was: earlier authorities stay beside the present one, so that certificates
signed under them stay verifiable.
"""

from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from cryptography import x509
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.serialization import Encoding

from app.signing.authority import SIGNERS, authority_pem, fingerprint
from app.signing.distrust import Distrust, distrusted
from app.signing.private_files import write_private

EARLIER = "earlier"
STAMPERS = "time-stamp-authorities.pem"


@dataclass(frozen=True, slots=True)
class Trust:
    """What a file is checked against."""

    authorities: tuple[bytes, ...]
    """PEM texts."""
    signers: frozenset[str] = frozenset()
    """SHA-256 of the signers' certificates; empty: every signer under the authorities will do."""
    stampers: tuple[bytes, ...] = ()
    """PEM texts of authorities for time stamps. The shop's own cannot vouch for a time."""
    distrusted: tuple[Distrust, ...] = ()
    """Signers that are trusted no more from a moment on."""

    def distrusted_since(self, signer_sha256: str | None) -> datetime | None:
        """From when on a signer is not trusted; None for the others."""
        found = (one.since for one in self.distrusted if one.signer_sha256 == signer_sha256)
        return next(found, None)


def trust_of(folder: Path) -> Trust:
    """What the shop's folder of keys trusts. Raises Unavailable `no_authority`."""
    stampers = folder / STAMPERS
    return Trust(
        authorities=(authority_pem(folder), *earlier_authorities(folder)),
        signers=frozenset(fingerprint_of(one) for one in signers(folder)),
        stampers=(stampers.read_bytes(),) if stampers.is_file() else (),
        distrusted=distrusted(folder),
    )


def earlier_authorities(folder: Path) -> tuple[bytes, ...]:
    """The authorities that were renewed, PEM texts, the first first."""
    return tuple(path.read_bytes() for path in sorted((folder / EARLIER).glob("*.pem")))


def keep_authority(folder: Path) -> None:
    """Put a copy of the present authority among the earlier ones, before another takes its place.

    As the present one it is then there twice, which changes nothing, until it is replaced.
    """
    pem = authority_pem(folder)
    earlier = folder / EARLIER
    earlier.mkdir(mode=0o700, exist_ok=True)
    kept = {fingerprint(one) for one in earlier_authorities(folder)}
    if fingerprint(pem) not in kept:
        write_private(earlier / f"authority-{len(kept) + 1:03}.pem", pem)


def signers(folder: Path) -> tuple[x509.Certificate, ...]:
    """The certificates of all signers that the shop has used, the newest last."""
    try:
        pem = (folder / SIGNERS).read_bytes()
    except FileNotFoundError:
        return ()
    return tuple(x509.load_pem_x509_certificates(pem))


def note_signer(folder: Path, signer: x509.Certificate) -> None:
    """Enter who signs now, once and last; it is trusted under an authority that is trusted too."""
    known = signers(folder)
    if known[-1:] != (signer,):
        others = (one for one in known if one != signer)
        write_private(folder / SIGNERS, b"".join(map(pem_of, (*others, signer))))


def pem_of(certificate: x509.Certificate) -> bytes:
    """The certificate as text."""
    return certificate.public_bytes(Encoding.PEM)


def fingerprint_of(certificate: x509.Certificate) -> str:
    """SHA-256 of a certificate, as hexadecimal digits."""
    return certificate.fingerprint(hashes.SHA256()).hex()
