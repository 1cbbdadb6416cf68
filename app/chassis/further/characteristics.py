"""The characteristics of a survey that goes beyond the head, with what contributes to each."""

import math
from typing import NamedTuple

import numpy as np

from app.chassis import head
from app.chassis.characteristic_units import unit_of
from app.chassis.contributions import Contributions, Run
from app.chassis.derivatives import Inputs, row_runs
from app.chassis.formulas.everything import Computed, computed
from app.chassis.further.columns import Columns, common_causes
from app.chassis.further.joined import Joined, joined, spread_out
from app.chassis.head_characteristics import HeadRows
from app.chassis.order import in_order
from app.chassis.survey import Floats, Reference
from app.chassis.verdicts import Row
from app.geometry.dual import Scalar

PER_RADIAN = math.degrees(1.0)


class Beyond(NamedTuple):
    """rows in order and their contributions, the head's among them; handling_u: mm."""

    rows: list[Row]
    contributions: Contributions
    joined: Joined
    computed: Computed
    handling_u: dict[str, float]


def beyond_the_head(inputs: Inputs, told: HeadRows, reference: Reference) -> Beyond:
    """told: what the head's own path gives already. Raises Refusal."""
    whole = joined(inputs)
    keys = {row.key for row in told.rows}
    found = computed(whole.associated, reference, without=keys)
    slopes = dict(zip([row.key for row in told.rows], _head(inputs, told, whole), strict=True))
    rows = {row.key: row for row in told.rows}
    for key, scalar in found.values.items():
        factor = PER_RADIAN if unit_of(key) == "deg" else 1.0
        rows[key] = Row(key, float(scalar.value) * factor)
        slopes[key] = _slopes(scalar, whole.columns) * factor
    order = in_order(rows)
    handling = [_slopes(scalar, whole.columns) for scalar in found.handling.values()]
    by_input = np.array([*(slopes[key] for key in order), *handling])
    runs, derivatives = _by_cause(inputs, by_input.reshape(-1, whole.columns.total), whole.columns)
    of_figures = derivatives[len(order) :]
    u = np.sqrt((of_figures * of_figures).sum(axis=1)).tolist()
    return Beyond(
        [rows[key] for key in order],
        Contributions.of(runs, derivatives[: len(order)]),
        whole,
        found,
        dict(zip(found.handling, u, strict=True)),
    )


def _by_cause(inputs: Inputs, by_input: Floats, columns: Columns) -> tuple[list[Run], Floats]:
    """The sources, and derivatives (k, inputs) by what they state, from those by columns."""
    runs, sizes = common_causes(inputs.prepared)
    own, common = by_input[:, : columns.offset], by_input[:, columns.offset :]
    derivatives = np.concatenate((own, common @ sizes), axis=1)
    return [*row_runs(inputs), *columns.runs, *runs], derivatives


def _head(inputs: Inputs, told: HeadRows, whole: Joined) -> Floats:
    """(k, columns): the head's own rows."""
    gradient = np.array([quantity.gradient for quantity in told.quantities], dtype=np.float64)
    gradient = gradient.reshape(-1, head.COLUMNS)
    slopes: Floats = (gradient * told.factors[:, np.newaxis]) @ whole.head_slopes
    for place, quantity in enumerate(told.quantities):
        if quantity.by_row is not None:
            by_row = quantity.by_row[np.newaxis] * told.factors[place]
            slopes[place] += spread_out(inputs, by_row, whole.columns)[0]
    return slopes


def _slopes(scalar: Scalar, columns: Columns) -> Floats:
    return np.zeros(columns.total) if scalar.slopes is None else scalar.slopes
