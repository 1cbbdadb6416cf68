"""`jigbook benchmarks`: the speed ratios, measured in one run on this machine."""

import argparse

from app.benchmarks import report


def register(parser: argparse.ArgumentParser) -> None:
    """No options: the same measurement everywhere."""


def run(args: argparse.Namespace) -> int:
    """Measure and print; 1 when a target is missed."""
    return report.run(lambda line: print(line, flush=True))
