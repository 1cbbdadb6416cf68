"""The command line: finds the command's module, imports it only when it runs, ends it well."""

import gc
import importlib
import os
import sys
from collections.abc import Sequence
from typing import Protocol, cast

from app.cli.failures import report_error, report_unexpected
from app.cli.parsing import Parser
from app.errors import JigbookError
from app.wording.translation import _, later

COMMANDS: dict[str, tuple[str, str]] = {
    "solve": (
        "app.cli.solve",
        later("judge survey files: numbers, uncertainties, verdicts; no database"),
    ),
    "reference": (
        "app.cli.reference",
        later("make a reference from surveys of machines in order; no database"),
    ),
    "gauge-study": (
        "app.cli.gauge_study",
        later("tell the gauge's part of the scatter of a table of readings; no database"),
    ),
    "check-bar": (
        "app.cli.check_bar",
        later("tell from a log whether an instrument still reads right; no database"),
    ),
    "handedness": (
        "app.cli.handedness",
        later("tell from a steering turned to the left whether axes are right-handed"),
    ),
    "serve": ("app.cli.serve", later("serve the shop's pages and its JSON API")),
    "demo": ("app.cli.demo", later("serve an invented shop with people and jobs to try")),
    "migrate": (
        "app.cli.migrate",
        later("make the database, or bring it to this version's structure"),
    ),
    "user": ("app.cli.user", later("add people, list them, give a new one-time password")),
    "token": ("app.cli.token", later("create and revoke tokens for the JSON API")),
    "backup": ("app.cli.backup", later("write the whole data folder into one file, while in use")),
    "restore": ("app.cli.restore", later("bring a data folder back from a backup")),
    "verify": (
        "app.cli.verify",
        later("check a certificate: unaltered, signed by the shop, in force"),
    ),
    "register": (
        "app.cli.register",
        later("write the register of certificates as a signed file"),
    ),
    "key": (
        "app.cli.key",
        later("the signing key: fingerprints, renewing, the shop's own, time stamps, theft"),
    ),
    "audit": ("app.cli.audit", later("check the chain of recorded events")),
    "benchmarks": (
        "app.cli.benchmarks",
        later("measure the speed of the engine and of solve, as ratios"),
    ),
    "test": ("app.cli.checks", later("run every check of the source checkout")),
}
"""Each command's module, and what it does in one line. A module offers `register` and `run`."""

VERSION = "--version"
EXIT_DONE = 0
EXIT_FAILED = 1
EXIT_REFUSED = 2
EXIT_INTERRUPTED = 130
EXIT_BROKEN_PIPE = 141


class Command(Protocol):
    """What a command's module offers."""

    def register(self, parser: Parser) -> None:
        """Add the command's own options."""

    def run(self, args: object) -> int:
        """Do the work and give the exit code."""


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command; nothing but an exit code and plain sentences comes out."""
    words = list(sys.argv[1:] if argv is None else argv)
    try:
        code = dispatch(words)
        sys.stdout.flush()
    except JigbookError as error:
        report_error(error, as_json="--json" in words)
        return EXIT_REFUSED
    except KeyboardInterrupt:
        return EXIT_INTERRUPTED
    except BrokenPipeError:
        leave_broken_pipe()
        return EXIT_BROKEN_PIPE
    except Exception as error:
        report_unexpected(error, as_json="--json" in words)
        return EXIT_FAILED
    return code


def dispatch(words: list[str]) -> int:
    """Find the command among the words and run it."""
    if not words or words[0] in ("-h", "--help", "help"):
        print(overview())
        return EXIT_DONE if words else EXIT_REFUSED
    name, rest = words[0], words[1:]
    if name not in COMMANDS and name != VERSION:
        Parser(prog="jigbook").error(
            _("there is no command {name}; jigbook --help lists them").format(name=repr(name))
        )
    module, summary = COMMANDS.get(name, ("app.cli.version", later("print the version")))
    command = cast(Command, imported(module))
    parser = Parser(prog=f"jigbook {name}", description=_(summary))
    command.register(parser)
    return command.run(parser.parse(rest))


def imported(module: str) -> object:
    """A command's module, imported without being interrupted to look for garbage.

    Importing makes next to none, and looking through all that was imported, once or twice on
    the way and again while the command runs, takes a tenth of the whole time of a short one.
    """
    gc.disable()
    # Pydantic would look through every installed package for plugins; none is wanted.
    os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")
    try:
        return importlib.import_module(module)
    finally:
        gc.freeze()
        gc.enable()


def overview() -> str:
    """All commands with their lines."""
    lines = [_("usage: jigbook COMMAND [options]    (jigbook COMMAND --help says more)"), ""]
    lines += [f"  {name:<11} {_(summary)}" for name, (module, summary) in COMMANDS.items()]
    return "\n".join(lines)


def leave_broken_pipe() -> None:
    """Whoever read the output has gone; keep Python from complaining when it flushes at exit."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
