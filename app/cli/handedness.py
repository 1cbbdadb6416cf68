"""`jigbook handedness`: a steering turned to the known left in, the handedness of the axes out."""

import argparse
import json

from app.chassis.handedness import LEFT_HANDED, handedness
from app.cli.input_files import read_bytes
from app.schemas.reading import read_survey
from app.services.solving import to_engine
from app.wording.instrument_records import handedness as in_words
from app.wording.translation import _

RIGHT, LEFT = 0, 3


def register(parser: argparse.ArgumentParser) -> None:
    """The survey."""
    parser.add_argument(
        "survey",
        metavar="SURVEY",
        help="steering targets at three stations or more, those to the left marked turn left",
    )
    parser.add_argument("--json", action="store_true", help="print the result as JSON")


def run(args: argparse.Namespace) -> int:
    """Say whether the instrument's axes are right-handed; 0 right-handed, 3 left-handed."""
    found = handedness(to_engine(read_survey(read_bytes(args.survey))))
    if args.json:
        print(json.dumps(found._asdict()))
    else:
        told = _("{words} ({targets} targets, {stations} stations)")
        words = in_words(found.verdict)
        print(told.format(words=words, targets=found.targets, stations=found.stations))
    return LEFT if found.verdict == LEFT_HANDED else RIGHT
