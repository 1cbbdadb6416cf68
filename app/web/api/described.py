"""Registers a route of the API together with what its description says of it."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from app.web.api.door import api
from app.web.routes import OPEN, Endpoint

__all__ = ["DESCRIBED", "OPEN", "Described", "route"]


@dataclass(frozen=True, slots=True)
class Described:
    """Types are turned into JSON schemas only when the description is asked for."""

    sends: Any = None
    """Type of the body, if there is one."""
    answers: Any = None
    """Type of the answer, or None for a media type of its own."""
    status: int = 200
    many: bool = False
    """The answer is one page of a list of `answers`."""
    media_types: tuple[str, ...] = ("application/json",)
    """What the body may be."""
    answer_type: str = "application/json"
    repeatable: bool = False
    """Takes an Idempotency-Key."""
    waits: bool = False
    """Answers 202 before the work is done, or 201 after it to `Prefer: wait=…`."""


DESCRIBED: dict[str, Described] = {}
"""By the name of the route."""


def route(
    method: str, path: str, action: str, described: Described | None = None
) -> Callable[[Endpoint], Endpoint]:
    """Decorator: the function answers this method on this path, for tokens that may."""

    def register(endpoint: Endpoint) -> Endpoint:
        name = f"api_{endpoint.__name__}"
        DESCRIBED[name] = described or Described()
        registered: Endpoint = api.add(method, path, action, name=name)(endpoint)
        return registered

    return register
