"""The `jigbook.reference/1` document that measured machines make."""

from collections.abc import Mapping, Sequence

from app.chassis.machines_in_order import Described, Model
from app.schemas.characteristic_keys import CONTROL_KEY, SET_BY
from app.schemas.machine_reference import StatisticsIn
from app.schemas.reading import reference_from
from app.schemas.reference import REFERENCE_FORMAT, MachineModelIn, ReferenceIn
from app.wording import machine_references as words

DECIMALS = 3
"""A micrometre, a thousandth of a degree; the report says all digits."""
LONGEST_DETAIL = 4000

Document = dict[str, object]


def document(
    model: Model,
    names: Sequence[str],
    left_out: Mapping[str, str],
    base: ReferenceIn | None,
    machine: MachineModelIn | None,
    statistics: StatisticsIn,
) -> Document:
    """Nominals and limits of the machines; everything else is the base's, its points moved before.

    What levelling sets keeps the nominal of the base. The nominal of a control point's coordinate
    stands in `control_points` and not beside its limits.
    """
    kept = {} if base is None else base.model_dump(mode="json", exclude_unset=True)
    stated = {} if base is None else base.characteristics
    levelled = SET_BY.get(kept.get("levelling") or "", frozenset())
    lines: dict[str, Document] = {
        key: {"nominal": line.nominal} for key, line in stated.items() if key in levelled
    }
    for one in model.described:
        if one.magnitude or one.population.deviation == 0.0:
            continue
        line = _line(one, stated[one.key].required if one.key in stated else None, statistics)
        matched = CONTROL_KEY.fullmatch(one.key)
        if matched is not None:
            del line["nominal"]
            if levelled and matched.group(2) in "xz":
                line["required"] = False
        lines[one.key] = line
    made: Document = {
        **kept,
        "format": REFERENCE_FORMAT,
        "provenance": {
            "kind": "measured_machines",
            "detail": _detail(names, left_out, statistics),
        },
        "characteristics": lines,
    }
    if machine is not None:
        made["machine"] = machine.model_dump(mode="json", exclude_none=True)
    reference_from(made)
    return made


def with_points_moved(base: ReferenceIn, model: Model) -> ReferenceIn:
    """The base with each control point where the machines have it on the mean.

    The machines must then be evaluated again: levelling and the pivot axis's roll, yaw and shift
    are told against these points.
    """
    points = {name: list(place) for name, place in base.control_points.items()}
    for one in model.described:
        matched = CONTROL_KEY.fullmatch(one.key)
        if matched is not None:
            place = "xyz".index(matched.group(2))
            there = points[matched.group(1)][place] + one.population.mean
            points[matched.group(1)][place] = round(there, DECIMALS)
    moved = base.model_dump(mode="json", exclude_unset=True)
    return reference_from({**moved, "control_points": points})


def _line(one: Described, required: bool | None, statistics: StatisticsIn) -> Document:
    found = one.population
    line: Document = {
        "nominal": round(found.mean, DECIMALS),
        "lower": round(found.interval.lower - found.mean, DECIMALS),
        "upper": round(found.interval.upper - found.mean, DECIMALS),
        "source": words.source(found.size, statistics.content, statistics.confidence),
    }
    return line if required is None else {**line, "required": required}


def _detail(names: Sequence[str], left_out: Mapping[str, str], statistics: StatisticsIn) -> str:
    chosen = statistics.content, statistics.confidence
    detail = words.provenance(len(names), names, left_out, *chosen)
    if len(detail) <= LONGEST_DETAIL:
        return detail
    return words.provenance(len(names), (), left_out, *chosen)
