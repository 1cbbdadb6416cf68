"""The command line's parser and the groups of options that several commands share."""

import argparse
from pathlib import Path
from typing import Never

from app.errors import BadInput, Problem


class Parser(argparse.ArgumentParser):
    """An argparse parser that raises our own error, so that it is told like every other."""

    rest_goes_to: str | None = None
    """Name under which words that it does not know are kept; None: they are refused."""

    def __init__(self, *args: object, **kwargs: object) -> None:
        kwargs.setdefault("allow_abbrev", False)
        super().__init__(*args, **kwargs)  # type: ignore[arg-type]

    def error(self, message: str) -> Never:
        """Raise BadInput for a command line that cannot be understood."""
        raise BadInput(
            [Problem("bad_command_line", "command line", {"words": message, "command": self.prog})],
            code="bad_command_line",
        )

    def parse(self, words: list[str]) -> argparse.Namespace:
        """The words as options. Raises BadInput for a line that cannot be understood."""
        if self.rest_goes_to is None:
            return self.parse_args(words)
        args, rest = self.parse_known_args(words)
        setattr(args, self.rest_goes_to, rest)
        return args


def add_data_options(parser: argparse.ArgumentParser) -> None:
    """`--data`: which folder holds the shop's records."""
    parser.add_argument(
        "--data",
        type=Path,
        metavar="DIR",
        help="folder with the shop's records (else JIGBOOK_DATA, else the user's data directory)",
    )


def add_server_options(parser: argparse.ArgumentParser) -> None:
    """Data folder, address, port, TLS: what the two servers share."""
    add_data_options(parser)
    group = parser.add_argument_group("how it is reached")
    group.add_argument("--host", help="address to listen on (127.0.0.1: this machine alone)")
    group.add_argument("--port", type=int, help="port to listen on (8417)")
    group.add_argument("--tls-cert", type=Path, metavar="PEM", help="certificate for https")
    group.add_argument("--tls-key", type=Path, metavar="PEM", help="its key")
    group.add_argument(
        "--allow-plain-http-lan",
        action="store_true",
        help="listen beyond this machine without https: passwords cross the network readable",
    )
    group.add_argument(
        "--allowed-host",
        action="append",
        default=[],
        metavar="NAME",
        help="a further name under which browsers reach this server (may be repeated)",
    )
