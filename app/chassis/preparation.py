"""From a survey to where the estimate begins; every refusal that needs no estimate."""

import math
from dataclasses import dataclass, replace

import numpy as np

from app.chassis import (
    caveats,
    datum,
    features,
    levelling,
    orientation,
    refusals,
    steering_axis,
    thermal,
    uncertainty,
    units,
)
from app.chassis.datum import FacePoint
from app.chassis.features import EVALUATED, Points
from app.chassis.frames import Vector, mean
from app.chassis.result import Caveat
from app.chassis.stacking import Stack, stack
from app.chassis.steering_axis import Arcs, Start
from app.chassis.survey import Floats, Reference, Survey
from app.chassis.uncertainty import PointUncertainty
from app.metrology.thermal import Expansion

HEAD_FEATURES = ("head_face", "head_bore", "steer_target")


@dataclass(frozen=True, slots=True)
class Prepared:
    """What the estimate begins with.

    xyz: (n, 3), mm at 20 °C about the mean pivot point, and the same as vectors; offset: (n,) mm.
    """

    points: Points
    arcs: Arcs
    xyz: Floats
    vectors: list[Vector]
    offset: Floats
    uncertainty: PointUncertainty
    expansion: Expansion
    pivot_frame: Floats
    steering: Start | None
    bore_fixes: bool
    nominal_distance: float | None
    """Of H from the pivot by the reference, mm."""
    warnings: tuple[Caveat, ...]

    def stacked(self) -> Stack:
        return stack(
            self.points, self.arcs, self.pivot_frame, self.steering, self.xyz, self.uncertainty
        )

    def face_point(self, i: int, normal: Vector) -> FacePoint:
        """A point of a face whose outward normal is known."""
        variance = float(self.uncertainty.variance[i])
        if i in self.uncertainty.covariance:
            direction = np.array(normal)
            variance = float(direction @ self.uncertainty.covariance[i] @ direction)
        replaced = self.uncertainty.replaced
        return FacePoint(
            self.vectors[i],
            float(self.offset[i]),
            variance,
            replaced is not None and bool(replaced[i]),
        )

    def without(self, feature: str) -> "Prepared":
        """The same without the points of one feature."""
        first = {name: p for name, p in self.points.first.items() if name != feature}
        returned = {name: p for name, p in self.points.returned.items() if name != feature}
        return replace(self, points=Points(self.points.survey, first, returned), bore_fixes=False)

    def without_returns(self) -> "Prepared":
        return replace(
            self,
            points=Points(self.points.survey, self.points.first, {}),
            arcs=replace(self.arcs, returned=[]),
        )


def prepare(survey: Survey, reference: Reference) -> Prepared:
    """Check and sort the points, correct them for warmth, and find where to begin."""
    points = features.read(survey)
    claimed = uncertainty.stated(points)
    shown, warnings = uncertainty.with_replicates(points, claimed)
    centre = datum.pivot_centre(points)
    expansion, unknown = thermal.expansion(survey, reference, "frame")
    xyz = (survey.xyz - centre) * expansion.factor
    shown = shown.scaled(expansion.factor)
    offset, unstated = features.known_offsets(points)
    warnings += unknown + unstated + _left_out(points)
    nominal = _nominal_distance(reference)
    vectors: list[Vector] = [(x, y, z) for x, y, z in xyz.tolist()]
    _check_units_roughly(points, vectors, nominal)
    pivot = datum.pivot_start(points, vectors, shown.variance)
    orientation.check_pairs(points, vectors, pivot.left)
    arcs, once = steering_axis.arcs(points)
    warnings += [caveats.target_seen_once(target) for target in once]
    bore = points.first.get("head_bore", [])
    bore_fixes = _bore_fixes(bore, bool(arcs.places), vectors, shown.variance)
    start = None
    if _has_axis(points, arcs, bore_fixes):
        if not bore_fixes:
            steering_axis.check_movement(arcs, vectors, shown.variance)
        start = steering_axis.start(
            points, arcs, bore if bore_fixes else [], xyz, shown.variance, pivot.left
        )
    return Prepared(
        points,
        arcs,
        xyz,
        vectors,
        offset,
        shown,
        expansion,
        pivot.frame,
        start,
        bore_fixes,
        nominal,
        tuple(warnings),
    )


def _left_out(points: Points) -> list[Caveat]:
    """What is accepted and not computed: features of later kinds, returns without a first."""
    kinds = (points.first.keys() | points.returned.keys()) - EVALUATED
    warnings = [caveats.not_evaluated(tuple(sorted(kinds)))] if kinds else []
    for feature in EVALUATED & points.returned.keys():
        labels = points.survey.label
        known = {labels[i] for i in points.first.get(feature, [])}
        by_label = feature in ("steer_target", "pivot_face")
        again = dict.fromkeys(labels[i] for i in points.returned[feature])
        unknown = [x for x in again if not known or (by_label and x not in known)]
        warnings += [caveats.return_without_first(feature, label) for label in unknown]
    return warnings


def _nominal_distance(reference: Reference) -> float | None:
    distance, position = levelling.nominal_invariants(reference.characteristics)
    if distance is not None and position is not None:
        return math.hypot(distance, position)
    known = [reference.characteristics.get(key) for key in ("head_reach", "head_height")]
    nominals = [tolerance.nominal for tolerance in known if tolerance]
    if len(nominals) == 2 and nominals[0] is not None and nominals[1] is not None:
        return math.hypot(nominals[0], nominals[1])
    return None


def _check_units_roughly(points: Points, xyz: list[Vector], nominal: float | None) -> None:
    for feature in HEAD_FEATURES:
        places = points.first.get(feature)
        if places:
            units.check_roughly(feature, math.hypot(*mean([xyz[i] for i in places])), nominal)
            return


def _bore_fixes(bore: list[int], arcs: bool, xyz: list[Vector], variance: Floats) -> bool:
    """Whether two bore points stand far enough apart to be an axis. Raises Refusal.

    Refused when nothing else could be the axis and the points coincide.
    """
    if len(bore) < 2:
        return False
    apart = datum.farthest([xyz[i] for i in bore])[0]
    needed = refusals.MOVE_NEEDED_U * math.sqrt(float(variance[bore].max()))
    if apart < needed and not arcs:
        raise refusals.coincident_points("head_bore", apart, needed)
    return apart >= needed


def _has_axis(points: Points, arcs: Arcs, bore_fixes: bool) -> bool:
    """Whether there is a steering axis to estimate. Raises Refusal where there should be one."""
    if bore_fixes:
        return True
    stations = {points.survey.station[i] for i in points.first.get("steer_target", [])}
    if stations:
        if len(stations) < steering_axis.STATIONS_NEEDED or not arcs.places:
            met = min(len(stations), steering_axis.STATIONS_NEEDED - 1)
            raise refusals.too_few_stations(met, steering_axis.STATIONS_NEEDED)
        return True
    bore = len(points.first.get("head_bore", []))
    if bore:
        raise refusals.too_few_points("head_bore", bore, 2)
    if points.of("head_face"):
        raise refusals.axis_not_determined("head_face", "no_axis", observations=0, unknowns=4)
    return False
