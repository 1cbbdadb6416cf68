"""`jigbook gauge-study`: a table of readings in, the gauge's part of their scatter out."""

import argparse
import json
from collections.abc import Iterator

from app.cli.columns import in_columns, widths_of
from app.cli.input_files import read_bytes
from app.errors import Problem
from app.schemas.gauge_study import read_gauge_study
from app.schemas.gauge_study_result import GaugeStudyOut, PartOfSpreadOut, SpreadOut
from app.schemas.json_text import text_of
from app.schemas.problems import refused
from app.schemas.reading import is_json
from app.services.gauge_evaluation import evaluated
from app.wording.instrument_records import UNITS, source
from app.wording.numbers import percent, plain
from app.wording.translation import _

DONE = 0
EXAMPLE = """\
part,person,trial,value
1,A,1,100.02
1,A,2,100.05
2,A,1,99.81
2,A,2,99.78
1,B,1,100.09
1,B,2,100.04
2,B,1,99.85
2,B,2,99.88
"""
"""A whole table, invented, as the help shows it."""
PARTS = ("repeatability", "reproducibility", "interaction", "gauge", "part", "total")


def register(parser: argparse.ArgumentParser) -> None:
    """The file with what it looks like, and its unit where it is a table."""
    parser.formatter_class = argparse.RawDescriptionHelpFormatter
    about = _(
        "Every person measures every part in every trial: two parts and two trials at least.\n"
        "A CSV, for example:"
    )
    parser.epilog = f"{about}\n\n{EXAMPLE}"
    parser.add_argument(
        "file",
        metavar="FILE",
        help="JSON, or CSV with the header part,person,trial,value; - for stdin",
    )
    parser.add_argument(
        "--unit", choices=("mm", "deg"), help="unit of the values of a CSV (mm unless told)"
    )
    parser.add_argument("--json", action="store_true", help="print the result as JSON")


def run(args: argparse.Namespace) -> int:
    """Evaluate the study by analysis of variance and by averages and ranges."""
    content = read_bytes(args.file)
    if args.unit and is_json(text_of(content)):
        raise refused([Problem("option_for_csv_only", "", {"met": "--unit"})])
    result = evaluated(read_gauge_study(content, {"unit": args.unit} if args.unit else None))
    if args.json:
        print(json.dumps(result, ensure_ascii=False, allow_nan=False))
    else:
        print("\n".join(lines(result)))
    return DONE


def lines(result: GaugeStudyOut) -> Iterator[str]:
    """The sentence, then both evaluations side by side."""
    yield _("{parts} parts, {people} people, {trials} trials").format(
        parts=len(result["parts"]), people=len(result["people"]), trials=result["trials"]
    )
    yield result["sentence"]
    yield ""
    yield from _table(result)
    for one in result["average_range"]["beyond"]:
        text = _("! {person}, part {part}: the readings lie farther apart than chance explains")
        yield text.format(person=one["person"], part=one["part"])


def _table(result: GaugeStudyOut) -> Iterator[str]:
    variances, unit = result["anova"], UNITS[result["unit"]]
    kinds = {
        _("variances, pooled"): variances["pooled"],
        _("variances, with interaction"): variances["with_interaction"],
        _("averages and ranges"): result["average_range"]["spread"],
    }
    shown = {name: spread for name, spread in kinds.items() if spread is not None}
    rows = [
        ["", *shown],
        *(
            [source(name), *(_cell(_part(one, name), unit) for one in shown.values())]
            for name in PARTS
        ),
    ]
    rows.append(
        [_("kinds of part told apart"), *(str(one["categories"] or "–") for one in shown.values())]
    )
    if any(one["tolerance_share"] is not None for one in shown.values()):
        cells = [percent(one["tolerance_share"] or 0.0) for one in shown.values()]
        rows.append([_("of the tolerance"), *cells])
    widths = widths_of(rows)
    for row in rows:
        yield in_columns(row, widths)
    yield _("One standard deviation, and its share of the total; shares do not add up.")


def _part(spread: SpreadOut, name: str) -> PartOfSpreadOut:
    parts: dict[str, PartOfSpreadOut] = {
        "repeatability": spread["repeatability"],
        "reproducibility": spread["reproducibility"],
        "interaction": spread["interaction"],
        "gauge": spread["gauge"],
        "part": spread["part"],
        "total": spread["total"],
    }
    return parts[name]


def _cell(part: PartOfSpreadOut, unit: str) -> str:
    if part["deviation"] is None:
        return "–"
    shown = plain(float(f"{part['deviation']:.4g}"))
    share = "" if part["share"] is None else f" ({percent(part['share'])})"
    return f"{shown} {unit}{share}"
