"""`jigbook benchmarks`: the speed ratios, measured in one run on this machine."""

import argparse

from app.benchmarks import report
from app.wording.translation import _


def register(parser: argparse.ArgumentParser) -> None:
    """The same measurement everywhere; what takes many minutes only when asked for."""
    parser.add_argument(
        "--long",
        action="store_true",
        help=_("also issue certificates while workers and servers are killed, for many minutes"),
    )


def run(args: argparse.Namespace) -> int:
    """Measure and print; 1 when a target is missed."""
    return report.run(lambda line: print(line, flush=True), long=args.long)
