"""`jigbook --version`: name and version as installed."""

import argparse
from importlib import metadata


def register(parser: argparse.ArgumentParser) -> None:
    """No options."""


def run(args: argparse.Namespace) -> int:
    """Print the one line."""
    print(f"jigbook {metadata.version('jigbook')}")
    return 0
