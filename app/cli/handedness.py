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
EXAMPLE = """\
{"format": "jigbook.survey/1", "up": [0, 0, 1],
 "instrument": {"standard_uncertainty_mm": 0.1},
 "points": [
  {"feature": "steer_target", "label": "stem", "station": "s1",
   "x": 165.8, "y": -35.1, "z": 700.0},
  {"feature": "steer_target", "label": "stem", "station": "s2",
   "x": 167.0, "y": 29.8, "z": 700.0},
  {"feature": "steer_target", "label": "stem", "station": "s3",
   "turn": "left", "x": 148.0, "y": 78.3, "z": 700.0}
 ]}
"""
"""A whole survey, invented, as the help shows it."""


def register(parser: argparse.ArgumentParser) -> None:
    """The survey, and what it looks like."""
    parser.formatter_class = argparse.RawDescriptionHelpFormatter
    about = _(
        'SURVEY is JSON (jigbook.survey/1), with "up": which way is up in the instrument\'s axes.\n'
        "The stations where the steering stands to the left of the others say so. For example:"
    )
    parser.epilog = f"{about}\n\n{EXAMPLE}"
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
