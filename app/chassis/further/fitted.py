"""The features beyond the head, fitted to their points with derivatives by all inputs."""

from collections.abc import Collection, Mapping
from typing import NamedTuple

import numpy as np

from app.chassis.estimate import Axis
from app.chassis.further import columns as columns_of
from app.chassis.further.arm_faces import FaceMiddle, axle_middles
from app.chassis.further.association import FurtherFeatures, associate
from app.chassis.further.columns import Columns
from app.chassis.further.fits import Fits
from app.chassis.further.vectors import Measured, spread, with_derivatives
from app.chassis.preparation import Prepared
from app.chassis.stacking import Stack
from app.chassis.survey import Floats


class Fitted(NamedTuple):
    """features, and middles of the arm's faces."""

    columns: Columns
    measured: Measured
    features: FurtherFeatures
    middles: dict[str, FaceMiddle]


class Ready(NamedTuple):
    """The points with derivatives, to be fitted all or some of them."""

    columns: Columns
    fits: Fits

    def fitted(self, chosen: Mapping[str, list[int]]) -> Fitted:
        """chosen: places of each feature. Raises Refusal."""
        features = associate(self.fits, chosen)
        return Fitted(self.columns, self.fits.measured, features, self._middles(chosen))

    def with_returns(
        self, first: Fitted, chosen: Mapping[str, list[int]], returned: Collection[str]
    ) -> Fitted:
        """All points fitted; first: those measured first; returned: features with others."""
        if any(feature != "axle_face" for feature in returned):
            return self.fitted(chosen)
        return first._replace(middles=self._middles(chosen))

    def _middles(self, chosen: Mapping[str, list[int]]) -> dict[str, FaceMiddle]:
        return axle_middles(self.fits.measured, chosen.get("axle_face", []), self.fits.left)


def ready(
    prepared: Prepared,
    stack: Stack,
    further: Mapping[str, list[int]],
    pivot: Axis,
    steering: Axis | None,
) -> Ready:
    """further: places of each feature."""
    wobbling = columns_of.run_out(prepared.points, further)
    columns = columns_of.columns(prepared, stack, further, wobbling)
    own = spread(prepared, wobbling, prepared.wheel_runout_u)
    measured = with_derivatives(prepared, columns, further, own, prepared.wheel_runout_u)
    left, upward = np.array(pivot.direction), upward_of(prepared, steering)
    return Ready(columns, Fits(measured, left, upward))


def upward_of(prepared: Prepared, steering: Axis | None) -> Floats | None:
    """(3,): which way is up for the fork: the steering axis, else the survey's word."""
    if steering is not None:
        return np.array(steering.direction)
    up = prepared.points.survey.up
    return None if up is None else np.array(up)
