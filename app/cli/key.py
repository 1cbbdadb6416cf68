"""`jigbook key`: fingerprints of the signing key, renewing, the shop's own file, time stamps, and
keys that may be stolen."""

import argparse
import getpass
from datetime import datetime
from pathlib import Path
from zoneinfo import ZoneInfo

from app.cli.input_files import read_bytes
from app.cli.opening import Records, opened, utc_now
from app.cli.parsing import add_data_options
from app.errors import BadInput, Problem
from app.services import shop, signing_keys
from app.services.press import Press
from app.services.signing_keys import AuthorityView
from app.signing.time_stamp_service import Service
from app.wording import signing_key as words
from app.wording.moments import moment_with_zone, told_in
from app.wording.translation import _


def register(parser: argparse.ArgumentParser) -> None:
    """The five things to do, each with its own options."""
    deeds = parser.add_subparsers(
        dest="deed", required=True, metavar="show|renew|load|time-stamps|distrust"
    )
    show = deeds.add_parser("show", help="print the sheet of fingerprints for recipients")
    renew = deeds.add_parser("renew", help="make a new signing key; what was signed stays good")
    renew.add_argument(
        "--authority-too", action="store_true", help="also a new authority, to be given out again"
    )
    renew.add_argument("--rsa", action="store_true", help="RSA with 3072 bits instead of EC P-256")
    add_password_option(renew)
    load = deeds.add_parser("load", help="sign with the shop's own PKCS#12 file from now on")
    load.add_argument("file", metavar="FILE.p12", help="key, certificate and the whole chain")
    add_password_option(load)
    stamps = deeds.add_parser("time-stamps", help="have signatures stamped by a service, or not")
    which = stamps.add_mutually_exclusive_group(required=True)
    which.add_argument("--address", metavar="URL", help="the service, RFC 3161 over http")
    which.add_argument("--off", action="store_true", help="by none from now on")
    stamps.add_argument(
        "--authority", metavar="CA.pem", help="the service's authority, signed by itself"
    )
    stamps.add_argument(
        "--if-unreachable",
        choices=["refuse", "sign_without"],
        default="refuse",
        help="no certificate then (refuse), or one without a stamp, which says so",
    )
    stolen = deeds.add_parser("distrust", help="trust a key no more that may be stolen")
    stolen.add_argument(
        "--since", required=True, metavar="TIME", help="by the shop's clock: 2026-03-02T09:40"
    )
    stolen.add_argument("--reason", required=True, metavar="TEXT", help="kept in the event log")
    stolen.add_argument(
        "--signer", metavar="SHA256", help="its fingerprint (else that of the key that signs now)"
    )
    for deed in (show, renew, load, stamps, stolen):
        add_data_options(deed)


def add_password_option(parser: argparse.ArgumentParser) -> None:
    """Where the password comes from when nobody is there to type it."""
    parser.add_argument(
        "--password-file",
        type=Path,
        metavar="FILE",
        help="first line: the key's password (else it is asked for when there is one)",
    )


def run(args: argparse.Namespace) -> int:
    """Do one of the five."""
    with opened(args) as records:
        press = Press(records.settings.data_dir, records.settings.public_url, own_process=False)
        deeds = {"show": show, "renew": renew, "load": load, "time-stamps": stamp}
        deeds["distrust"] = distrust
        deeds[args.deed](records, press, args)
    return 0


def show(records: Records, press: Press, args: argparse.Namespace) -> None:
    """The sheet that a recipient compares, on paper or by telephone."""
    with records.database.read() as session:
        name, zone = shop.name_and_zone(session)
    with told_in(zone):
        print("\n".join(sheet(name, signing_keys.authority(press))))


def sheet(shop_name: str, found: AuthorityView) -> list[str]:
    """The lines of the sheet."""
    lines = [_("Fingerprints of {shop}").format(shop=shop_name), ""]
    own = found.is_shops_own
    first, second = words.to_compare(own), words.not_to_compare(own)
    if not own:
        first, second = second, first
    lines += [_("Authority, SHA-256:"), words.in_groups(found.sha256), first]
    if found.signer_until is not None:
        until = moment_with_zone(found.signer_until)
        lines += ["", _("Signer {name}, until {until}:").format(name=found.signer, until=until)]
        lines += [words.in_groups(found.signer_sha256), second]
    for earlier in found.earlier:
        lines += ["", _("An earlier authority, for older certificates:"), words.in_groups(earlier)]
    return [*lines, "", *words.proof(found.is_shops_own)]


def renew(records: Records, press: Press, args: argparse.Namespace) -> None:
    """A new signer, or authority and signer."""
    own = signing_keys.has_own_password(press)
    password = password_from(args.password_file) if own or args.password_file else None
    with records.database.write() as session:
        signing_keys.renew(
            session,
            records.actor,
            password,
            utc_now(),
            press=press,
            kind="rsa-3072" if args.rsa else "ec-p256",
            authority_too=args.authority_too,
        )
    show(records, press, args)


def load(records: Records, press: Press, args: argparse.Namespace) -> None:
    """The shop's own key file."""
    content = read_bytes(args.file)
    password = password_from(args.password_file)
    with records.database.write() as session:
        signing_keys.load_own(session, records.actor, content, password, utc_now(), press=press)
    show(records, press, args)


def stamp(records: Records, press: Press, args: argparse.Namespace) -> None:
    """The time-stamp service, or none."""
    service = None
    if not args.off:
        pem = read_bytes(args.authority).decode("ascii", "replace") if args.authority else ""
        service = Service(args.address, args.if_unreachable, pem)
    with records.database.write() as session:
        signing_keys.set_time_stamps(session, records.actor, service, utc_now(), press=press)
    print(
        _("Signatures are stamped by {address}.").format(address=service.address)
        if service
        else _("Signatures are not stamped.")
    )


def distrust(records: Records, press: Press, args: argparse.Namespace) -> None:
    """A key that may be stolen; tells which certificates are to be issued anew."""
    signers = signing_keys.signer_views(press)
    digits = (args.signer or (signers[0].sha256 if signers else "")).replace(" ", "").lower()
    with records.database.write() as session:
        zone = shop.read(session, records.actor).time_zone
        found = signing_keys.distrust_signer(
            session,
            records.actor,
            digits,
            moment_from(args.since, zone),
            args.reason,
            utc_now(),
            press=press,
        )
    print(_("It signs nothing more. Renew the key before the next certificate."))
    for number in found:
        print(_("To be issued anew: {number}").format(number=number))


def moment_from(text: str, zone: str) -> datetime:
    """A time as it was typed, by the shop's clock unless it says otherwise."""
    try:
        at = datetime.fromisoformat(text)
    except ValueError as error:
        facts = {"met": text[:40], "needed": "moment"}
        raise BadInput([Problem("wrong_type", "since", facts)]) from error
    return at if at.tzinfo else at.replace(tzinfo=ZoneInfo(zone))


def password_from(file: Path | None) -> str:
    """The first line of the file, or what is typed."""
    if file is None:
        return getpass.getpass(_("Password of the key: "))
    return read_bytes(str(file)).decode("utf-8", "replace").partition("\n")[0].rstrip("\r")
