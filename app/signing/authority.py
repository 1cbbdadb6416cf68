"""The folder of keys: made on first use, readable by its owner alone, its password changeable.

What a shop-made authority proves: that a file is unchanged and was signed with this shop's key.
It does not prove who the shop is; for that the recipient compares the authority's fingerprint,
given by another way.
"""

import secrets
import shutil
import tempfile
from collections.abc import Sequence
from datetime import datetime
from pathlib import Path

from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.serialization import pkcs12

from app.errors import BadInput, NotAllowed, Problem, Unavailable
from app.signing.in_one_step import finish, replace_all
from app.signing.private_files import alone_in, write_private
from app.signing.profile import (
    KeyKind,
    PrivateKey,
    authority_certificate,
    new_key,
    signer_certificate,
)

FOLDER = "signing"
AUTHORITY = "authority.pem"
AUTHORITY_KEY = "authority-key.pem"
SIGNER = "signer.p12"
SIGNERS = "signers.pem"
"""Every signer that the shop has used. An authority that others use too, as that of the shop's
own PKCS#12 file may be, says nothing of the shop; so the signer must be one of these."""
PASSWORD = "password"
"""The random password, kept beside the keys until the owner sets one of their own."""


def found_authority(data_dir: Path, shop: str, now: datetime) -> Path:
    """The folder of keys in the data folder, made now if it is not there yet.

    Made aside and moved into place, so that two programs that start at once agree on one
    authority and a crash leaves no half of one. Raises Unavailable when it cannot be written.
    """
    folder = data_dir / FOLDER
    if (folder / SIGNER).is_file():
        return folder
    try:
        aside = Path(tempfile.mkdtemp(prefix=f"{FOLDER}-", dir=data_dir))
        write_keys(aside, shop, now)
        move_into_place(aside, folder)
    except OSError as error:
        raise Unavailable(
            "signing_folder_unusable", None, path=str(folder), reason=error.strerror or ""
        ) from error
    return folder


def write_keys(folder: Path, shop: str, now: datetime, kind: KeyKind = "ec-p256") -> None:
    """A new authority and signer, with a random password in a file beside them."""
    password = secrets.token_urlsafe(32)
    write_pair(folder, shop, now, password, kind)
    write_private(folder / PASSWORD, password.encode())


def write_pair(folder: Path, shop: str, now: datetime, password: str, kind: KeyKind) -> None:
    """A new authority and its first signer, which is trusted before it is used."""
    authority_key, signer_key = new_key(kind), new_key(kind)
    authority = authority_certificate(shop, authority_key, now)
    signer = signer_certificate(shop, signer_key, authority, authority_key, now)
    earlier = (folder / SIGNERS).read_bytes() if (folder / SIGNERS).is_file() else b""
    write_private(folder / SIGNERS, earlier + signer.public_bytes(serialization.Encoding.PEM))
    files = {
        AUTHORITY: authority.public_bytes(serialization.Encoding.PEM),
        AUTHORITY_KEY: sealed_key(authority_key, password),
        SIGNER: sealed_signer(signer_key, signer, (authority,), password),
    }
    replace_all(folder, files)


def move_into_place(aside: Path, folder: Path) -> None:
    """Rename the finished folder; when another program was first, its keys stay."""
    try:
        aside.rename(folder)
    except OSError:
        shutil.rmtree(aside)
        if not (folder / SIGNER).is_file():
            raise


def sealed_key(key: PrivateKey, password: str) -> bytes:
    """The private key as PKCS#8 text under the password."""
    return key.private_bytes(
        serialization.Encoding.PEM,
        serialization.PrivateFormat.PKCS8,
        serialization.BestAvailableEncryption(password.encode()),
    )


def sealed_signer(
    key: PrivateKey,
    certificate: x509.Certificate,
    above: Sequence[x509.Certificate],
    password: str,
) -> bytes:
    """Key and certificates as one PKCS#12 file under the password."""
    return pkcs12.serialize_key_and_certificates(
        b"certificate signing",
        key,
        certificate,
        list(above),
        serialization.BestAvailableEncryption(password.encode()),
    )


def kept_password(folder: Path) -> str | None:
    """The random password, as long as the owner has set none."""
    finish(folder)
    try:
        return (folder / PASSWORD).read_text(encoding="utf-8")
    except FileNotFoundError:
        return None


def change_password(folder: Path, old: str | None, new: str) -> None:
    """Put the keys under the owner's own password; `old` is None while the random one holds.

    Interrupted, it is done or not done at all. Raises NotAllowed when `old` does not open the keys.
    """
    with alone_in(folder):
        password = old or kept_password(folder) or ""
        key, signer, others = opened_signer(folder, password)
        files = {SIGNER: sealed_signer(key, signer, others, new)}
        if has_authority_key(folder):
            files[AUTHORITY_KEY] = sealed_key(opened_authority_key(folder, password), new)
        replace_all(folder, files, (PASSWORD,))


def has_authority_key(folder: Path) -> bool:
    """Whether the authority is the shop's own, and not that of a PKCS#12 file from elsewhere."""
    return (folder / AUTHORITY_KEY).is_file()


def opened_authority_key(folder: Path, password: str) -> PrivateKey:
    """The authority's key. Raises NotAllowed (`signing_password_wrong`), Unavailable."""
    try:
        key = serialization.load_pem_private_key(
            (folder / AUTHORITY_KEY).read_bytes(), password.encode()
        )
    except (ValueError, TypeError) as error:
        raise NotAllowed("signing_password_wrong") from error
    if not isinstance(key, PrivateKey):
        raise Unavailable("signing_key_unusable")
    return key


def opened_signer(
    folder: Path, password: str
) -> tuple[PrivateKey, x509.Certificate, tuple[x509.Certificate, ...]]:
    """The signer's key, its certificate and those above it, as `read_pkcs12`."""
    finish(folder)
    path = folder / SIGNER
    try:
        content = path.read_bytes()
    except OSError as error:
        raise Unavailable("signing_key_unreadable", None, path=str(path)) from error
    return read_pkcs12(content, password)


def read_pkcs12(
    content: bytes, password: str
) -> tuple[PrivateKey, x509.Certificate, tuple[x509.Certificate, ...]]:
    """Key, certificate and further certificates of a PKCS#12 file.

    Raises NotAllowed (`signing_password_wrong`) also for what is no such file: the format does
    not tell the two apart; Unavailable (`signing_key_unusable`) without key and certificate.
    """
    try:
        key, certificate, others = pkcs12.load_key_and_certificates(content, password.encode())
    except ValueError as error:
        raise NotAllowed("signing_password_wrong") from error
    if certificate is None or not isinstance(key, PrivateKey):
        raise Unavailable("signing_key_unusable")
    return key, certificate, tuple(others)


def authority_pem(folder: Path) -> bytes:
    """The authority's certificate, to be given to recipients. Raises Unavailable."""
    finish(folder)
    try:
        return (folder / AUTHORITY).read_bytes()
    except OSError as error:
        raise Unavailable("no_authority", None, path=str(folder / AUTHORITY)) from error


def fingerprint(pem: bytes) -> str:
    """SHA-256 of the first certificate in a PEM text, as hexadecimal digits.

    Raises BadInput (`not_a_certificate`) when there is none in it.
    """
    try:
        return x509.load_pem_x509_certificate(pem).fingerprint(hashes.SHA256()).hex()
    except ValueError as error:
        raise BadInput([Problem("not_a_certificate", "authority")]) from error
