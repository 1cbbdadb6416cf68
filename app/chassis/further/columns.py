"""Where each input of a survey stands among the columns by which everything is differentiated.

First the rows of the head's estimate, then three whitened coordinates of each further point, three
more of each point of a wheel for its run-out, the lean of each face of the arm; then what moves
all points together: an error of every offset, and the growth of each part.
"""

from collections.abc import Mapping, Sequence
from typing import NamedTuple

import numpy as np

from app.chassis.contributions import Run
from app.chassis.derivatives import OFFSET, SCALE, SQUARENESS, TEMPERATURE
from app.chassis.features import BY_LABEL, HALF_TURN, OF_THE_HEAD, RIMS, Points
from app.chassis.preparation import Prepared
from app.chassis.stacking import Stack
from app.chassis.survey import Floats


class Columns(NamedTuple):
    """rows: of the head's estimate; points, runouts: place of a point in the survey -> the first
    of its three columns; leans: side of the arm -> column; growths: part -> column."""

    rows: int
    points: Mapping[int, int]
    runouts: Mapping[int, int]
    leans: Mapping[str, int]
    offset: int
    growths: Mapping[str, int]
    runs: tuple[Run, ...]
    """Of the further inputs, without what moves all points together."""

    @property
    def total(self) -> int:
        return self.offset + 1 + len(self.growths)


def further_points(points: Points) -> dict[str, list[int]]:
    """The places of each further feature; returns only of what was measured first."""
    found = {}
    label = points.survey.label
    for feature in sorted(points.first.keys() - OF_THE_HEAD):
        first, again = points.first[feature], points.returned.get(feature, [])
        if again and feature in BY_LABEL:
            known = {label[i] for i in first}
            again = [i for i in again if label[i] in known]
        found[feature] = first + again
    return found


def columns(
    prepared: Prepared, stack: Stack, further: Mapping[str, list[int]], wobbling: Sequence[int]
) -> Columns:
    """further: places of each feature; wobbling: points of wheels whose run-out was not measured
    away."""
    column = stack.observations.rows
    points: dict[int, int] = {}
    runs = []
    for feature, places in further.items():
        for i in places:
            points[i] = column
            column += 3
        runs.append(Run(feature, 3 * len(places)))
    runouts: dict[int, int] = {}
    for i in wobbling:
        runouts[i] = column
        column += 3
    runs.append(Run("wheel_runout", 3 * len(runouts)))
    label = prepared.points.survey.label
    sides = dict.fromkeys(str(label[i]) for i in further.get("axle_face", []))
    leans = {side: column + place for place, side in enumerate(sides)}
    runs.append(Run(SQUARENESS, len(leans), tuple(f"{SQUARENESS}.axle_face.{s}" for s in leans)))
    offset = column + len(leans)
    growths = {part: offset + 1 + place for place, part in enumerate(prepared.growths)}
    return Columns(stack.observations.rows, points, runouts, leans, offset, growths, tuple(runs))


def run_out(points: Points, further: Mapping[str, list[int]]) -> list[int]:
    """Points of the wheels' edges that were not measured again half a turn on.

    A return has no half turn of its own: it bears the run-out of the wheel as it then stood.
    """
    survey, station = points.survey, points.survey.station
    found = []
    for feature in RIMS & further.keys():
        places = further[feature]
        returned = points.returned.get(feature, [])
        first = [i for i in places if i not in returned]
        turned = {survey.label[i] for i in first if station[i] == HALF_TURN}
        both = turned & {survey.label[i] for i in first if station[i] != HALF_TURN}
        found += [i for i in places if survey.label[i] not in both or i in returned]
    return sorted(found)


def common_causes(prepared: Prepared) -> tuple[list[Run], Floats]:
    """What moves all points together: runs of sources, and (columns, causes) by how much one
    standard uncertainty of each cause moves the last columns.

    Scale and temperature move every part; parts of one material share its coefficient.
    """
    instrument, growths = prepared.points.survey.instrument, prepared.growths
    materials = tuple(dict.fromkeys(growth.cause for growth in growths.values()))
    of_warmth = (TEMPERATURE, *(f"expansion.{name}" for name in materials))
    sizes = np.zeros((1 + len(growths), 2 + len(of_warmth)))
    sizes[0, 0] = instrument.offset_u_mm
    for row, growth in enumerate(growths.values(), 1):
        sizes[row, 1] = instrument.scale_u_ppm * 1e-6
        sizes[row, 2] = growth.expansion.u_temperature
        sizes[row, 3 + materials.index(growth.cause)] = growth.expansion.u_coefficient
    runs = [
        Run(OFFSET, 1, (OFFSET,)),
        Run(SCALE, 1, (SCALE,)),
        Run(TEMPERATURE, len(of_warmth), of_warmth),
    ]
    return runs, sizes
