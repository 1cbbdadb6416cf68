"""The shop and its settings as the owner's page sends them."""

from typing import Annotated

from pydantic import Field

from app.schemas.form import Form, Ticked, Whole
from app.schemas.sent import Line, Prose
from app.schemas.solve_request import HIGHEST_THRESHOLD, LOWEST_THRESHOLD


class ShopIn(Form):
    """All of it at once: what is left empty is emptied, a box that is not ticked is off."""

    name: Line
    address: Prose | None = None
    phone: Line | None = None
    email: Line | None = None
    own_statement: Prose | None = None
    confidence_threshold: Annotated[
        float,
        Field(strict=True, allow_inf_nan=False, gt=LOWEST_THRESHOLD, le=HIGHEST_THRESHOLD),
    ]
    measurer_may_sign: Ticked = False
    privacy_notice: Prose | None = None
    claim_link_days: Annotated[Whole, Field(ge=1, le=365)]
