"""`jigbook reference`: surveys of machines in order in, a reference and its report out."""

import argparse
import json
from pathlib import Path

from app.cli.input_files import read_bytes, require_one_standard_input
from app.cli.machine_reference_text import print_report
from app.cli.option_numbers import number
from app.errors import Conflict, Problem, Unavailable
from app.schemas.machine_reference import StatisticsIn
from app.schemas.problems import refused, shortened
from app.schemas.reading import checked, read_reference, read_survey
from app.schemas.reference import MachineModelIn
from app.services.machine_references import Machine, from_machines
from app.wording.translation import _

DONE = 0
LONGEST_NAME = 50


def register(parser: argparse.ArgumentParser) -> None:
    """Surveys, what the reference takes over, how the machines are described."""
    parser.add_argument(
        "surveys",
        nargs="+",
        metavar="SURVEY",
        help="survey of a machine that is in order, JSON or CSV; three machines at least",
    )
    parser.add_argument(
        "--base",
        metavar="FILE",
        help="reference (JSON) whose levelling, materials, control points … are taken over",
    )
    parser.add_argument(
        "--leave-out",
        action="append",
        default=[],
        metavar="SURVEY=REASON",
        help="do not count this survey; the reason stands in the reference (may be repeated)",
    )
    figures = parser.add_argument_group("how the machines are described")
    figures.add_argument(
        "--content", default="0.9", metavar="P", help="part of all machines within limits (0.9)"
    )
    figures.add_argument(
        "--confidence", default="0.95", metavar="P", help="how sure that is (0.95)"
    )
    figures.add_argument(
        "--significance", default="0.05", metavar="P", help="of the outlier test (0.05)"
    )
    model = parser.add_argument_group("which model it is, else that of the base")
    model.add_argument("--make")
    model.add_argument("--model")
    model.add_argument("--years")
    parser.add_argument("--output", type=Path, metavar="FILE", help="write the reference there")
    parser.add_argument("--json", action="store_true", help="print reference and report as JSON")


def run(args: argparse.Namespace) -> int:
    """Print the report, write the reference; nothing is stored in a database."""
    require_one_standard_input([*args.surveys, *([args.base] if args.base else [])])
    if args.output is not None and args.output.exists():
        raise Conflict("file_exists", "output", path=str(args.output))
    base = read_reference(read_bytes(args.base)) if args.base else None
    figures = {
        name: number(getattr(args, name), f"--{name}")
        for name in ("content", "confidence", "significance")
    }
    statistics = checked(StatisticsIn, figures)
    made = from_machines(_machines(args), base, _model(args), statistics)
    if args.output is not None:
        _write(args.output, made["reference"])
    if args.json:
        print(json.dumps(made, ensure_ascii=False, allow_nan=False))
    else:
        print_report(made["report"])
        if args.output is not None:
            print(_("reference written to {path}").format(path=args.output))
        else:
            print(_("nothing was written: --output FILE keeps the reference"))
    return DONE


def _machines(args: argparse.Namespace) -> list[Machine]:
    """Each under its file's own name, with a number where two files are called the same."""
    left_out = _left_out(args)
    names = [shortened(Path(file).name, LONGEST_NAME) for file in args.surveys]
    if len(set(names)) < len(names):
        names = [f"{place}. {name}" for place, name in enumerate(names, start=1)]
    return [
        Machine(name, read_survey(read_bytes(file)), left_out.get(file))
        for name, file in zip(names, args.surveys, strict=True)
    ]


def _left_out(args: argparse.Namespace) -> dict[str, str]:
    reasons: dict[str, str] = {}
    for words in args.leave_out:
        name, _mark, reason = words.partition("=")
        if name not in args.surveys:
            raise refused([Problem("no_such_exclusion", "--leave-out", {"met": shortened(name)})])
        if not reason.strip():
            facts = {"met": shortened(name)}
            raise refused([Problem("exclusion_without_reason", "--leave-out", facts)])
        reasons[name] = shortened(reason.strip(), 99)
    return reasons


def _model(args: argparse.Namespace) -> MachineModelIn | None:
    stated = {name: getattr(args, name) for name in ("make", "model", "years")}
    stated = {name: value for name, value in stated.items() if value is not None}
    return checked(MachineModelIn, stated) if stated else None


def _write(file: Path, document: object) -> None:
    text = json.dumps(document, ensure_ascii=False, indent=1, allow_nan=False) + "\n"
    try:
        with file.open("x", encoding="utf-8") as opened:
            opened.write(text)
    except OSError as error:
        reason = error.strerror or type(error).__name__
        raise Unavailable("cannot_write", None, path=str(file), reason=reason) from error
