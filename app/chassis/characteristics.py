"""All characteristics of a survey: values in their units, and what contributes to each."""

import math
from collections.abc import Collection
from typing import NamedTuple

from app.chassis import caveats
from app.chassis.contributions import Contributions
from app.chassis.derivatives import Inputs, estimated, head_derivatives
from app.chassis.features import SIDES, Points
from app.chassis.further.characteristics import Beyond, beyond_the_head
from app.chassis.further.columns import further_points
from app.chassis.head_characteristics import head_rows
from app.chassis.levelling import LATER_RULES, SET_BY, Levelled
from app.chassis.result import Caveat
from app.chassis.set_up import SetUp
from app.chassis.survey import Floats, Reference
from app.chassis.verdicts import Row


class Found(NamedTuple):
    """rows in order, their contributions, and what the outline needs.

    scattered: (k,) variances by the points, whose size is an estimate when the noise check or the
    replicates made it one, with degrees_of_freedom; both None where it is known. sides: places of
    the faces along the pivot axis, to the left, mm about the pivot. beyond: what was measured
    beyond the head.
    """

    rows: list[Row]
    contributions: Contributions
    scattered: Floats | None
    degrees_of_freedom: float | None
    levelled: Levelled | None
    distance: float | None
    position: float | None
    height: float | None
    sides: dict[str, float]
    warnings: list[Caveat]
    beyond: Beyond | None

    @property
    def rule(self) -> str | None:
        """The levelling rule that holds."""
        if self.beyond is not None and self.beyond.computed.levelled is not None:
            return self.beyond.computed.levelled
        return None if self.levelled is None else _RULES[self.levelled.set_key]

    def u_of(self, key: str) -> float:
        """Standard uncertainty of a characteristic, in its unit."""
        place = [row.key for row in self.rows].index(key)
        return math.sqrt(self.contributions.covariance[place, place])


def characteristics(set_up: SetUp, reference: Reference) -> Found:
    """All that the survey tells, in the units of `characteristic_units`.

    Raises errors.Refusal where what the reference levels by cannot level it.
    """
    prepared, parameters = set_up.prepared, set_up.fitted.parameters
    noisier = set_up.noise.birge_ratio > 1.0
    inputs = Inputs(
        prepared,
        set_up.stack,
        set_up.fitted,
        set_up.pivot,
        set_up.steering,
        noisier,
        set_up.further,
    )
    face = set_up.stack.observations.head
    height = None if face is None else float(parameters[face.column])
    sides = {name: float(parameters[c]) for name, c in set_up.stack.side_columns.items()}
    told = head_rows(inputs, sides, height, reference)
    rows, warnings, beyond = told.rows, told.warnings, None
    measured = set_up.further is not None or further_points(prepared.points)
    if measured or reference.levelling in LATER_RULES:
        beyond = beyond_the_head(inputs, told, reference)
        rows, runs, derivatives = beyond.rows, beyond.runs, beyond.derivatives
        warnings = warnings + _new(beyond.computed.warnings, warnings)
    else:
        runs, derivatives = head_derivatives(inputs, told.quantities, told.factors)
    rows, derivatives, damaged = _judge_face(rows, derivatives, prepared.squareness)
    contributions = Contributions.of(runs, derivatives)
    freedom = _freedom(set_up)
    return Found(
        rows,
        contributions,
        None
        if freedom is None
        else contributions.variances(_estimated(inputs, contributions, beyond)),
        freedom,
        told.levelled,
        told.distance,
        told.position,
        height,
        sides,
        warnings + damaged + set_up.warnings + _missing(set_up, sides),
        beyond,
    )


def _estimated(inputs: Inputs, contributions: Contributions, beyond: Beyond | None) -> Floats:
    further = [] if beyond is None else list(beyond.joined.columns.points)
    known = inputs.stack.observations.rows + 3 * len(further)
    return estimated(inputs, further, contributions.derivatives.shape[1] - known)


def _new(warnings: list[Caveat], known: list[Caveat]) -> list[Caveat]:
    """What the head's own levelling has not said already."""
    codes = {caveat.code for caveat in known}
    return [caveat for caveat in warnings if caveat.code not in codes]


def _freedom(set_up: SetUp) -> float | None:
    """Degrees of freedom of the points' uncertainty; None: taken as known."""
    if set_up.noise.birge_ratio > 1.0:
        return set_up.noise.check.degrees_of_freedom
    return set_up.prepared.uncertainty.degrees_of_freedom


def _judge_face(
    rows: list[Row], derivatives: Floats, squareness: float
) -> tuple[list[Row], Floats, list[Caveat]]:
    """Leave the face's squareness out when it says less than what is assumed of it."""
    for place, row in enumerate(rows):
        if row.key == "face_squareness":
            u = math.sqrt(derivatives[place] @ derivatives[place])
            if u >= math.degrees(squareness):
                others = [*range(place), *range(place + 1, len(rows))]
                return [rows[i] for i in others], derivatives.take(others, axis=0), []
            if row.value > 3.0 * u:
                return rows, derivatives, [caveats.face_damaged(row.value, u)]
    return rows, derivatives, []


def _missing(set_up: SetUp, sides: Collection[str]) -> list[Caveat]:
    absent = tuple(side for side in SIDES if side not in sides)
    warnings = [caveats.faces_missing(absent)] if absent else []
    if set_up.steering is None:
        warnings.append(caveats.steering_missing())
    elif not set_up.prepared.points.first.get("head_face"):
        warnings.append(caveats.head_face_missing())
    points = set_up.prepared.points
    if points.first.get("rear_axle") and not points.survey.chain_adjusters:
        warnings.append(caveats.chain_adjusters_missing())
    if points.first.get("pair"):
        warnings += [caveats.pair_incomplete(name, side) for name, side in _half_pairs(points)]
    return warnings


def _half_pairs(points: Points) -> list[tuple[str, str]]:
    """Names of pairs of which one side was measured alone, and the side that is missing."""
    labels = {points.survey.label[i] or "" for i in points.first.get("pair", [])}
    names = dict.fromkeys(label.rpartition(".")[0] for label in sorted(labels))
    return [(name, side) for name in names for side in SIDES if f"{name}.{side}" not in labels]


_RULES = {key: rule for rule, key in SET_BY.items()}
