"""The characteristics of a survey that goes beyond the head, with what contributes to each."""

import math
from typing import NamedTuple

import numpy as np

from app.chassis import head
from app.chassis.characteristic_units import unit_of
from app.chassis.contributions import Run
from app.chassis.derivatives import Inputs, row_runs
from app.chassis.formulas.everything import Computed, computed
from app.chassis.further.columns import Columns, common_causes
from app.chassis.further.joined import Joined, joined
from app.chassis.head_characteristics import HeadRows
from app.chassis.order import in_order
from app.chassis.survey import Floats, Reference
from app.chassis.verdicts import Row
from app.geometry.dual import Scalar

PER_RADIAN = math.degrees(1.0)


class Beyond(NamedTuple):
    """rows in order, the head's among them, with derivatives (k, inputs) by the inputs that `runs`
    tell; handling_u: mm."""

    rows: list[Row]
    runs: list[Run]
    derivatives: Floats
    joined: Joined
    computed: Computed
    handling_u: dict[str, float]


def beyond_the_head(inputs: Inputs, told: HeadRows, reference: Reference) -> Beyond:
    """told: what the head's own path gives already. Raises Refusal."""
    whole = joined(inputs)
    of_head = _head(told, whole)
    known = zip(told.rows, told.quantities, of_head, strict=True)
    found = computed(
        whole.associated,
        reference,
        known={row.key: Scalar(quantity.value, slopes) for row, quantity, slopes in known},
    )
    factors = [PER_RADIAN if unit_of(key) == "deg" else 1.0 for key in found.values]
    further = zip(found.values.items(), factors, strict=True)
    rows = [*told.rows, *[Row(key, float(one.value) * factor) for (key, one), factor in further]]
    by_column = np.concatenate(
        (
            of_head.ravel(),
            *[_slopes(one) for one in (*found.values.values(), *found.handling.values())],
        )
    ).reshape(-1, whole.columns.total)
    by_column *= np.array((*told.factors, *factors, *(1.0 for _ in found.handling)))[:, np.newaxis]
    runs, derivatives = _by_cause(inputs, by_column, whole.columns)
    order = in_order([row.key for row in rows])
    of_figures = derivatives[len(rows) :]
    u = np.sqrt((of_figures * of_figures).sum(axis=1)).tolist()
    return Beyond(
        [rows[place] for place in order],
        runs,
        derivatives.take(order, axis=0),
        whole,
        found,
        dict(zip(found.handling, u, strict=True)),
    )


def _by_cause(inputs: Inputs, by_input: Floats, columns: Columns) -> tuple[list[Run], Floats]:
    """The sources, and derivatives (k, inputs) by what they state, from those by columns."""
    runs, sizes = common_causes(inputs.prepared)
    own, common = by_input[:, : columns.offset], by_input[:, columns.offset :]
    derivatives = np.concatenate((own, common.dot(sizes)), axis=1)
    return [*row_runs(inputs), *columns.runs, *runs], derivatives


def _head(told: HeadRows, whole: Joined) -> Floats:
    """(k, columns): the head's own rows, in mm and rad."""
    gradient = np.array([quantity.gradient for quantity in told.quantities], dtype=np.float64)
    slopes: Floats = gradient.reshape(-1, head.COLUMNS).dot(whole.head_slopes)
    for place, quantity in enumerate(told.quantities):
        if quantity.by_row is not None:
            slopes[place] += whole.spread_out(quantity.by_row[np.newaxis])[0]
    return slopes


def _slopes(scalar: Scalar) -> Floats:
    """`computed` gives none without."""
    assert scalar.slopes is not None
    return scalar.slopes
