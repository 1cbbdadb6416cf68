"""The shop's signing keys: the authority's certificate for recipients, and the owner's password."""

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy.orm import Session

from app.errors import BadInput, NotAllowed, NotFound, Problem, Unavailable
from app.records.scope import scoped
from app.records.tables import Certificate
from app.services import audit
from app.services.distrusted_signers import MARKED
from app.services.passwords import check_rules
from app.services.permissions import Actor, require
from app.services.press import Press
from app.services.shop import name as shop_name
from app.services.words import words
from app.signing.authority import (
    FOLDER,
    authority_pem,
    change_password,
    fingerprint,
    has_authority_key,
    kept_password,
)
from app.signing.distrust import Distrust, distrust, distrusted
from app.signing.keys import common_name, organisation
from app.signing.profile import KeyKind, organisation_of
from app.signing.renewal import renew_authority, renew_signer, use_own
from app.signing.time_stamp_service import Service, service_of, set_service
from app.signing.trust import STAMPERS, earlier_authorities, fingerprint_of, signers


@dataclass(frozen=True, slots=True)
class AuthorityView:
    """What a recipient needs to trust the shop's signatures; the digest goes another way."""

    pem: bytes
    sha256: str
    is_shops_own: bool = True
    """False: it belongs to the issuer of the key file that the shop has loaded."""
    earlier: tuple[str, ...] = ()
    """SHA-256 of the authorities before it, under which older certificates were signed."""
    signer: str = ""
    """Common name in the certificate of who signs now."""
    signer_shop: str = ""
    """The shop's name, as that certificate states it."""
    signer_sha256: str = ""
    signer_until: datetime | None = None


def authority(press: Press) -> AuthorityView:
    """The shop authority's certificate, for everybody. Raises Unavailable `no_authority`."""
    folder = press.data_dir / FOLDER
    pem = authority_pem(folder)
    earlier = (fingerprint(one) for one in earlier_authorities(folder))
    held = signers(folder)
    last = held[-1] if held else None
    return AuthorityView(
        pem=pem,
        sha256=fingerprint(pem),
        is_shops_own=has_authority_key(folder),
        earlier=tuple(one for one in earlier if one != fingerprint(pem)),
        signer=common_name(last) if last else "",
        signer_shop=organisation(last) if last else "",
        signer_sha256=fingerprint_of(last) if last else "",
        signer_until=last.not_valid_after_utc if last else None,
    )


def authority_if_any(press: Press) -> AuthorityView | None:
    """The same for a page that anybody sees; None before the first certificate."""
    try:
        return authority(press)
    except Unavailable:
        return None


def other_name(session: Session, press: Press) -> str:
    """The shop's name in its own key, where the shop is called otherwise by now; else empty.

    Whoever issued a key from elsewhere has looked at the name in it: that one is left alone.
    """
    found = authority_if_any(press)
    if found is None or not found.is_shops_own:
        return ""
    same = found.signer_shop == organisation_of(shop_name(session))
    return "" if same else found.signer_shop


def authority_named(press: Press, sha256: str) -> bytes:
    """The certificate of the authority with this fingerprint, today's where none is known by it.

    Raises Unavailable `no_authority`.
    """
    folder = press.data_dir / FOLDER
    known = (*earlier_authorities(folder), authority_pem(folder))
    return next((pem for pem in known if fingerprint(pem) == sha256), known[-1])


def is_shops_own(press: Press) -> bool:
    """Whether the authority is the shop's own, and not that of an issuer elsewhere."""
    return has_authority_key(press.data_dir / FOLDER)


def stampers_pem(press: Press) -> bytes | None:
    """The certificates of the authorities whose time stamps are trusted, if there are any."""
    file = press.data_dir / FOLDER / STAMPERS
    return file.read_bytes() if file.is_file() else None


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
    require(actor, "signing_keys.write")
    authority(press)
    check_rules(new, "new_password", actor.name)
    try:
        change_password(press.data_dir / FOLDER, old, new)
    except NotAllowed as error:
        raise BadInput([Problem(error.code, "old_password")]) from error
    audit.record(session, actor, "signing_key.password_set", "signing_key", now)


def renew(
    session: Session,
    actor: Actor,
    key_password: str | None,
    now: datetime,
    *,
    press: Press,
    kind: KeyKind = "ec-p256",
    authority_too: bool = False,
) -> AuthorityView:
    """A new signer under the shop's authority, or a new authority with its first signer.

    Certificates signed before stay verifiable. Raises Unavailable `no_authority` before the
    first certificate, BadInput for `key_password`, and as `renewal`.
    """
    require(actor, "signing_keys.write")
    authority(press)
    make = renew_authority if authority_too else renew_signer
    try:
        make(press.data_dir / FOLDER, shop_name(session), key_password, now, kind)
    except NotAllowed as error:
        raise BadInput([Problem(error.code, "key_password")]) from error
    what = "signing_key.authority_renewed" if authority_too else "signing_key.renewed"
    return told(session, actor, what, now, press)


def load_own(
    session: Session, actor: Actor, content: bytes, password: str, now: datetime, *, press: Press
) -> AuthorityView:
    """Sign with the shop's own PKCS#12 file from now on; signing then asks for its password.

    Raises BadInput for `file_password`, and Unavailable for a file that no recipient would take.
    """
    require(actor, "signing_keys.write")
    try:
        use_own(press.data_dir / FOLDER, content, password, now)
    except NotAllowed as error:
        raise BadInput([Problem(error.code, "file_password")]) from error
    return told(session, actor, "signing_key.loaded", now, press)


@dataclass(frozen=True, slots=True)
class SignerView:
    """One signer that the shop has used."""

    sha256: str
    name: str
    valid_from: datetime
    valid_until: datetime
    signs_now: bool
    distrusted_since: datetime | None
    reason: str
    """Why it is not trusted any more; else empty."""


def signer_views(press: Press) -> tuple[SignerView, ...]:
    """All signers, the newest first."""
    folder = press.data_dir / FOLDER
    marked = {one.signer_sha256: one for one in distrusted(folder)}
    held = [(fingerprint_of(one), one) for one in reversed(signers(folder))]
    return tuple(
        SignerView(
            sha256=digest,
            name=common_name(one),
            valid_from=one.not_valid_before_utc,
            valid_until=one.not_valid_after_utc,
            signs_now=place == 0,
            distrusted_since=marked[digest].since if digest in marked else None,
            reason=marked[digest].reason if digest in marked else "",
        )
        for place, (digest, one) in enumerate(held)
    )


def distrust_signer(
    session: Session,
    actor: Actor,
    sha256: str,
    since: datetime,
    reason: str,
    now: datetime,
    *,
    press: Press,
) -> tuple[str, ...]:
    """Mark a signer as not to be trusted from a moment on; it cannot sign any more.

    Its signatures then count only with a trusted time stamp of before, or where the register
    holds the very file as issued before. Returns the numbers of certificates in force that it
    signed from then on: they are to be replaced. It is never taken back; marked again the
    earlier moment stands. Raises NotFound `no_such_signer`; BadInput for `since` and `reason`.
    """
    require(actor, "signing_keys.write")
    why = words(reason, "reason")
    folder = press.data_dir / FOLDER
    if sha256 not in {fingerprint_of(one) for one in signers(folder)}:
        raise NotFound("no_such_signer", "signer", met=sha256[:16])
    if since > now:
        raise BadInput([Problem("in_the_future", "since", {"met": since.isoformat()})])
    distrust(folder, Distrust(sha256, since, why))
    facts: dict[str, audit.Value] = {
        "signer": sha256,
        "since": since.isoformat(),
        "reason": why,
    }
    audit.record(session, actor, MARKED, "signing_key", now, facts)
    return signed_since(session, actor, sha256, since)


def signed_since(session: Session, actor: Actor, sha256: str, since: datetime) -> tuple[str, ...]:
    """Numbers of the certificates in force that a signer signed from a moment on."""
    rows = scoped(session, actor, Certificate).where(
        Certificate.signer_fingerprint == sha256,
        Certificate.status == "valid",
        Certificate.issued_at >= since,
    )
    return tuple(row.number for row in session.scalars(rows.order_by(Certificate.id)))


def told(session: Session, actor: Actor, what: str, now: datetime, press: Press) -> AuthorityView:
    """The event of a changed key, with what identifies the new one."""
    found = authority(press)
    facts: dict[str, audit.Value] = {"signer": found.signer_sha256, "authority": found.sha256}
    audit.record(session, actor, what, "signing_key", now, facts)
    return found


def time_stamps(press: Press) -> Service | None:
    """The time-stamp service that signatures are stamped by, if one is set."""
    return service_of(press.data_dir / FOLDER)


def set_time_stamps(
    session: Session, actor: Actor, service: Service | None, now: datetime, *, press: Press
) -> None:
    """Have signatures stamped by this service from now on, or by none.

    Raises Unavailable `no_authority` before the first certificate; BadInput for
    `time_stamp_address` or `time_stamp_authority`.
    """
    require(actor, "signing_keys.write")
    authority(press)
    set_service(press.data_dir / FOLDER, service)
    facts: dict[str, audit.Value] = {
        "address": service.address if service else "",
        "if_unreachable": service.if_unreachable if service else "",
    }
    audit.record(session, actor, "signing_key.time_stamps_set", "signing_key", now, facts)
