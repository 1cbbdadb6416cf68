"""A machine as a page or the API sends it."""

from typing import Annotated

from pydantic import Field

from app.schemas.form import Form, Whole
from app.schemas.sent import Line, Prose


class MachineIn(Form):
    """`frame_number` is cleaned and checked by `schemas.frame_number`, never refused for a
    check digit that does not fit: many markets do not use one."""

    make: Line
    model: Line
    frame_number: Line
    year: Annotated[Whole, Field(ge=1885, le=2100)] | None = None
    plate: Line | None = None
    colour: Line | None = None
    note: Prose | None = None
