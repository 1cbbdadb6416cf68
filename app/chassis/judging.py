"""Every characteristic found, with its uncertainty and its verdict."""

import math
from collections.abc import Sequence
from dataclasses import replace

from app.chassis import verdicts
from app.chassis.characteristics import Found
from app.chassis.contributions import effective_degrees_of_freedom
from app.chassis.result import Characteristic
from app.chassis.survey import Floats, Reference

OF_THE_DATUM = frozenset({"pivot_width"})


def judged(
    found: Found,
    covariance: Floats,
    reference: Reference,
    threshold: float,
    undecidable: bool,
    first_order_only: bool,
) -> tuple[Characteristic, ...]:
    """undecidable: no verdict may rest on this survey; first_order_only: none on its steering."""
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
                undecidable or (first_order_only and row.key not in OF_THE_DATUM),
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
        else replace(item, verdict="undecided", side=None)
        for item in items
    )
