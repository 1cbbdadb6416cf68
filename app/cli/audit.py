"""`jigbook audit verify`: check the chain of recorded events."""

import argparse

from app.cli.opening import opened
from app.cli.parsing import add_data_options
from app.services.audit_check import Break, verify
from app.wording.translation import _, later

WHOLE = 0
BROKEN = 2
FAULTS = {
    "missing": later("event {position} is missing"),
    "altered": later("event {position} is not as it was written"),
    "end_missing": later("the end of the log is missing from event {position} on"),
    "personal_missing": later("the value {name} beside event {position} is missing"),
    "personal_altered": later("the value {name} beside event {position} is not as it was written"),
    "personal_erased_unlogged": later(
        "the value {name} beside event {position} was erased, and no event says so"
    ),
    "photo_missing": later(
        "photo {name}, added by event {position}, is missing, and no event says that it was erased"
    ),
    "photo_altered": later("photo {name}, added by event {position}, is not as it was added"),
}


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
        print(sentence(fault))
    erased = report.erased_values
    print(
        _("{events} events, {erased} personal values erased").format(
            events=report.events, erased=erased
        )
    )
    print(_("newest hash {head}").format(head=report.head))
    print(_("the log is whole") if report.whole else _("the log is broken"))
    return WHOLE if report.whole else BROKEN


def sentence(fault: Break) -> str:
    """One break in words."""
    return _(FAULTS[fault.code]).format(position=fault.position, name=fault.name)
