"""How far does what was measured again lie from where it lay? For people at the machine.

The test itself is `rig_check`'s, over all that was measured again at once; this names the one place
that moved most, each held against its own first readings.
"""

import math
from collections.abc import Iterator, Sequence
from typing import NamedTuple

import numpy as np

from app.chassis import place_bounds
from app.chassis.features import is_return
from app.chassis.part_of_survey import kept
from app.chassis.returned_stations import Returned, apart
from app.chassis.station_checks import Seen
from app.chassis.survey import Floats, Survey

COVERAGE = 2.0


class Slip(NamedTuple):
    """Feature and label of a place; mm: how far it lies from where it lay; expanded_mm: the
    expanded uncertainty of that (k = 2); places: of its readings that were measured again."""

    feature: str
    label: str | None
    mm: float
    expanded_mm: float
    places: tuple[int, ...]


def of_datum(survey: Survey, u: Floats) -> Slip | None:
    """The end of the pivot axis (across that axis) or the face (along it) that lies farthest from
    where it lay, in its own uncertainty. u: (n,), mm."""
    first = [i for i, station in enumerate(survey.station) if not (station and is_return(station))]
    datum = place_bounds.datum_of(kept(survey, first))
    left = None if datum is None else datum.left
    if left is None:
        return None
    return _largest(_of_datum(survey, u, left))


def _of_datum(survey: Survey, u: Floats, left: Floats) -> Iterator[Slip]:
    groups: dict[tuple[str, str | None], tuple[list[int], list[int]]] = {}
    for i, (feature, label) in enumerate(zip(survey.feature, survey.label, strict=True)):
        if feature in ("pivot", "pivot_face"):
            station = survey.station[i]
            group = groups.setdefault((feature, label), ([], []))
            group[bool(station and is_return(station))].append(i)
    for (feature, label), (first, again) in groups.items():
        if not first or not again:
            continue
        arm = survey.xyz[again].mean(axis=0) - survey.xyz[first].mean(axis=0)
        along = float(arm @ left)
        across = math.sqrt(max(0.0, float(arm @ arm) - along * along))
        mm = across if feature == "pivot" else abs(along)
        yield Slip(feature, label, mm, _expanded(u, first, again), tuple(again))


def of_targets(survey: Survey, seen: Seen, again: Sequence[Returned], u: Floats) -> Slip | None:
    """The target that lies farthest from where it lay, the steering turned back. u: (n,), mm."""
    return _largest(_of_targets(survey, seen, again, u))


def _of_targets(survey: Survey, seen: Seen, again: Sequence[Returned], u: Floats) -> Iterator[Slip]:
    for one in again:
        stood = seen.places[one.station]
        for target, mm in apart(seen, survey, one).items():
            first = [i for i in stood if survey.label[i] == target]
            returned = [i for i in one.places if survey.label[i] == target]
            yield Slip("steer_target", target, mm, _expanded(u, first, returned), tuple(returned))


def _expanded(u: Floats, first: Sequence[int], again: Sequence[int]) -> float:
    """Of the difference of two means of independent readings."""
    parts = [float(np.sum(u[list(group)] ** 2)) / len(group) ** 2 for group in (first, again)]
    return COVERAGE * math.sqrt(sum(parts))


def _largest(found: Iterator[Slip]) -> Slip | None:
    return max(found, key=lambda one: one.mm / max(one.expanded_mm, 1e-9), default=None)
