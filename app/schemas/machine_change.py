"""What a machine is, put right after check-in."""

from typing import Annotated

from pydantic import Field

from app.schemas.form import Form, ShortLine, Whole
from app.schemas.sent import Line, Prose


class MachineChangeIn(Form):
    """The machine as it is to stand, and why; `version` is the job's `check_in_version` as the
    sender saw it. The frame number is refused or warned of as at check-in."""

    version: ShortLine
    make: Line
    model: Line
    frame_number: Line
    year: Annotated[Whole, Field(ge=1885, le=2100)] | None = None
    plate: Line | None = None
    reason: Prose
