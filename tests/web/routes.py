"""Addresses of the app's own routes, filled in for an invented shop."""

import re

from app.web.routes import Route

NOWHERE = {
    "number": "J-2026-9999",
    "survey": "9",
    "draft": "9999",
    "point": "9999",
    "step": "no_such_step",
    "hold": "9999",
    "link": "9999",
    "reference": "9999",
    "instrument": "9999",
    "person": "9999",
    "insurer": "9999",
    "photo": "9999",
    "customer": "9999",
    "tablet": "9999",
    "api_token": "9999",
    "event": "9999",
    "item": "no_such_item",
    "token": "no-such-token",
}
"""Parts that lead to nothing: a writing route that is tried with them changes nothing."""


def address_of(route: Route, **parts: str) -> str:
    """The route's path with these parts, the others leading nowhere."""
    filled = {**NOWHERE, **parts}
    return re.sub(r"\{(\w+)\}", lambda match: filled[match[1]], route.path)
