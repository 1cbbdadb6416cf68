"""`jigbook verify`: is a certificate unaltered, and is it still in force?"""

import argparse
from datetime import UTC, datetime
from typing import NamedTuple

from sqlalchemy.engine import make_url

from app.cli.configuration import settings_from
from app.cli.input_files import read_bytes
from app.cli.parsing import add_data_options
from app.records.session import Database, sqlite_file
from app.services.press import Press
from app.services.verification import RegisterEntry, Verification, verify
from app.settings import Settings
from app.wording import moments
from app.wording.jobs import kind
from app.wording.signing_key import in_groups
from app.wording.verdicts import finding
from app.wording.verification import (
    distrusted,
    in_force,
    kept_by_shop,
    kept_too_late,
    no_register,
    stamped,
    unaltered,
    without_stamp,
)

IN_FORCE = 0
NOT_TRUSTED = 2
NOT_IN_FORCE = 3


class Trusted(NamedTuple):
    """Whom the command line names."""

    authority: bytes | None
    stampers: list[bytes]


def register(parser: argparse.ArgumentParser) -> None:
    """The file, and whom to trust."""
    parser.add_argument("file", metavar="FILE.pdf", help="the certificate to check")
    parser.add_argument(
        "--authority",
        metavar="CA.pem",
        help="the shop authority's certificate to trust (else that of the data folder)",
    )
    parser.add_argument(
        "--time-stamp-authority",
        action="append",
        default=[],
        metavar="CA.pem",
        help="an authority to trust for time stamps (may be repeated)",
    )
    add_data_options(parser)


def run(args: argparse.Namespace) -> int:
    """Check the file, say both answers, give the exit code of the answer."""
    settings = settings_from(args)
    pdf = read_bytes(args.file)
    authority = read_bytes(args.authority) if args.authority else None
    press = Press(settings.data_dir, settings.public_url, own_process=False)
    stampers = [read_bytes(file) for file in args.time_stamp_authority]
    found = checked(settings, pdf, Trusted(authority, stampers), press, utc_now())
    print("\n".join(lines_of(found, has_register(settings))))
    if not found.unaltered:
        return NOT_TRUSTED
    return IN_FORCE if found.in_force else NOT_IN_FORCE


def utc_now() -> datetime:
    """The moment at which the signer's certificate must hold."""
    return datetime.now(UTC)


def checked(
    settings: Settings, pdf: bytes, trusted: Trusted, press: Press, now: datetime
) -> Verification:
    """Ask the register too, where there is one; a missing database is not made for it."""
    database = Database(settings.database_url) if has_register(settings) else None
    try:
        return verify(
            database,
            pdf,
            now,
            press=press,
            authority=trusted.authority,
            stampers=trusted.stampers,
        )
    finally:
        if database is not None:
            database.close()


def has_register(settings: Settings) -> bool:
    """Whether there is a database to ask; opening one that is not there would make it."""
    try:
        file = sqlite_file(make_url(settings.database_url))
    except ValueError:
        return False
    return file is None or file.is_file()


def lines_of(found: Verification, asked_register: bool) -> list[str]:
    """Both answers, and what the file and the register say of it."""
    lines = [unaltered(found.why_not)]
    if found.signed_by and found.signed_at:
        lines.append(f"Signed by {found.signed_by}, {moments.moment_with_zone(found.signed_at)}.")
        lines.append(f"Signer, SHA-256: {in_groups(found.signer_sha256 or '')}")
    if found.authority_sha256:
        lines.append(f"Authority, SHA-256: {in_groups(found.authority_sha256)}")
        lines.append(
            "Compare them with the shop's sheet of fingerprints, which says which one to compare "
            "and must come by another way than the file."
        )
    if found.stamped_at:
        at = moments.moment_with_zone(found.stamped_at)
        lines.append(stamped(at, found.stamped_by or "", found.stamp_trusted))
    lines.append(f"File SHA-256 {found.pdf_sha256}")
    if found.distrusted_since:
        lines.append(distrusted(moments.moment_with_zone(found.distrusted_since)))
    if found.kept_by_shop:
        lines.append(kept_by_shop(found.distrusted_since is not None))
    elif found.in_register and not found.unaltered:
        lines.append(kept_too_late())
    if found.unaltered or found.entry:
        lines += entry_lines(found.entry) if found.entry else [not_found(asked_register)]
    return lines


def not_found(asked_register: bool) -> str:
    """The second answer where no register knows the file, or where there is none to ask."""
    return in_force(None) if asked_register else no_register()


def entry_lines(entry: RegisterEntry) -> list[str]:
    """What the register says of the certificate."""
    issued = f", issued {moments.moment_with_zone(entry.issued_at)}" if entry.issued_at else ""
    lines = [
        in_force(entry.status, entry.replaced_by, moments.moment_with_zone(entry.status_since)),
        f"{entry.number}: {kind(entry.kind)}{issued}",
        f"Machine: {entry.machine}. Finding: {finding(entry.finding)}.",
    ]
    return [*lines, *filter(None, [without_stamp(entry.time_stamp)])]
