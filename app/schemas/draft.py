"""A measurement while it is being taken: its heading, and its points one by one."""

from typing import Annotated

from pydantic import Field, StringConstraints

from app.schemas.form import Identity
from app.schemas.points import PointIn
from app.schemas.sent import Celsius, Flag, Line, Moment, Prose, Sent
from app.schemas.survey import Direction, InstrumentIn, Phase, RigIn, SidesIn

MOST_AT_ONCE = 500

Reading = Annotated[str, StringConstraints(max_length=40)]
"""A reading as it was typed: `412,5`."""


class AsEnteredIn(Sent):
    x: Reading | None = None
    y: Reading | None = None
    z: Reading | None = None
    u: Reading | None = None
    offset: Reading | None = None


class DraftPointIn(PointIn):
    as_entered: AsEnteredIn = AsEnteredIn()
    supersedes: Identity | None = None
    """Id of the standing point of the same draft whose place this one takes."""


class DraftPointsIn(Sent):
    points: Annotated[tuple[DraftPointIn, ...], Field(min_length=1, max_length=MOST_AT_ONCE)]


class HeadingIn(Sent):
    """What a survey says besides its format, phase and points; all of it may come later."""

    measured_at: Moment | None = None
    by: Line | None = None
    mounting: Prose | None = None
    part_temperature_c: Celsius | None = None
    part_temperature_u_k: Annotated[float, Field(strict=True, ge=0.0, le=50.0)] | None = None
    after_ride_in: Flag = False
    up: Direction | None = None
    instrument: InstrumentIn | None = None
    rig: RigIn | None = None
    chain_adjusters: SidesIn | None = None
    fork_runout_mm: SidesIn | None = None


class OpenDraftIn(HeadingIn):
    phase: Phase
    supersedes: Identity | None = None
    """Number of the survey of the same phase whose place it is to take."""
    because: Prose | None = None
    """Why; needed with `supersedes`."""
