"""Every characteristic found, with its uncertainty and its verdict."""

import math
from collections.abc import Collection, Container, Sequence

import numpy as np

from app.chassis import verdicts
from app.chassis.characteristics import Found
from app.chassis.levelling import SET_BY
from app.chassis.result import Characteristic
from app.chassis.survey import Floats, Reference, Tolerance
from app.metrology.degrees_of_freedom import effective_degrees_of_freedom

OF_THE_STEERING = frozenset({"steer_target", "head_bore", "target_spacing"})
SIDE_VIEW = (".x", ".z")


def undecidable(
    found: Found, doubtful: frozenset[str], moved: bool, first_order_only: bool
) -> frozenset[str]:
    """Keys on which no verdict may rest: all where the set-up moved, those of the steering where
    first order does not suffice, else the doubtful ones."""
    if moved:
        return frozenset([row.key for row in found.rows])
    if not first_order_only:
        return doubtful
    sources = found.contributions.sources
    steering = [place for place, name in enumerate(sources) if name in OF_THE_STEERING]
    parts = found.contributions.parts.take(steering, axis=1).sum(axis=1).tolist()
    return doubtful | {row.key for row, part in zip(found.rows, parts, strict=True) if part}


def resting_on(found: Found, places: Collection[int]) -> frozenset[str]:
    """Keys of what was computed from any of these points beyond the head."""
    if not places or found.beyond is None:
        return frozenset()
    columns = found.beyond.joined.columns.points
    own = [columns[i] + k for i in places if i in columns for k in range(3)]
    moved = np.abs(found.contributions.derivatives.take(own, axis=1)).sum(axis=1).tolist()
    return frozenset([row.key for row, size in zip(found.rows, moved, strict=True) if size])


def judged(
    found: Found, reference: Reference, threshold: float, undecidable: Container[str]
) -> tuple[Characteristic, ...]:
    """All characteristics with uncertainty and verdict, in the order of `found.rows`.

    threshold: probability from which a verdict is given; undecidable: keys on which no verdict may
    rest.
    """
    variances = found.contributions.covariance.diagonal()
    uncertainties, freedoms = np.sqrt(variances).tolist(), _degrees_of_freedom(found, variances)
    budgets = found.contributions.budgets()
    return tuple(
        [
            verdicts.characteristic(
                row,
                u,
                freedom,
                tolerance_of(row.key, reference, found.rule),
                threshold,
                budget,
                row.key in undecidable,
            )
            for row, u, freedom, budget in zip(
                found.rows, uncertainties, freedoms, budgets, strict=True
            )
        ]
    )


def _degrees_of_freedom(found: Found, variances: Floats) -> Sequence[float | None]:
    """Welch and Satterthwaite's, of each characteristic; None: infinite. What the points do not
    contribute is taken as known."""
    if found.scattered is None or found.degrees_of_freedom is None:
        return [None] * len(variances)
    known = np.maximum(0.0, variances - found.scattered)
    freedoms = effective_degrees_of_freedom(
        np.sqrt((found.scattered, known)), (found.degrees_of_freedom, math.inf)
    )
    return [None if math.isinf(freedom) else freedom for freedom in freedoms.tolist()]


def tolerance_of(key: str, reference: Reference, rule: str | None) -> Tolerance | None:
    """The reference's line for a characteristic.

    Control points count from their nominal. Where the head itself sets the level, a bent head
    would slander them: seen from the side they then get no verdict.
    """
    tolerance = reference.characteristics.get(key)
    if not key.startswith("control."):
        return tolerance
    lower, upper, required = None, None, None
    if tolerance is not None:
        lower, upper, required = tolerance.lower, tolerance.upper, tolerance.required
    if rule in SET_BY and key.endswith(SIDE_VIEW):
        lower = upper = None
    return Tolerance(0.0, lower, upper, required)


def not_contradicted(
    items: Sequence[Characteristic], others: Sequence[Characteristic]
) -> tuple[Characteristic, ...]:
    """Undecided where an estimate that contradicts this one comes to another verdict."""
    verdict = {item.key: (item.verdict, item.side) for item in others}
    return tuple(
        item
        if verdict.get(item.key, (item.verdict, item.side)) == (item.verdict, item.side)
        else item._replace(verdict="undecided", side=None)
        for item in items
    )
