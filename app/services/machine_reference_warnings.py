"""What a reference from machines warns of: each kind once, with all that it is about."""

import math
from collections.abc import Callable, Sequence

from app.chassis.machines_in_order import ADVISED, FEWEST, Described, Measured, Model
from app.metrology.conformity import coverage_factor
from app.schemas.machine_reference import ReportWarningOut
from app.schemas.reference import ReferenceIn
from app.wording import machine_references as words
from app.wording.enumeration import characteristics


def warnings_of(
    found: Model, kept: Sequence[Measured], base: ReferenceIn | None, *, moved: bool
) -> list[ReportWarningOut]:
    """All warnings of the report; `moved`: control points were moved to the machines' mean."""
    told: list[ReportWarningOut] = []

    def warn(code: str, keys: Sequence[str] = (), **facts: str | int | float) -> None:
        named = {"names": characteristics(keys)} if keys else {}
        feature = keys[0] if len(keys) == 1 else None
        message = words.warning(code, {**named, **facts})
        told.append({"code": code, "message": message, "feature": feature})

    if len(kept) < ADVISED:
        warn("few_machines", met=len(kept), needed=ADVISED)
    if moved:
        warn("points_moved")
    unchecked = [one.name for one in kept if one.result.orientation != "checked"]
    if unchecked:
        warn("orientation_not_checked", names=", ".join(unchecked))
    for one in found.described:
        test = one.population.test
        if test.outlier and not one.magnitude:
            machine = one.machines[test.place]
            figures = {"statistic": round(test.statistic, 2), "critical": round(test.critical, 2)}
            warn("outlier", [one.key], machine=machine, **figures)
    for code, applies in KINDS.items():
        keys = [one.key for one in found.described if applies(one)]
        if keys:
            warn(code, keys)
    if found.too_few:
        warn("too_few_values", [few.key for few in found.too_few], needed=FEWEST)
    missing = _not_measured(found, kept, base)
    if missing:
        warn("not_measured", missing)
    return told


def narrower_than_measuring(one: Described) -> bool:
    """Whether the limits are narrower than the expanded uncertainty of one measurement."""
    if one.magnitude or one.population.deviation == 0.0:
        return False
    half = one.population.interval.upper - one.population.mean
    mean_square = sum(u**2 for u in one.uncertainties) / len(one.uncertainties)
    return half < coverage_factor(None) * math.sqrt(mean_square)


KINDS: dict[str, Callable[[Described], bool]] = {
    "magnitude": lambda one: one.magnitude,
    "no_scatter": lambda one: not one.magnitude and one.population.deviation == 0.0,
    "scatter_below_measurement": lambda one: (
        not one.magnitude and one.population.deviation > 0.0 and one.population.scatter_below_own
    ),
    "narrower_than_measuring": narrower_than_measuring,
}


def _not_measured(found: Model, kept: Sequence[Measured], base: ReferenceIn | None) -> list[str]:
    having = {one.key for one in found.described} | {few.key for few in found.too_few}
    having |= {
        line.key for one in kept for line in one.result.characteristics if line.set_by_levelling
    }
    return [key for key in (base.characteristics if base else ()) if key not in having]
