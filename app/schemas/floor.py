"""What the floor sends: readings of a step, and what a step without points says."""

from typing import Annotated, Literal

from pydantic import Field, StringConstraints

from app.schemas.draft import MOST_AT_ONCE, AsEnteredIn, HeadingIn
from app.schemas.form import Identity
from app.schemas.points import Covariance
from app.schemas.sent import Coordinate, Name, NotNegative, Sent, Uncertainty

StepCode = Annotated[str, StringConstraints(pattern=r"^[a-z0-9_.]+$", max_length=200)]
RequestKey = Annotated[str, StringConstraints(min_length=1, max_length=200)]
MOST_TARGETS_NAMED = 20


class ReadingIn(Sent):
    """One measured position; what it is of, its step says."""

    x: Coordinate
    y: Coordinate
    z: Coordinate
    u: Uncertainty | None = None
    offset: NotNegative | None = None
    cov: Covariance | None = None
    as_entered: AsEnteredIn = AsEnteredIn()
    name: Name | None = None
    """The target that it is of; the next one that is missing unless told."""
    supersedes: Identity | None = None
    """Id of the standing point whose place it takes."""


class ReadingsIn(Sent):
    readings: Annotated[tuple[ReadingIn, ...], Field(min_length=1, max_length=MOST_AT_ONCE)]


class TakeIn(ReadingsIn):
    step: StepCode | None = None
    """None: the step that the tablet waits at for an instrument."""
    request_key: RequestKey | None = None
    """The same readings under the same key are stored once, whoever sends them."""


class RigTargetsIn(Sent):
    targets: Annotated[tuple[Name, ...], Field(min_length=1, max_length=MOST_TARGETS_NAMED)]


class RecordIn(Sent):
    step: StepCode
    heading: HeadingIn | None = None
    targets: Annotated[tuple[Name, ...], Field(min_length=1, max_length=20)] | None = None
    request_key: RequestKey | None = None


class FloorActIn(Sent):
    request_key: RequestKey | None = None


class RestartIn(FloorActIn):
    scope: Literal["steering", "everything"]


class LiveStepIn(Sent):
    step: StepCode | None = None
