"""`jigbook solve`: survey files in, a finding out. No database, no login, nothing stored."""

import argparse
import importlib
import json
import sys
from collections.abc import Iterable, Mapping, Sequence
from typing import NamedTuple, cast

# Loaded before the modules that need them: at the end of their long chain of imports, calls cross
# the edge of one of Python's pieces of stack again and again, and each crossing asks for memory.
import numpy  # noqa: F401
import scipy.special  # noqa: F401

from app.cli.failures import report_error
from app.cli.input_files import STANDARD_INPUT, read_bytes, require_one_standard_input
from app.cli.option_numbers import number, whole_number
from app.cli.result_text import print_result
from app.errors import JigbookError, Problem
from app.schemas.json_text import text_of
from app.schemas.planning import PlanOut
from app.schemas.problems import refused
from app.schemas.reading import is_json, read_reference, read_survey
from app.schemas.reference import ReferenceIn
from app.schemas.result import ErrorOut, ResultOut
from app.schemas.survey import SurveyIn
from app.schemas.trials import (
    HIGHEST_SEED,
    LEAST_DIGITS,
    LEAST_TRIALS,
    MOST_DIGITS,
    MOST_TRIALS,
    UNASKED,
    TrialsAsked,
)
from app.services.solving import solve
from app.wording.errors import explain

SOLVED, REFUSED, MOVED = 0, 2, 3
LOWEST_THRESHOLD, HIGHEST_THRESHOLD = 0.5, 0.9999
TOGETHER = "app.cli.solve_together"
"""What plans, combines and compares; loaded only when that is asked for."""


class Asked(NamedTuple):
    """What holds for every survey of one call."""

    reference: ReferenceIn | None
    threshold: float
    beside: Mapping[str, object]
    plan: bool = False
    combine: bool = False
    change: str | None = None
    trials: TrialsAsked = UNASKED

    @property
    def together(self) -> bool:
        return self.plan or self.combine or self.change is not None


class NotYet(NamedTuple):
    """Refused, with a plan that says what is needed first."""

    error: JigbookError
    plan: PlanOut


Answer = ResultOut | JigbookError | NotYet


def register(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "surveys", nargs="+", metavar="SURVEY", help="JSON or CSV file, - for stdin"
    )
    parser.add_argument("--reference", metavar="FILE", help="reference geometry (JSON), or -")
    parser.add_argument("--json", action="store_true", help="print the result as JSON")
    parser.add_argument(
        "--threshold", default="0.95", metavar="P", help="needed probability (0.95)"
    )
    beside = parser.add_argument_group("what CSV cannot say")
    beside.add_argument(
        "--uncertainty", metavar="MM", help="standard uncertainty of each coordinate"
    )
    beside.add_argument("--part-temperature", metavar="C", help="temperature of the frame, in °C")
    beside.add_argument(
        "--up", metavar="X,Y,Z", help="which way is up (with a leading minus: --up=-1,0,0)"
    )
    further = parser.add_argument_group("beyond one survey by itself")
    further.add_argument(
        "--plan", action="store_true", help="say which further point or station would help most"
    )
    further.add_argument(
        "--combine", action="store_true", help="solve surveys of one phase together"
    )
    further.add_argument("--change", metavar="BEFORE", help="compare with this survey from before")
    trials = parser.add_argument_group("uncertainty by simulated measurements")
    trials.add_argument(
        "--monte-carlo", metavar="N", help="from so many trials, or at most so many"
    )
    trials.add_argument("--seed", metavar="S", help="of the trials; the same seed, the same trials")
    trials.add_argument(
        "--digits", metavar="D", help="stop once so many significant digits stand still"
    )


def run(args: argparse.Namespace) -> int:
    """Solve every survey; 0 solved, 3 a set-up moved, 2 any refused."""
    _refuse_apart(args)
    threshold, trials = _threshold(args.threshold), _trials(args)
    beside = _beside(args)
    require_one_standard_input([*args.surveys, *filter(None, (args.reference, args.change))])
    reference = read_reference(read_bytes(args.reference)) if args.reference else None
    asked = Asked(reference, threshold, beside, args.plan, args.combine, args.change, trials)
    answers = _answers(args.surveys, asked)
    names = [", ".join(map(_named, args.surveys))] if args.combine else args.surveys
    told = _told_as_json if args.json else _told
    return _exit_code([told(names, answer, place) for place, answer in enumerate(answers)])


def _answers(names: Sequence[str], asked: Asked) -> Iterable[Answer]:
    """Each answer when it is asked for: of very many surveys none is kept."""
    if asked.together:
        answers = importlib.import_module(TOGETHER).answers(names, asked)
        return cast(list[Answer], answers)
    return (_answer(name, asked) for name in names)


def _answer(name: str, asked: Asked) -> ResultOut | JigbookError:
    try:
        survey = read(name, asked.beside)
        return solve(survey, asked.reference, asked.threshold, trials=asked.trials)
    except JigbookError as error:
        return error


def read(name: str, beside: Mapping[str, object]) -> SurveyIn:
    """Read a survey file, with what stands beside it on the command line. Raises BadInput."""
    content = read_bytes(name)
    if beside and is_json(text_of(content)):
        raise refused([Problem("option_for_csv_only", "", {"met": ", ".join(beside)})])
    return read_survey(content, beside)


def _told(names: Sequence[str], answer: Answer, place: int) -> int:
    """Print one answer; its exit code."""
    several, error = len(names) > 1, _error_of(answer)
    if error is None:
        print_result(cast(ResultOut, answer), _named(names[place]) if several else None)
    else:
        if several:
            print(f"{_named(names[place])}:", file=sys.stderr)
        report_error(error, as_json=False)
    return _code(answer)


def _told_as_json(names: Sequence[str], answer: Answer, place: int) -> int:
    """Print one answer as JSON, of several as an item of their list; its exit code."""
    error = _error_of(answer)
    if len(names) > 1:
        begin, end = "" if place else "[", "]\n" if place == len(names) - 1 else ", "
        print(begin + _dumped(_as_json(answer)), end=end)
    elif isinstance(answer, NotYet):
        print(_dumped({"plan": answer.plan}))
    elif error is None:
        print(_dumped(answer))
    if error is not None:
        report_error(error, as_json=True)
    return _code(answer)


def _dumped(told: object) -> str:
    return json.dumps(told, ensure_ascii=False, allow_nan=False)


def _as_json(answer: Answer) -> object:
    error = _error_of(answer)
    if error is None:
        return answer
    told: ErrorOut = {
        "code": error.code,
        "message": explain(error).sentence,
        "feature": error.feature,
    }
    return {"error": told, "plan": answer.plan} if isinstance(answer, NotYet) else {"error": told}


def _error_of(answer: Answer) -> JigbookError | None:
    if isinstance(answer, NotYet):
        return answer.error
    return answer if isinstance(answer, JigbookError) else None


def _code(answer: Answer) -> int:
    if not isinstance(answer, dict):
        return REFUSED
    return MOVED if _moved(answer) else SOLVED


def _exit_code(codes: Sequence[int]) -> int:
    """One refused survey counts most, then one whose set-up moved."""
    return next((code for code in (REFUSED, MOVED) if code in codes), SOLVED)


def _moved(result: ResultOut) -> bool:
    return result["rig_check"]["verdict"] == "moved"


def _named(name: str) -> str:
    return "standard input" if name == STANDARD_INPUT else name


def _refuse_apart(args: argparse.Namespace) -> None:
    if args.plan and args.combine:
        raise refused([Problem("options_apart", "command line", {"met": "--plan, --combine"})])
    if args.combine and args.monte_carlo is not None:
        facts = {"met": "--combine, --monte-carlo"}
        raise refused([Problem("options_apart", "command line", facts)])


def _trials(args: argparse.Namespace) -> TrialsAsked:
    return TrialsAsked(
        whole_number(args.monte_carlo, "--monte-carlo", LEAST_TRIALS, MOST_TRIALS),
        whole_number(args.seed, "--seed", 0, HIGHEST_SEED),
        whole_number(args.digits, "--digits", LEAST_DIGITS, MOST_DIGITS),
    )


def _beside(args: argparse.Namespace) -> dict[str, object]:
    """Return what stands beside a CSV file, as it would stand in a survey's JSON."""
    beside: dict[str, object] = {}
    if args.uncertainty is not None:
        u = number(args.uncertainty, "--uncertainty")
        beside["instrument"] = {"standard_uncertainty_mm": u}
    if args.part_temperature is not None:
        beside["part_temperature_c"] = number(args.part_temperature, "--part-temperature")
    if args.up is not None:
        beside["up"] = [number(part, "--up") for part in args.up.split(",")]
    return beside


def _threshold(text: str) -> float:
    value = number(text, "--threshold")
    if not LOWEST_THRESHOLD <= value <= HIGHEST_THRESHOLD:
        facts = {"met": value, "lowest": LOWEST_THRESHOLD, "highest": HIGHEST_THRESHOLD}
        raise refused([Problem("threshold_out_of_range", "--threshold", facts)])
    return value
