"""`jigbook user`: add people, list them, give a new one-time password."""

import argparse

from app.cli.opening import Records, opened, utc_now
from app.cli.parsing import add_data_options
from app.services.joining import OneTimePassword, add_person, reset_password
from app.services.people import PersonView, find_person, list_people
from app.services.permissions import Role
from app.wording.translation import _


def register(parser: argparse.ArgumentParser) -> None:
    """The three things to do, each with its own options."""
    deeds = parser.add_subparsers(dest="deed", required=True, metavar="add|list|reset")
    add = deeds.add_parser("add", help="add a person; prints a one-time password")
    add.add_argument("sign_in_name", metavar="SIGN_IN_NAME")
    add.add_argument("--name", help="the name as it is printed (else the sign-in name)")
    add.add_argument("--title", default="", help="printed under the name on a certificate")
    add.add_argument("--email", default="")
    add.add_argument(
        "--role",
        action="append",
        required=True,
        choices=[str(role) for role in Role],
        help="what the person may do (may be repeated)",
    )
    reset = deeds.add_parser("reset", help="give a new one-time password")
    reset.add_argument("sign_in_name", metavar="SIGN_IN_NAME")
    for deed in (add, reset, deeds.add_parser("list", help="list people and their roles")):
        add_data_options(deed)


def run(args: argparse.Namespace) -> int:
    """Do one of the three."""
    with opened(args) as records:
        if args.deed == "list":
            return _list(records)
        given = _add(records, args) if args.deed == "add" else _reset(records, args)
    print(_("sign-in name  {name}").format(name=given.sign_in_name))
    until = f"{given.until:%Y-%m-%d %H:%M} UTC"
    print(
        _("One-time password, shown only here, must be changed until {until}:").format(until=until)
    )
    print(given.password)
    return 0


def _add(records: Records, args: argparse.Namespace) -> OneTimePassword:
    return add_person(
        records.database,
        records.actor,
        args.sign_in_name,
        args.name or args.sign_in_name,
        frozenset(Role(role) for role in args.role),
        utc_now(),
        title=args.title,
        email=args.email,
    )


def _reset(records: Records, args: argparse.Namespace) -> OneTimePassword:
    with records.database.read() as session:
        person = find_person(session, records.actor, args.sign_in_name)
    return reset_password(records.database, records.actor, person.id, utc_now())


def _list(records: Records) -> int:
    with records.database.read() as session:
        people = list_people(session, records.actor)
    width = max((len(person.sign_in_name) for person in people), default=0)
    for person in people:
        print(f"{person.sign_in_name:<{width}}  {person.name}  {_state(person)}")
    return 0


def _state(person: PersonView) -> str:
    roles = ", ".join(sorted(person.roles))
    notes = [roles]
    if person.disabled:
        notes.append(_("cannot sign in"))
    elif person.one_time_until is not None:
        notes.append(_("one-time password not changed yet"))
    return "; ".join(notes)
