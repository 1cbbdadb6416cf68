"""The register as files that prove themselves: canonical JSON with a signature beside it.

For insurers without access to the shop's pages. It says of each number whether it is in force,
and the digest of its file; it names no person, machine or claim, and no reason.
"""

import csv
import hashlib
import io
from collections.abc import Iterator, Sequence
from datetime import datetime
from typing import cast

from sqlalchemy.orm import Session

from app.errors import BadInput, NotAllowed, Problem
from app.records.chain import canonical
from app.records.scope import scoped
from app.records.tables import Certificate
from app.schemas.register import FORMAT, RegisterEntryOut, RegisterFileOut
from app.services import audit, shop
from app.services.archive import packed
from app.services.bundles import HOW_TO_CHECK, Bundle
from app.services.permissions import Actor, require
from app.services.press import Press
from app.services.register import CertificateView, views_of
from app.services.signing_keys import authority, is_shops_own
from app.signing.authority import FOLDER, fingerprint
from app.signing.detached import sign_detached
from app.signing.keys import SigningKey, open_key
from app.wording import how_to_check, moments
from app.wording.how_to_check import AUTHORITY, REGISTER, SIGNATURE
from app.wording.signing_key import proof
from app.wording.translation import _

TABLE = "register.csv"


def export(
    session: Session, actor: Actor, key_password: str | None, now: datetime, *, press: Press
) -> Bundle:
    """The signed register as one zip.

    key_password: that of the signing key, once the owner has set one. Raises Unavailable
    `no_authority` before the first certificate, and as `open_key`; BadInput for `key_password`.
    """
    require(actor, "register.export")
    authority(press)
    try:
        key = open_key(press.data_dir / FOLDER, key_password, now)
    except NotAllowed as error:
        raise BadInput([Problem(error.code, "key_password")]) from error
    settings = shop.read(session, actor)
    with moments.told_in(settings.time_zone):
        entries = entries_of(session, actor)
        document = document_of(settings.name, entries, now)
        content = canonical(document).encode()
        title = _("How to check the register of {shop}, {moment}").format(
            shop=settings.name, moment=moments.moment_with_zone(now)
        )
    facts: dict[str, audit.Value] = {
        "entries": len(entries),
        "sha256": hashlib.sha256(content).hexdigest(),
    }
    audit.record(session, actor, "register.exported", "register", now, facts)
    made = packed(members(content, entries, key, title, press, now), now)
    return Bundle(f"register-{now:%Y-%m-%d}.zip", made)


def members(
    content: bytes,
    entries: Sequence[RegisterEntryOut],
    key: SigningKey,
    title: str,
    press: Press,
    now: datetime,
) -> Iterator[tuple[str, bytes]]:
    """Names and contents, always in this order under these names."""
    yield REGISTER, content
    yield SIGNATURE, sign_detached(content, key, now)
    yield TABLE, table_of(entries)
    yield AUTHORITY, key.authority_pem
    steps = how_to_check.of_register(fingerprint(key.authority_pem))
    yield HOW_TO_CHECK, how_to_check.as_text(title, steps, proof(is_shops_own(press))).encode()


def document_of(name: str, entries: list[RegisterEntryOut], now: datetime) -> RegisterFileOut:
    """The register as one document."""
    return {
        "format": FORMAT,
        "shop": name,
        "exported_at": told(now),
        "csv_sha256": hashlib.sha256(table_of(entries)).hexdigest(),
        "entries": entries,
    }


def entries_of(session: Session, actor: Actor) -> list[RegisterEntryOut]:
    """Every number that was given, in its order."""
    rows = session.scalars(scoped(session, actor, Certificate).order_by(Certificate.id)).all()
    views = views_of(session, actor, rows)
    return [entry_of(view, row.signer_fingerprint) for view, row in zip(views, rows, strict=True)]


def entry_of(view: CertificateView, signer: str | None) -> RegisterEntryOut:
    """One line, as somebody outside may know it."""
    return {
        "number": view.number,
        "kind": view.kind,
        "status": view.status,
        "status_since": told(view.status_since),
        "issued_at": told(view.issued_at) if view.issued_at else None,
        "replaces": view.replaces,
        "replaced_by": view.replaced_by,
        "pdf_sha256": view.pdf_sha256,
        "data_sha256": view.data_sha256,
        "signer_sha256": signer,
        "time_stamp": view.time_stamp,
    }


def told(at: datetime) -> str:
    """A moment by the shop's clock."""
    return moments.here(at).isoformat(timespec="seconds")


def table_of(entries: Sequence[RegisterEntryOut]) -> bytes:
    """The same lines as a table. All of it is of the program's own making: no text that somebody
    typed could be taken for a formula."""
    out = io.StringIO(newline="")
    columns = list(RegisterEntryOut.__annotations__)
    table = csv.DictWriter(out, columns, lineterminator="\r\n")
    table.writeheader()
    for entry in entries:
        table.writerow(cast(dict[str, object], entry))
    return out.getvalue().encode()
