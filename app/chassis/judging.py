"""Every characteristic found, with its uncertainty and its verdict."""

import math
from collections.abc import Container, Sequence

from app.chassis import verdicts
from app.chassis.characteristics import Found
from app.chassis.contributions import effective_degrees_of_freedom
from app.chassis.result import Characteristic
from app.chassis.survey import Floats, Reference

OF_THE_DATUM = frozenset({"pivot_width"})


def undecidable(
    found: Found, doubtful: frozenset[str], moved: bool, first_order_only: bool
) -> frozenset[str]:
    """Keys on which no verdict may rest: all where the set-up moved, those of the steering where
    first order does not suffice, else the doubtful ones."""
    keys = frozenset([row.key for row in found.rows])
    if moved:
        return keys
    return doubtful | (keys - OF_THE_DATUM) if first_order_only else doubtful


def judged(
    found: Found,
    covariance: Floats,
    reference: Reference,
    threshold: float,
    undecidable: Container[str],
) -> tuple[Characteristic, ...]:
    """undecidable: keys on which no verdict may rest."""
    variances = covariance.diagonal().tolist()
    freedoms: list[float | None] = [None] * len(variances)
    if found.degrees_of_freedom is not None:
        freedoms = effective_degrees_of_freedom(
            variances, [(found.scattered, found.degrees_of_freedom)]
        )
    return tuple(
        [
            verdicts.characteristic(
                row,
                math.sqrt(variances[place]),
                freedoms[place],
                reference.characteristics.get(row.key),
                threshold,
                found.contributions.budget(place),
                row.key in undecidable,
            )
            for place, row in enumerate(found.rows)
        ]
    )


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
