"""The report of a reference from machines as text for a terminal."""

import textwrap
from collections.abc import Iterator

from app.schemas.machine_reference import MachineStatisticsOut, ReferenceReportOut
from app.wording.numbers import limits, places, size, spread
from app.wording.translation import _

WIDTH = 100
WORDS = (0, 6, 7)
"""Columns that hold words."""


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
    widths = [max(len(row[i]) for row in [head, *rows]) for i in range(len(head))]
    yield _joined(head, widths)
    for row, one in zip(rows, report["characteristics"], strict=True):
        yield _joined(row, widths)
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


def _joined(cells: list[str], widths: list[int]) -> str:
    """Numbers stand to the right of their columns, words to the left."""
    aligned = [
        cell.ljust(width) if place in WORDS else cell.rjust(width)
        for place, (cell, width) in enumerate(zip(cells, widths, strict=True))
    ]
    return "  ".join(aligned).rstrip()


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
