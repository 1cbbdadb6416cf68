"""The steering targets while they are measured: do they keep together, does each station add?

The targets sit on one rig: their distances are the same at every station. Each moves on a circle,
and the turn between two stations is told by the circles, before that by the line between two
targets as it is seen along the vertical.
"""

import math
from collections.abc import Iterator, Mapping, Sequence
from functools import lru_cache
from itertools import combinations
from typing import NamedTuple

import numpy as np

from app.chassis.candidates import OPPOSITE_DEG, STACKED_DEG
from app.chassis.features import SIDES, is_return
from app.chassis.noticed import Noticed
from app.chassis.orientation import SHORTEST_UP
from app.chassis.place_bounds import mean_place
from app.chassis.survey import Floats, Survey
from app.geometry.circles import Circle
from app.geometry.three_points import cross

LEAST_TURN_DEG = 4.0
"""Nearer than this a station says hardly more than the one beside it (ours)."""
TARGETS_APART_MM = 100.0
"""Less makes a weak rig (ours)."""
SPREAD_NEEDED_DEG = 15.0
"""Circles are told well enough by stations over this turn."""
APART_U, APART_LEAST_MM = 10.0, 0.5
OFF_U, OFF_LEAST_MM, SOUND_U = 25.0, 2.0, 4.0
MOST_STATIONS = 15
"""Looked at: a longer series is for the engine's own checks."""
SEEN_ACROSS_MM = 40.0


class Seen(NamedTuple):
    """stations: name -> target -> mean place (3,); the returns are left out. places: name ->
    the points' places in the survey. turns: name -> side; u: mm, of a point. tracks: target ->
    station -> place, of targets seen at three stations or more; circles: of these tracks. returned:
    name -> the places of points measured again."""

    stations: Mapping[str, Mapping[str, Floats]]
    places: Mapping[str, tuple[int, ...]]
    turns: Mapping[str, str]
    up: Floats | None
    u: float
    tracks: Mapping[str, Mapping[str, Floats]]
    circles: Mapping[str, Circle]
    returned: Mapping[str, tuple[int, ...]]


def check(seen: Seen) -> Iterator[Noticed]:
    """What is noticed about the targets."""
    if not seen.stations:
        return
    apart, by_circle = list(_apart(seen)), _by_circle(seen)
    yield from apart
    yield from _close(seen)
    if not apart:
        yield from _circles(seen)
        angles = by_circle or _by_line(seen)
        yield from _near(seen, angles)
        yield from _turned(seen, angles)
    if by_circle:
        yield from _placing(seen)


def seen_of(survey: Survey, u: Floats) -> Seen:
    """The targets by station and name. u: (n,), standard uncertainty of each point, mm."""
    places: dict[str, list[int]] = {}
    returned: dict[str, list[int]] = {}
    for i, feature in enumerate(survey.feature):
        station = survey.station[i]
        if feature == "steer_target" and station and survey.label[i]:
            met = returned if is_return(station) else places
            met.setdefault(station, []).append(i)
    kept = dict(list(places.items())[-MOST_STATIONS:])
    stations = {name: _by_target(survey, found) for name, found in kept.items()}
    turns = {
        name: str(survey.turn[found[0]]) for name, found in kept.items() if survey.turn[found[0]]
    }
    of_points = [u[i] for found in kept.values() for i in found]
    tracks = _tracks(stations)
    circles = {target: _circle(np.array(list(track.values()))) for target, track in tracks.items()}
    return Seen(
        stations,
        {name: tuple(found) for name, found in kept.items()},
        turns,
        _upward(survey),
        _median(of_points) if of_points else 0.0,
        tracks,
        {target: circle for target, circle in circles.items() if circle is not None},
        {name: tuple(found) for name, found in returned.items()},
    )


def _median(values: Sequence[float]) -> float:
    """Plain: these are a handful, and NumPy's takes longer than all the rest."""
    ordered, middle = sorted(values), len(values) // 2
    if len(values) % 2:
        return float(ordered[middle])
    return float((ordered[middle - 1] + ordered[middle]) / 2.0)


def _by_target(survey: Survey, places: Sequence[int]) -> dict[str, Floats]:
    grouped: dict[str, list[int]] = {}
    for i in places:
        grouped.setdefault(str(survey.label[i]), []).append(i)
    return {name: mean_place(survey, group) for name, group in grouped.items()}


def _upward(survey: Survey) -> Floats | None:
    up = np.array(survey.up or (0.0, 0.0, 0.0))
    length = float(np.linalg.norm(up))
    return None if length < SHORTEST_UP else np.asarray(up / length)


def _apart(seen: Seen) -> Iterator[Noticed]:
    """Two targets that are farther apart, or nearer, than at the other stations."""
    limit = max(APART_U * seen.u, APART_LEAST_MM)
    for one, other in combinations(_targets(seen), 2):
        met = {
            name: math.dist(places[one], places[other])
            for name, places in seen.stations.items()
            if one in places and other in places
        }
        yield from _swapped(seen, one, other, list(met))
        if len(met) < 2:
            continue
        middle = _median(list(met.values()))
        # Of two stations nobody can say which is wrong: the later one was told of by nobody yet.
        first = next(iter(met.values()))
        needed = first if len(met) == 2 else middle
        for name, distance in met.items():
            if abs(distance - needed) > limit:
                facts = (
                    ("one", one),
                    ("other", other),
                    ("station", name),
                    ("met_mm", distance),
                    ("needed_mm", needed),
                )
                yield Noticed("targets_apart", "steer_target", facts, seen.places[name])


def _swapped(seen: Seen, one: str, other: str, names: Sequence[str]) -> Iterator[Noticed]:
    """Names exchanged: what was the higher target is the lower one."""
    if seen.up is None or len(names) < 2:
        return
    heights = {
        name: float((seen.stations[name][one] - seen.stations[name][other]) @ seen.up)
        for name in names
    }
    above = [name for name, height in heights.items() if height > SEEN_ACROSS_MM]
    below = [name for name, height in heights.items() if height < -SEEN_ACROSS_MM]
    if not (above and below):
        return
    wrong = below if len(below) < len(above) else above
    if len(below) == len(above):
        wrong = below if names.index(below[-1]) > names.index(above[-1]) else above
    for name in wrong:
        facts = (("one", one), ("other", other), ("station", name))
        yield Noticed("targets_swapped", "steer_target", facts, seen.places[name])


def _targets(seen: Seen) -> list[str]:
    return list(dict.fromkeys(name for places in seen.stations.values() for name in places))


def _close(seen: Seen) -> Iterator[Noticed]:
    """A rig that is small in all directions."""
    for one, other in combinations(_targets(seen), 2):
        met = [
            math.dist(places[one], places[other])
            for places in seen.stations.values()
            if one in places and other in places
        ]
        if met and met[0] < TARGETS_APART_MM:
            facts = (
                ("one", one),
                ("other", other),
                ("met_mm", met[0]),
                ("needed_mm", TARGETS_APART_MM),
            )
            yield Noticed("targets_close", "steer_target", facts, grave=False)


def _tracks(stations: Mapping[str, Mapping[str, Floats]]) -> dict[str, dict[str, Floats]]:
    """Target -> station -> place, of the targets seen at three stations or more."""
    targets = dict.fromkeys(name for places in stations.values() for name in places)
    tracks = {
        target: {name: places[target] for name, places in stations.items() if target in places}
        for target in targets
    }
    return {target: track for target, track in tracks.items() if len(track) >= 3}


def _circles(seen: Seen) -> Iterator[Noticed]:
    """A station off the circle that all the others of its target lie on."""
    for target, track in seen.tracks.items():
        if len(track) < 5 or not _scatters(seen, target):
            continue
        rated = [one for name in track if (one := _without(track, name)) is not None]
        if not rated:
            continue
        scatter, off, name = min(rated)
        limit = max(OFF_U * seen.u, OFF_LEAST_MM)
        if scatter <= max(SOUND_U * seen.u, OFF_LEAST_MM / 4.0) and off > limit:
            facts = (
                ("label", target),
                ("station", name),
                ("distance_mm", off),
                ("limit_mm", limit),
            )
            yield Noticed("off_its_circle", "steer_target", facts, seen.places[name])


def _scatters(seen: Seen, target: str) -> bool:
    """Whether any station is worth a closer look: one far off draws the circle with it."""
    circle = seen.circles.get(target)
    if circle is None:
        return False
    return max(_off(circle, one) for one in seen.tracks[target].values()) > SOUND_U * seen.u


def _without(track: Mapping[str, Floats], name: str) -> tuple[float, float, str] | None:
    """Scatter of the other stations about their circle, distance of this one from it."""
    others = np.array([place for station, place in track.items() if station != name])
    circle = _circle(others)
    if circle is None:
        return None
    scatter = max(_off(circle, place) for place in others)
    return scatter, _off(circle, track[name]), name


def _circle(points: Floats) -> Circle | None:
    """The circle of places (n, 3): of the targets that were not measured just now it is known."""
    return _circle_of(points.tobytes())


@lru_cache(maxsize=64)
def _circle_of(places: bytes) -> Circle | None:
    """The algebraic circle in the best plane (linear in centre and constant): near enough for
    what is looked for here, and made at once. None for points on one line."""
    points = np.frombuffer(places).reshape(-1, 3)
    middle = points.mean(axis=0)
    _, spread, axes = np.linalg.svd(points - middle)
    if spread[1] < 1e-9 * spread[0]:
        return None
    flat = (points - middle) @ axes[:2].T
    design = np.column_stack([2.0 * flat, np.ones(len(flat))])
    x, y, constant = np.linalg.lstsq(design, (flat**2).sum(axis=1), rcond=None)[0]
    centre = middle + x * axes[0] + y * axes[1]
    return Circle(centre, axes[2], float(np.sqrt(max(0.0, constant + x * x + y * y))))


def _off(circle: Circle, place: Floats) -> float:
    arm = place - circle.centre
    along = float(circle.normal @ arm)
    across = float(np.linalg.norm(arm - circle.normal * along))
    return math.hypot(along, across - circle.radius)


def turns_between(seen: Seen) -> dict[str, float]:
    """Angle of each station, rad, from any zero; left-handed or not is told by `up` alone. Empty
    where nothing tells it yet."""
    return _by_circle(seen) or _by_line(seen)


def _by_circle(seen: Seen) -> dict[str, float]:
    best: dict[str, float] = {}
    for target, circle in seen.circles.items():
        if circle.radius < SEEN_ACROSS_MM or len(seen.tracks[target]) <= len(best):
            continue
        track = seen.tracks[target]
        points = np.array(list(track.values()))
        normal = circle.normal
        if seen.up is not None and float(normal @ seen.up) < 0.0:
            normal = -normal
        angles = _angles(points - circle.centre, normal)
        spread = math.degrees(max(angles) - min(angles))
        if spread >= SPREAD_NEEDED_DEG:
            best = dict(zip(track, angles, strict=True))
    return best


def _by_line(seen: Seen) -> dict[str, float]:
    """By the line between two targets, seen along the vertical."""
    if seen.up is None:
        return {}
    for one, other in combinations(_targets(seen), 2):
        lines = {
            name: places[one] - places[other]
            for name, places in seen.stations.items()
            if one in places and other in places
        }
        arms = np.array(list(lines.values()))
        if len(arms) < 2:
            continue
        across = arms - np.outer(arms @ seen.up, seen.up)
        if float(np.linalg.norm(across, axis=1).min()) >= SEEN_ACROSS_MM:
            return dict(zip(lines, _angles(arms, seen.up), strict=True))
    return {}


def _angles(arms: Floats, normal: Floats) -> list[float]:
    """(n,) angles of arms (n, 3) about a normal, right-handed, from the first, within half a
    turn."""
    flat = arms - np.outer(arms @ normal, normal)
    sines = flat @ cross(normal, flat[0])
    found: list[float] = np.arctan2(sines, flat @ flat[0]).tolist()
    return found


def _near(seen: Seen, angles: Mapping[str, float]) -> Iterator[Noticed]:
    names = list(angles)
    for later, name in enumerate(names):
        gaps = {other: abs(angles[name] - angles[other]) for other in names[:later]}
        if not gaps:
            continue
        other = min(gaps, key=gaps.__getitem__)
        met = math.degrees(gaps[other])
        if met < LEAST_TURN_DEG:
            facts = (
                ("station", name),
                ("other", other),
                ("met_deg", met),
                ("needed_deg", LEAST_TURN_DEG),
            )
            yield Noticed("station_near", "steer_target", facts, seen.places[name], grave=False)


def _turned(seen: Seen, angles: Mapping[str, float]) -> Iterator[Noticed]:
    """Left is left: right-handed about the vertical, the stations turned left stand further on."""
    if seen.up is None:
        return
    means = []
    for side in SIDES:
        met = [angle for name, angle in angles.items() if seen.turns.get(name) == side]
        if not met:
            return
        means.append(math.degrees(sum(met) / len(met)))
    if means[0] <= means[1]:
        middle = (means[0] + means[1]) / 2.0
        facts = (("left_deg", means[0] - middle), ("right_deg", means[1] - middle))
        turned = [place for name in angles if name in seen.turns for place in seen.places[name]]
        yield Noticed("turns_contradict", "steer_target", facts, tuple(turned))


def _placing(seen: Seen) -> Iterator[Noticed]:
    """Two targets that stand badly round the axis, as soon as their circles tell it."""
    if len(_targets(seen)) != 2 or len(seen.circles) != 2:
        return
    (one, first), (other, second) = seen.tracks.items()
    station = next((name for name in first if name in second), None)
    if station is None:
        return
    centres = [seen.circles[one].centre, seen.circles[other].centre]
    arms = np.array([first[station] - centres[0], second[station] - centres[1]])
    met = math.degrees(abs(_angles(arms, seen.circles[one].normal)[1]))
    for code, limit, wrong in (
        ("targets_stacked", STACKED_DEG, met < STACKED_DEG),
        ("targets_opposite", OPPOSITE_DEG, met > OPPOSITE_DEG),
    ):
        if wrong:
            facts = (("one", one), ("other", other), ("met_deg", met), ("needed_deg", limit))
            yield Noticed(code, "steer_target", facts, grave=False)
