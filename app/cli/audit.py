"""`jigbook audit verify`: check the chain of recorded events."""

import argparse

from app.cli.opening import opened
from app.cli.parsing import add_data_options
from app.services.audit_check import verify
from app.wording import events
from app.wording.translation import _

WHOLE = 0
BROKEN = 2


def register(parser: argparse.ArgumentParser) -> None:
    """`verify` is the one thing to do."""
    deeds = parser.add_subparsers(dest="deed", required=True, metavar="verify")
    check = deeds.add_parser("verify", help="walk the whole log; exit 0 whole, 2 broken")
    add_data_options(check)


def run(args: argparse.Namespace) -> int:
    """Say every break, then where the chain stands."""
    with opened(args) as records, records.database.read() as session:
        report = verify(session, records.actor)
    for fault in report.breaks:
        print(events.fault(fault.code, fault.position, fault.name))
    erased = report.erased_values
    print(
        _("{events} events, {erased} personal values erased").format(
            events=report.events, erased=erased
        )
    )
    print(_("newest hash {head}").format(head=report.head))
    print(_("the log is whole") if report.whole else _("the log is broken"))
    return WHOLE if report.whole else BROKEN
