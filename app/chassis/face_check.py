"""Do the points of each face agree with a face as square as is taken for granted?

The test is chi-square of a face's points first measured together with its tilts, which are
observed as 0: one wrong point shows in it as well as a tilt does, where the points alone (a plane
goes through any three) would show neither. The squareness stays out of the noise check, so each
face is tested on its own.

Where they contradict each other, no verdict rests on that face: what two or three points show may
be a tilt or a wrong point, and these place the face differently. Four points of the head's face
or more that agree on a tilt make it a fact, of which `face_damaged` warns: H stands on it as long
as the assumption of squareness does not shift it.
"""

import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from app.chassis import caveats, head_face
from app.chassis.head_face import Face, Plane
from app.chassis.noise_check import TAIL, Noise, limit_of, noise_check
from app.chassis.result import Caveat
from app.chassis.rig_check import Tested, tested
from app.chassis.stacking import PIVOT_COLUMN, STEERING_COLUMN
from app.chassis.surfaces import MeasuredFace
from app.metrology.estimation import Estimate

Part = tuple[float, int]

RESTS_ON = {
    "pivot_face": frozenset({"head_offset", "pivot_width"}),
    "head_face": frozenset(
        {
            "head_offset",
            "face_position",
            "head_reach",
            "head_height",
            "head_angle",
            "face_squareness",
        }
    ),
}


class FaceCheck(NamedTuple):
    """grown: for each face, by how much its points show larger variances than claimed, 1 where
    they do not contradict it; undecidable: keys on which no verdict may rest."""

    grown: list[float]
    undecidable: frozenset[str]
    warnings: list[Caveat]


def check(
    faces: Sequence[MeasuredFace],
    scatter: Sequence[Part],
    axes: Sequence[Part],
    fitted: Estimate,
) -> FaceCheck:
    """scatter, axes: chi-square and degrees of freedom of each face alone and of what tells the
    axes, which say whether all is noisier; fitted: with the axes against which tilts are told."""
    found = FaceCheck([1.0] * len(faces), frozenset(), [])
    for place, measured in enumerate(faces):
        if measured.firsts < 2 or _upright_fits(measured.first):
            continue
        column = STEERING_COLUMN if measured.feature == "head_face" else PIVOT_COLUMN
        squareness = math.hypot(measured.squareness, _tilt_u(fitted, column))
        rest = noise_check([*axes, *scatter[:place], *scatter[place + 1 :]])
        found = _judged(found, place, measured, squareness, scatter[place], rest)
    return found


def _tilt_u(fitted: Estimate, column: int) -> float:
    """Of the axis whose unknowns begin at `column`, rad; no less than in any one direction."""
    first, second = fitted.covariance.diagonal()[column : column + 2].tolist()
    return math.sqrt(max(0.0, first + second))


def _upright_fits(face: Face) -> bool:
    """Whether even a face quite square would pass; the best one then does so all the more."""
    weights = 1.0 / face.variance
    off = face.height - float(weights @ face.height) / float(weights.sum())
    return float((off * off) @ weights) <= limit_of(TAIL, len(off) - 1)


def _judged(
    found: FaceCheck,
    place: int,
    measured: MeasuredFace,
    squareness: float,
    scatter: Part,
    rest: Noise,
) -> FaceCheck:
    face = measured.first
    plane, freedom = head_face.plane(face, squareness), measured.firsts - 1
    test = tested(plane.chi_square, freedom, rest)
    if test.statistic <= test.limit:
        return found
    grown = list(found.grown)
    grown[place] = plane.chi_square / freedom
    if measured.feature == "head_face" and _agreed_tilt(face, plane, scatter, rest):
        return FaceCheck(grown, found.undecidable, found.warnings)
    return FaceCheck(
        grown,
        found.undecidable | RESTS_ON[measured.feature],
        [*found.warnings, _doubtful(measured, plane, test)],
    )


def _agreed_tilt(face: Face, plane: Plane, scatter: Part, rest: Noise) -> bool:
    """Whether the points agree on their tilt, and squareness does not shift the face's place."""
    chi_square, freedom = scatter
    own = head_face.own_plane(face)
    if own is None or freedom < 1:
        return False
    test = tested(chi_square, freedom, rest)
    place_u = 1.0 / math.sqrt(float((1.0 / face.variance).sum()))
    return test.statistic <= test.limit and abs(own.value[0] - plane.value[0]) <= place_u


def _doubtful(measured: MeasuredFace, plane: Plane, test: Tested) -> Caveat:
    facts = {
        "tilt_deg": math.degrees(math.atan(math.hypot(*plane.value[1:].tolist()))),
        "distance_mm": float(np.abs(plane.left).max()),
        "statistic": test.statistic,
        "limit": test.limit,
    }
    if measured.side is None:
        return caveats.head_face_doubtful(**facts)
    return caveats.pivot_face_doubtful(measured.side, **facts)
