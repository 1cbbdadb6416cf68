"""The shop and its settings as the owner's page sends them."""

from typing import Annotated
from zoneinfo import available_timezones

from pydantic import Field
from pydantic.functional_validators import AfterValidator

from app.errors import Problem
from app.schemas.form import Form, Ticked, Whole
from app.schemas.sent import Line, Prose, wrong
from app.schemas.solve_request import HIGHEST_THRESHOLD, LOWEST_THRESHOLD


def _known(name: str) -> str:
    """Zones whose names this machine knows; the name alone, and no path."""
    if name not in available_timezones():
        raise wrong(Problem("time_zone_unknown", "", {"met": name[:40]}))
    return name


ZoneName = Annotated[Line, AfterValidator(_known)]


class ShopIn(Form):
    """All of it at once: what is left empty is emptied, a box that is not ticked is off."""

    name: Line
    address: Prose | None = None
    phone: Line | None = None
    email: Line | None = None
    time_zone: ZoneName | None = None
    own_statement: Prose | None = None
    confidence_threshold: Annotated[
        float,
        Field(strict=True, allow_inf_nan=False, gt=LOWEST_THRESHOLD, le=HIGHEST_THRESHOLD),
    ]
    measurer_may_sign: Ticked = False
    privacy_notice: Prose | None = None
    claim_link_days: Annotated[Whole, Field(ge=1, le=365)]
