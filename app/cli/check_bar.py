"""`jigbook check-bar`: a log of readings of a known length in, whether they are in control out."""

import argparse
import json
from collections.abc import Iterator

from app.cli.input_files import read_bytes
from app.metrology.rounding import rounded
from app.schemas.check_bar_log import CheckBarResultOut, JudgedReadingOut, read_check_bar_log
from app.services.check_bar_evaluation import evaluated
from app.wording.instrument_records import standing
from app.wording.translation import _

IN_CONTROL, OUT_OF_CONTROL = 0, 3
DECIMALS = 3
EXAMPLE = """\
{"format": "jigbook.check_bar/1",
 "bar": {"name": "bar 1", "length_mm": 500.012, "length_u_mm": 0.002,
         "expansion_per_k": 11.7e-6},
 "instrument": {"name": "arm 1", "standard_uncertainty_mm": 0.03},
 "readings": [
  {"measured_at": "2026-03-02T07:30:00+01:00", "temperature_c": 21.5,
   "readings_mm": [500.021, 500.017]},
  {"measured_at": "2026-03-09T07:30:00+01:00", "temperature_c": 19.0,
   "readings_mm": [500.004, 500.009]}
 ]}
"""
"""A whole log, invented, as the help shows it."""


def register(parser: argparse.ArgumentParser) -> None:
    """The file, and what it looks like."""
    parser.formatter_class = argparse.RawDescriptionHelpFormatter
    about = _(
        "FILE, oldest reading first; the bar's length and uncertainty as calibrated, at 20 °C.\n"
        'A reading may also say "temperature_u_k", "by", "note", "explanation" (why it was out of\n'
        'control) and "begin_anew": true (the chart starts again after it). For example:'
    )
    parser.epilog = f"{about}\n\n{EXAMPLE}"
    parser.add_argument(
        "file", metavar="FILE", help="log in JSON (jigbook.check_bar/1); - for stdin"
    )
    parser.add_argument("--json", action="store_true", help="print the result as JSON")


def run(args: argparse.Namespace) -> int:
    """Judge each reading by those before it; 0 in control, 3 a reading waits to be explained."""
    result = evaluated(read_check_bar_log(read_bytes(args.file)))
    if args.json:
        print(json.dumps(result, ensure_ascii=False, allow_nan=False))
    else:
        print("\n".join(lines(result)))
    return OUT_OF_CONTROL if result["standing"] == "out_of_control" else IN_CONTROL


def lines(result: CheckBarResultOut) -> Iterator[str]:
    """The standing first, then each reading with what judged it, oldest first."""
    yield standing(result["standing"])
    for place, one in enumerate(result["readings"], start=1):
        yield _("{place}. {moment}{words}").format(
            place=place,
            moment=f"{one['measured_at']}: " if one["measured_at"] else "",
            words="; ".join([*one["says"], *_beside(one)]),
        )


def _beside(one: JudgedReadingOut) -> Iterator[str]:
    u, chart = one["deviation_u_mm"], one["chart"]
    if u is not None:
        yield _("standard uncertainty {u} mm").format(u=rounded(u, DECIMALS))
    if chart is not None:
        half = 0.5 * (chart["upper"] - chart["lower"])
        text = _("limits {half} mm to each side of the readings before it")
        yield text.format(half=rounded(half, DECIMALS))
    if one["explained"]:
        yield _("explained")
