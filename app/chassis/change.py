"""What changed between two surveys, with the uncertainty that leaves out what both share."""

import math
from collections.abc import Sequence
from typing import NamedTuple

from app.chassis import refusals
from app.chassis.result import Characteristic
from app.chassis.senses import sense_code
from app.chassis.sharing import Session, between
from app.metrology import conformity
from app.metrology.degrees_of_freedom import welch_satterthwaite


class Changed(NamedTuple):
    """One characteristic: change = after - before, in its unit.

    significant: larger than its own expanded uncertainty (95 %).
    """

    key: str
    unit: str
    before: float
    after: float
    change: float
    standard_uncertainty: float
    degrees_of_freedom: float | None
    expanded_uncertainty: float
    coverage_factor: float
    significant: bool
    sense_code: str


def change(before: Session, after: Session) -> tuple[Changed, ...]:
    """Each characteristic that both have, in the order of the later one.

    Two readings of a thermometer are two readings: give sessions no `day` in common unless one
    reading served both. Raises Refusal `change_moved`, `change_differs`.
    """
    for name, session in (("before", before), ("after", after)):
        if session.result.rig_check.verdict == "moved":
            raise refusals.change_moved(name)
    if _levelling(before) != _levelling(after):
        raise refusals.change_differs("levelling")
    common = between(after, before)
    earlier = {item.key: place for place, item in enumerate(before.result.characteristics)}
    return tuple(
        [
            _changed(
                before.result.characteristics[earlier[item.key]],
                item,
                float(common[place, earlier[item.key]]),
            )
            for place, item in enumerate(after.result.characteristics)
            if item.key in earlier and not item.set_by_levelling
        ]
    )


def _levelling(session: Session) -> tuple[str | None, tuple[str, ...], dict[str, float]]:
    """The rule, the control points it went by, and what it made equal to a nominal."""
    result = session.result
    nominals = {item.key: item.value for item in result.characteristics if item.set_by_levelling}
    return result.levelling, result.levelled_by, nominals


def _changed(before: Characteristic, after: Characteristic, covariance: float) -> Changed:
    difference = after.value - before.value
    variances = [one.standard_uncertainty**2 for one in (before, after)]
    u = math.sqrt(max(0.0, sum(variances) - 2.0 * covariance))
    freedom = _freedom((before, after), u, covariance)
    factor = conformity.coverage_factor(freedom)
    return Changed(
        after.key,
        after.unit,
        before.value,
        after.value,
        difference,
        u,
        freedom,
        factor * u,
        factor,
        abs(difference) > factor * u,
        sense_code(after.key, difference, difference),
    )


def _freedom(items: Sequence[Characteristic], u: float, covariance: float) -> float | None:
    """Welch and Satterthwaite's, over what each survey has of its own."""
    parts = [math.sqrt(max(0.0, item.standard_uncertainty**2 - covariance)) for item in items]
    degrees = [
        math.inf if item.degrees_of_freedom is None else item.degrees_of_freedom for item in items
    ]
    if u == 0.0 or all(map(math.isinf, degrees)):
        return None
    freedom = welch_satterthwaite(parts, degrees)
    return None if math.isinf(freedom) else freedom
