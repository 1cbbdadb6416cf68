"""The shop's signing keys: the authority's certificate for recipients, and the owner's password."""

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy.orm import Session

from app.errors import BadInput, NotAllowed, Problem, Unavailable
from app.services import audit
from app.services.passwords import check_rules
from app.services.permissions import Actor, require
from app.services.press import Press
from app.signing.authority import FOLDER, authority_pem, change_password, fingerprint, kept_password


@dataclass(frozen=True, slots=True)
class AuthorityView:
    """What a recipient needs to trust the shop's signatures; the digest goes another way."""

    pem: bytes
    sha256: str


def authority(press: Press) -> AuthorityView:
    """The shop authority's certificate, for everybody. Raises Unavailable `no_authority`."""
    pem = authority_pem(press.data_dir / FOLDER)
    return AuthorityView(pem, fingerprint(pem))


def authority_if_any(press: Press) -> AuthorityView | None:
    """The same for a page that anybody sees; None before the first certificate."""
    try:
        return authority(press)
    except Unavailable:
        return None


def has_own_password(press: Press) -> bool:
    """Whether the owner has put the keys under a password, which signing then asks for."""
    folder = press.data_dir / FOLDER
    return folder.is_dir() and kept_password(folder) is None


def set_password(
    session: Session, actor: Actor, old: str | None, new: str, now: datetime, *, press: Press
) -> None:
    """Put the signing keys under the owner's own password; `old` is None the first time.

    Raises Unavailable `no_authority` before the first certificate; BadInput for `old_password`
    (`signing_password_wrong`) or `new_password` (the rules of passwords).
    """
    require(actor, "shop.write")
    authority(press)
    check_rules(new, "new_password", actor.name)
    try:
        change_password(press.data_dir / FOLDER, old, new)
    except NotAllowed as error:
        raise BadInput([Problem(error.code, "old_password")]) from error
    audit.record(session, actor, "signing_key.password_set", "signing_key", now)
