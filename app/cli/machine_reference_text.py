"""The report of a reference from machines as text for a terminal."""

import textwrap
from collections.abc import Iterator

from app.cli.columns import in_columns, widths_of
from app.schemas.machine_reference import MachineStatisticsOut, ReferenceReportOut
from app.wording.numbers import limits, places, size, spread
from app.wording.translation import _

WIDTH = 100
NUMBERS = (1, 2, 3, 4, 5)
"""Columns that hold numbers."""


def print_report(report: ReferenceReportOut) -> None:
    """Print the table, the machines left out, the warnings, and what it all means."""
    for line in lines(report):
        print(line)


def lines(report: ReferenceReportOut) -> Iterator[str]:
    head = [
        _("characteristic"), _("machines"), _("mean"), _("± U"), _("scatter"), _("measuring"),
        _("limits"), "",
    ]  # fmt: skip
    rows = [_cells(one) for one in report["characteristics"]]
    widths = widths_of([head, *rows])
    yield in_columns(head, widths, NUMBERS)
    for row, one in zip(rows, report["characteristics"], strict=True):
        yield in_columns(row, widths, NUMBERS)
        if one["mean"] < 0:
            yield f"    {one['mean_sense']}"
    yield _(
        "U: expanded uncertainty of the mean (95 %). Scatter: one standard deviation between the "
        "machines as measured; measuring: what the measurements contribute to it."
    )
    yield ""
    for machine in report["machines"]:
        if machine["left_out_because"]:
            text = _("left out: {name} ({reason})")
            yield text.format(name=machine["name"], reason=machine["left_out_because"])
    for warning in report["warnings"]:
        yield from _wrapped(warning["message"], first="! ", rest="  ")
    for sentence in report["sentences"]:
        yield from _wrapped(sentence)


def _cells(one: MachineStatisticsOut) -> list[str]:
    decimals, unit = places(one["expanded_uncertainty"]), one["unit"]
    test = one["outlier_test"]
    return [
        one["name"],
        str(one["machines"]),
        size(one["mean"], unit, decimals),
        spread(one["expanded_uncertainty"], unit, decimals).removeprefix("± "),
        size(one["deviation"], unit, decimals),
        size(one["measurement_uncertainty"], unit, decimals),
        limits(round(one["lower"], 3), round(one["upper"], 3), unit)
        if one["in_reference"]
        else _("not in the reference"),
        _("outlier: {machine}").format(machine=test["machine"]) if test["outlier"] else "",
    ]


def _wrapped(text: str, first: str = "", rest: str = "") -> list[str]:
    return textwrap.wrap(text, WIDTH, initial_indent=first, subsequent_indent=rest)
