"""Readings of a step become points: feature, label, station and side come from the step."""

from collections.abc import Sequence

from app.chassis.progress import Progress
from app.errors import Conflict
from app.schemas.floor import ReadingIn

PLAIN = ("x", "y", "z", "u", "offset", "cov", "supersedes")


def points_of(found: Progress, readings: Sequence[ReadingIn]) -> list[dict[str, object]]:
    """The points as `drafts.add_points` takes them.

    Raises Conflict `step_takes_no_points`, `step_complete` where no target of the station is
    missing and none was named.
    """
    if found.step.feature is None:
        raise Conflict("step_takes_no_points", found.step.code)
    missing = list(found.open_names)
    return [_point(found, reading, missing) for reading in readings]


def _point(found: Progress, reading: ReadingIn, missing: list[str]) -> dict[str, object]:
    step = found.step
    point = reading.model_dump(mode="json", include=set(PLAIN), exclude_none=True)
    point |= {"feature": step.feature, "label": step.label, "station": step.station}
    point["as_entered"] = reading.as_entered.model_dump(exclude_none=True)
    if step.feature == "steer_target":
        point |= {"label": _target(found, reading, missing), "turn": step.turn}
    return {name: value for name, value in point.items() if value is not None}


def _target(found: Progress, reading: ReadingIn, missing: list[str]) -> str:
    if reading.name is not None:
        if reading.name in missing:
            missing.remove(reading.name)
        return reading.name
    if not missing:
        raise Conflict("step_complete", found.step.code, names=found.step.names)
    return missing.pop(0)
