"""What is said of a photo: what it shows, and in which words."""

from typing import Annotated

from pydantic import Field
from pydantic.functional_validators import AfterValidator

from app.errors import Problem
from app.schemas.damage import ZONES
from app.schemas.form import Form
from app.schemas.sent import Line, wrong
from app.schemas.visual_check import ITEMS

ZONE, ITEM = "zone.", "item."
MOST_AT_ONCE = 10
"""Photos in one request."""


def about_item(item: str) -> str:
    """How a photo names the item of the visual check that it shows."""
    return ITEM + item


def about_zone(zone: str) -> str:
    """How a photo names the zone of the machine that it shows."""
    return ZONE + zone


ABOUT: tuple[str, ...] = (*map(about_zone, ZONES), *map(about_item, ITEMS))
"""Everything that a photo can be said to show, besides the machine as a whole."""


def _known(about: str) -> str:
    if about in ABOUT:
        return about
    raise wrong(Problem("photo_about_unknown", "", {"met": about[:80]}))


About = Annotated[str, Field(max_length=80), AfterValidator(_known)]
"""`zone.front_wheel` or `item.frame_cracks`; absent: the machine as a whole."""


class PhotoIn(Form):
    about: About | None = None
    caption: Line | None = None
