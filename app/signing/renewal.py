"""New keys in place of old ones. What was signed with the old ones stays verifiable.

Trust always goes first: a new signer stands among the trusted ones before its key is in place, and
an authority among the earlier ones before another takes its place. The keys themselves are
replaced in one step: an interrupted renewal is done, or not done at all.
"""

from datetime import datetime
from pathlib import Path

from cryptography import x509

from app.errors import NotAllowed, Unavailable
from app.signing.authority import (
    AUTHORITY,
    AUTHORITY_KEY,
    PASSWORD,
    SIGNER,
    authority_pem,
    has_authority_key,
    kept_password,
    opened_authority_key,
    read_pkcs12,
    sealed_signer,
    write_pair,
)
from app.signing.in_one_step import replace_all
from app.signing.keys import authority_in, check
from app.signing.private_files import alone_in
from app.signing.profile import KeyKind, new_key, signer_certificate
from app.signing.trust import keep_authority, note_signer, pem_of


def renew_signer(
    folder: Path, shop: str, password: str | None, now: datetime, kind: KeyKind = "ec-p256"
) -> None:
    """A new signer under the shop's authority.

    Raises NotAllowed (the keys' password), Unavailable: `no_authority_key` where the key came
    from elsewhere, `signing_certificate_not_valid_now` for an authority that has expired.
    """
    with alone_in(folder):
        given = password_for(folder, password)
        if not has_authority_key(folder):
            raise Unavailable("no_authority_key")
        authority_key = opened_authority_key(folder, given)
        authority = x509.load_pem_x509_certificate(authority_pem(folder))
        key = new_key(kind)
        signer = signer_certificate(shop, key, authority, authority_key, now)
        check(key, signer, authority, now)
        note_signer(folder, signer)
        replace_all(folder, {SIGNER: sealed_signer(key, signer, (authority,), given)})


def renew_authority(
    folder: Path, shop: str, password: str | None, now: datetime, kind: KeyKind = "ec-p256"
) -> None:
    """A new authority of the shop's own with its first signer; recipients need the new one too.

    The keys keep their password. Raises NotAllowed when it does not open them.
    """
    with alone_in(folder):
        given = password_for(folder, password)
        read_pkcs12((folder / SIGNER).read_bytes(), given)
        keep_authority(folder)
        write_pair(folder, shop, now, given, kind)


def use_own(folder: Path, content: bytes, password: str, now: datetime) -> None:
    """Sign with the shop's own PKCS#12 file from now on, under the password that opens it.

    The key of the authority that the program had made goes: nothing is issued under it any more.
    Raises as `keys.check` and `read_pkcs12`; Unavailable (`signing_authority_missing`) when the
    file holds no authority.
    """
    key, certificate, others = read_pkcs12(content, password)
    authority = authority_in(certificate, others)
    between = check(key, certificate, authority, now, others)
    folder.mkdir(mode=0o700, exist_ok=True)
    with alone_in(folder):
        if (folder / AUTHORITY).is_file():
            keep_authority(folder)
        note_signer(folder, certificate)
        files = {
            AUTHORITY: pem_of(authority),
            SIGNER: sealed_signer(key, certificate, (*between, authority), password),
        }
        replace_all(folder, files, (AUTHORITY_KEY, PASSWORD))


def password_for(folder: Path, password: str | None) -> str:
    """The password that was given, or the random one. Raises NotAllowed without either."""
    given = password or kept_password(folder)
    if given is None:
        raise NotAllowed("signing_password_needed")
    return given
