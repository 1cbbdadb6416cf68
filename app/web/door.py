"""The door for people: HTML pages, let in by the session's cookie."""

from collections.abc import Callable
from typing import Any

from app.web.routes import Door
from app.web.visits import admit, admit_inside, in_shops_time
from app.web.writing_visits import admit_writing


def inside(method: str, action: str, endpoint: Callable[..., Any]) -> Callable[..., Any] | None:
    """The endpoint with its admission put before it, where it is one that can be."""
    return (admit_inside if method == "GET" else admit_writing)(action, endpoint)


pages = Door("pages", admit, inside=inside, around=in_shops_time)
floor_pages = Door("pages", admit, inside=inside, around=in_shops_time)
"""What a tablet at the machine asks for, again and again: looked through before all others."""
