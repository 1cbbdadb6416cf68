"""From a survey to where the estimate begins; every refusal that needs no estimate."""

import math
from collections.abc import Mapping
from typing import NamedTuple

import numpy as np

from app.chassis import (
    caveats,
    datum,
    features,
    orientation,
    refusals,
    spacing_check,
    steering_axis,
    thermal,
    uncertainty,
)
from app.chassis.features import BY_LABEL, Points
from app.chassis.frames import Vector
from app.chassis.result import Caveat
from app.chassis.steering_axis import Arcs, Start
from app.chassis.survey import Floats, Reference, Survey
from app.chassis.thermal import PART_OF, Growth
from app.chassis.uncertainty import PointUncertainty

LEAST_SQUARENESS = 1e-7
"""Rad: a face taken as perfectly square still needs a number to divide by."""


class Prepared(NamedTuple):
    """What the estimate begins with.

    xyz: (n, 3), mm at 20 °C about the mean pivot point, and the same as vectors; offset: (n,) mm.
    """

    points: Points
    arcs: Arcs
    xyz: Floats
    vectors: list[Vector]
    offset: Floats
    uncertainty: PointUncertainty
    growths: Mapping[str, Growth]
    """Of each part that has points."""
    origin: Floats
    """(3,), mm: O, about which parts of other materials grow; 0 where all grow alike."""
    pivot_frame: Floats
    steering: Start | None
    bore_fixes: bool
    squareness: float
    """Rad: standard uncertainty of a face's tilt."""
    wheel_runout_u: float
    """mm: of a point of a wheel's edge, by the wheel's run-out."""
    warnings: tuple[Caveat, ...]
    directions: tuple[Vector, Vector] | None = None
    """Of the pivot and the steering axis, once found: what points of an anisotropic instrument
    tell of a face depends on them. None: as the frames."""
    grown_by: float = 1.0
    """The ratio by which the noise check made the uncertainties grow."""

    def without(self, feature: str) -> "Prepared":
        """The same without the points of one of the two that tell the steering axis."""
        first = {name: p for name, p in self.points.first.items() if name != feature}
        returned = {name: p for name, p in self.points.returned.items() if name != feature}
        points = Points(self.points.survey, first, returned)
        arcs, fixes = self.arcs, False
        if feature == "steer_target":
            arcs, fixes = Arcs([], {}, {}, []), self.bore_fixes
        return self._replace(points=points, arcs=arcs, bore_fixes=fixes)

    def grown(self, ratio: float) -> "Prepared":
        """The same with the points' uncertainties grown by a ratio."""
        return self._replace(uncertainty=self.uncertainty.scaled(ratio), grown_by=ratio)

    def without_returns(self) -> "Prepared":
        return self._replace(
            points=Points(self.points.survey, self.points.first, {}),
            arcs=self.arcs._replace(returned=[]),
        )


def prepare(survey: Survey, reference: Reference) -> Prepared:
    """Check and sort the points, correct them for warmth, and find where to begin.

    Raises errors.Refusal with the codes of `refusals` that need no estimate.
    """
    _check_finite(reference)
    points = features.read(survey)
    claimed = uncertainty.stated(points)
    shown, warnings = uncertainty.with_replicates(points, claimed)
    centre = datum.pivot_centre(points)
    kinds = points.first.keys() | points.returned.keys()
    growths, unknown = thermal.growths(survey, reference, kinds)
    factor = growths["frame"].expansion.factor
    shown = shown.scaled(factor)
    offset, unstated = features.known_offsets(points)
    warnings += unknown + unstated + _left_out(points)
    xyz, origin = (survey.xyz - centre) * factor, np.zeros(3)
    vectors, variance = _vectors(xyz), shown.variance.tolist()
    _set_in_order(points, vectors)
    pivot = datum.pivot_start(points, vectors, variance)
    if len(growths) > 1:
        origin = datum.origin(points, vectors, pivot.left, offset)
        xyz = _grown(points, xyz, origin, growths)
        vectors = _vectors(xyz)
    orientation.check_pairs(points, xyz, pivot.left)
    arcs, once = steering_axis.arcs(points)
    bore = points.first.get("head_bore", [])
    bore_fixes = _bore_fixes(bore, bool(arcs.places), vectors, variance)
    if bore_fixes and once:
        arcs, once = _with_returned(points, arcs, once)
    warnings += [caveats.target_seen_once(target) for target in once]
    start = None
    if _has_axis(points, arcs, bore_fixes):
        _check_targets(points, arcs, bore_fixes, vectors, variance)
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
        growths,
        origin,
        pivot.frame,
        start,
        bore_fixes,
        max(math.radians(reference.face_squareness_deg), LEAST_SQUARENESS),
        reference.wheel_runout_u_mm,
        tuple(warnings),
    )


def _check_targets(
    points: Points, arcs: Arcs, bore_fixes: bool, xyz: list[Vector], variance: list[float]
) -> None:
    """Raises Refusal for targets that hardly move, coincide, or contradict a stated spacing."""
    if not bore_fixes:
        still = steering_axis.hardly_moved(arcs, xyz, variance)
        if still is not None:
            raise refusals.target_hardly_moves(*still)
    steering_axis.check_apart(points, arcs, xyz, variance)
    if points.survey.target_spacing:
        spacing_check.check(points, arcs, xyz, variance)


def _vectors(xyz: Floats) -> list[Vector]:
    return [(x, y, z) for x, y, z in xyz.tolist()]


def _grown(points: Points, xyz: Floats, origin: Floats, growths: Mapping[str, Growth]) -> Floats:
    """(n, 3): points corrected as of the frame, corrected as of their own parts: about O."""
    frame = growths["frame"].expansion.factor
    ratio = {
        feature: growths[part].expansion.factor / frame
        for feature, part in PART_OF.items()
        if part in growths
    }
    of_each = np.array([ratio.get(feature, 1.0) for feature in points.survey.feature])
    return np.asarray(origin + (xyz - origin) * of_each[:, np.newaxis])


def _set_in_order(points: Points, vectors: list[Vector]) -> None:
    """By the distance from the pivot, so that neither the order in which points were entered nor
    the names of stations leave a trace in the last digits."""
    distance = [math.hypot(*place) for place in vectors]
    for groups in (points.first, points.returned):
        for places in groups.values():
            places.sort(key=distance.__getitem__)


def _check_finite(reference: Reference) -> None:
    if not math.isfinite(reference.face_squareness_deg):
        raise refusals.not_finite("face_squareness", "reference")
    for key, tolerance in reference.characteristics.items():
        for number in (tolerance.nominal, tolerance.lower, tolerance.upper):
            if number is not None and not math.isfinite(number):
                raise refusals.not_finite(key, "reference")


def _left_out(points: Points) -> list[Caveat]:
    """Returns of what was not measured first."""
    warnings: list[Caveat] = []
    for feature in points.returned:
        labels = points.survey.label
        known = {labels[i] for i in points.first.get(feature, [])}
        by_label = feature in BY_LABEL
        again = dict.fromkeys(labels[i] for i in points.returned[feature])
        unknown = [x for x in again if not known or (by_label and x not in known)]
        warnings += [caveats.return_without_first(feature, label) for label in unknown]
    return warnings


def _with_returned(points: Points, arcs: Arcs, once: list[str]) -> tuple[Arcs, list[str]]:
    """Beside a bore, a target of one station says nothing of the axis, and yet its return shows
    whether the set-up stood still: it joins the estimate."""
    survey, returned = points.survey, points.returned.get("steer_target", [])
    again = {survey.label[i] for i in returned}
    joins = [name for name in once if name in again]
    arcs = Arcs(
        list(arcs.places),
        dict(arcs.targets),
        {name: list(places) for name, places in arcs.stations.items()},
        [i for i in returned if survey.label[i] in arcs.targets or survey.label[i] in joins],
    )
    for name in joins:
        own = points.labelled(points.first["steer_target"], name)
        arcs.targets[name] = own
        arcs.places.extend(own)
        for i in own:
            arcs.stations.setdefault(str(survey.station[i]), []).append(i)
    return arcs, [name for name in once if name not in joins]


def _bore_fixes(bore: list[int], arcs: bool, xyz: list[Vector], variance: list[float]) -> bool:
    """Whether two bore points stand far enough apart to be an axis. Raises Refusal.

    Refused when nothing else could be the axis and the points coincide.
    """
    if len(bore) < 2:
        return False
    apart = datum.farthest([xyz[i] for i in bore])[0]
    needed = refusals.MOVE_NEEDED_U * math.sqrt(max([variance[i] for i in bore]))
    if apart < needed and not arcs:
        raise refusals.coincident_points("head_bore", apart, needed)
    return apart >= needed


def _has_axis(points: Points, arcs: Arcs, bore_fixes: bool) -> bool:
    """Whether there is a steering axis to estimate. Raises Refusal where there should be one."""
    if bore_fixes:
        return True
    stations = {points.survey.station[i] for i in points.first.get("steer_target", [])}
    if stations:
        if len(stations) < steering_axis.STATIONS_NEEDED:
            raise refusals.too_few_stations(len(stations), steering_axis.STATIONS_NEEDED)
        if not arcs.places:
            seen = 3 * len(points.first["steer_target"])
            raise refusals.axis_not_determined(
                "steer_target", "counts", observations=seen, unknowns=4 + seen
            )
        return True
    bore = len(points.first.get("head_bore", []))
    if bore:
        raise refusals.too_few_points("head_bore", bore, 2)
    if points.of("head_face"):
        raise refusals.axis_not_determined("head_face", "no_axis", observations=0, unknowns=4)
    return False
