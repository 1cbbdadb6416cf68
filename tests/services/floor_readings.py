"""A simulated machine measured step by step: which readings belong to which step."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from tests.services.documents import survey_document

STATIONS = ("right", "half_right", "ahead", "half_left", "left")
"""The simulator turns from the right to the left."""


@dataclass(frozen=True)
class Bench:
    """The points of a simulated survey, handed out by step."""

    points: Sequence[Mapping[str, Any]]
    up: Sequence[float]

    def of(self, code: str) -> list[dict[str, float]]:
        """The readings of a step; `again1.pivot.left` and `return.pivot.left` are the returns."""
        first, _, rest = code.partition(".")
        if first.startswith(("again", "return")):
            return self._returned(rest)
        if first == "station":
            names = sorted({str(p["station"]) for p in self._steering(returned=False)})
            turned = names[STATIONS.index(rest)]
            return [_xyz(p) for p in self._steering(returned=False) if p["station"] == turned]
        return [_xyz(p) for p in self.points if _is(p, first, rest) and not p.get("station")]

    def _steering(self, *, returned: bool) -> list[Mapping[str, Any]]:
        found = [p for p in self.points if p["feature"] == "steer_target"]
        return [p for p in found if (p["station"] == "return") == returned]

    def _returned(self, rest: str) -> list[dict[str, float]]:
        if rest == "station":
            return [_xyz(p) for p in self._steering(returned=True)]
        feature, _, label = rest.partition(".")
        return [
            _xyz(p) for p in self.points if _is(p, feature, label) and p.get("station") == "return"
        ]


def _is(point: Mapping[str, Any], feature: str, label: str) -> bool:
    return point["feature"] == feature and label in ("", point.get("label"))


def _xyz(point: Mapping[str, Any]) -> dict[str, float]:
    return {axis: point[axis] for axis in "xyz"}


def bench(*args: Any, **kwargs: Any) -> Bench:
    """Arguments as for `survey_document`."""
    document = survey_document(*args, **kwargs)
    return Bench(document["points"], document["up"])
