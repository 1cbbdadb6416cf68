"""The faces of a survey: beside the pivot, and under the head; first measured and returned."""

from collections.abc import Sequence

import numpy as np

from app.chassis import caveats
from app.chassis.datum import Side, side
from app.chassis.estimate import Axis
from app.chassis.features import SIDES, Points, offsets
from app.chassis.frames import frame_along
from app.chassis.head_face import Face, face
from app.chassis.result import Caveat
from app.chassis.survey import Floats
from app.chassis.uncertainty import PointUncertainty


def known_offsets(points: Points) -> tuple[Floats, list[Caveat]]:
    """(n,) offsets to correct for, 0 where none is known or none applies; what is not known."""
    corrected = np.zeros(len(points.survey.feature))
    warnings = []
    for feature in ("pivot_face", "head_face"):
        places = points.of(feature)
        if not places:
            continue
        found = offsets(points, places)
        unknown = np.isnan(found)
        corrected[places] = np.where(unknown, 0.0, found)
        if unknown.any():
            warnings.append(caveats.probe_radius_unknown(feature, int(unknown.sum())))
    return corrected, warnings


def sides(
    points: Points,
    with_returns: bool,
    pivot: Axis,
    xyz: Floats,
    offset: Floats,
    uncertainty: PointUncertainty,
) -> dict[str, Side]:
    """The left and the right face beside the pivot, as far as they were measured."""
    found = {}
    for name, sign in zip(SIDES, (1.0, -1.0), strict=True):
        places = points.labelled(points.first.get("pivot_face", []), name)
        if not places:
            continue
        if with_returns:
            places = places + points.labelled(points.returned.get("pivot_face", []), name)
        outward = np.array(pivot.direction) * sign
        found[name] = side(
            places,
            xyz[places],
            offset[places],
            uncertainty.along(places, outward),
            outward,
            np.array(pivot.point),
        )
    return found


def head_face(
    places: Sequence[int],
    steering: Axis,
    xyz: Floats,
    offset: Floats,
    uncertainty: PointUncertainty,
    factor: float = 1.0,
) -> Face:
    """The head's lower face at the given points; factor: on their variances."""
    return face(
        xyz[places],
        offset[places],
        uncertainty.along(list(places), np.array(steering.direction)) * factor,
        np.array(steering.point),
        frame_along(steering.direction),
    )
