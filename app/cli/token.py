"""`jigbook token`: create and revoke tokens for the JSON API."""

import argparse

from app.cli.opening import Records, opened, utc_now
from app.cli.parsing import add_data_options
from app.services.permissions import Role
from app.services.tokens import create_token, lasting, list_tokens, revoke_token
from app.wording.translation import _


def register(parser: argparse.ArgumentParser) -> None:
    """The three things to do, each with its own options."""
    deeds = parser.add_subparsers(dest="deed", required=True, metavar="create|list|revoke")
    create = deeds.add_parser("create", help="make a token; prints it last, this once")
    create.add_argument("--name", required=True, help="what it is for, such as the instrument")
    create.add_argument("--role", required=True, choices=[str(role) for role in Role])
    create.add_argument("--days", type=int, help="days until it ends (else never)")
    revoke = deeds.add_parser("revoke", help="make a token useless at once")
    revoke.add_argument("name", metavar="NAME")
    for deed in (create, revoke, deeds.add_parser("list", help="list tokens")):
        add_data_options(deed)


def run(args: argparse.Namespace) -> int:
    """Do one of the three."""
    with opened(args) as records:
        deed = {"create": _create, "list": _list, "revoke": _revoke}[args.deed]
        deed(records, args)
    return 0


def _create(records: Records, args: argparse.Namespace) -> None:
    lasts = lasting(args.days)
    with records.database.write() as session:
        new = create_token(session, records.actor, args.name, Role(args.role), utc_now(), lasts)
    print(
        _("token {name} with the role {role}; it is shown only here:").format(
            name=new.view.name, role=new.view.role
        )
    )
    print(new.token)


def _list(records: Records, args: argparse.Namespace) -> None:
    with records.database.read() as session:
        tokens = list_tokens(session, records.actor)
    for token in tokens:
        used = f"{token.last_used_at:%Y-%m-%d}" if token.last_used_at else _("never used")
        state = _("revoked") if token.revoked_at else used
        print(f"{token.hint}…  {token.role}  {token.name}  {state}")


def _revoke(records: Records, args: argparse.Namespace) -> None:
    with records.database.write() as session:
        token = revoke_token(session, records.actor, args.name, utc_now())
    print(_("token {name} is revoked").format(name=token.name))
