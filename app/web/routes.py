"""The app's own table of routes: each with the action of the permission table that it needs.

The framework keeps its routes as a tree of its own; this list is what links, the guard of roles
and the test that walks every route read.
"""

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from typing import Any
from urllib.parse import quote, urlencode

from fastapi import APIRouter, Depends
from fastapi.params import Depends as DependsMarker

from app.web.database import in_one_thread, in_writers_thread

OPEN = "open"
"""For whoever comes: no one needs to be signed in."""

Endpoint = Callable[..., Any]
Admit = Callable[[str], Endpoint]
AdmitInside = Callable[[str, str, Endpoint], Endpoint | None]


@dataclass(frozen=True, slots=True)
class Route:
    """One method on one path."""

    method: str
    path: str
    name: str
    action: str
    """A key of the permission table, or OPEN."""
    door: str
    """`pages` or `api`."""


ROUTES: dict[str, Route] = {}
"""All routes by name, filled as the modules that hold them are imported."""


class Door:
    """Registers routes of one kind; `admit` makes the dependency that lets an action pass.

    inside: puts the admission into the endpoint itself, where it can.
    around: for all others, what the endpoint is put into.
    """

    def __init__(
        self,
        name: str,
        admit: Admit,
        prefix: str = "",
        inside: AdmitInside | None = None,
        around: Callable[[Endpoint], Endpoint] | None = None,
    ) -> None:
        self.name = name
        self.admit = admit
        self.prefix = prefix
        self.inside = inside
        self.around = around
        self.router = APIRouter(prefix=prefix)

    def add(
        self, method: str, path: str, action: str, **options: Any
    ) -> Callable[[Endpoint], Endpoint]:
        """Decorator: the function answers this method on this path, for those who may."""

        def register(endpoint: Endpoint) -> Endpoint:
            name = options.pop("name", endpoint.__name__)
            if name in ROUTES:
                raise ValueError(f"two routes are called {name}")
            ROUTES[name] = Route(method, self.prefix + path, name, action, self.name)
            made, dependencies = self._admitting(method, action, endpoint)
            self.router.add_api_route(
                path, made, methods=[method], name=name, dependencies=dependencies, **options
            )
            return endpoint

        return register

    def _admitting(
        self, method: str, action: str, endpoint: Endpoint
    ) -> tuple[Endpoint, list[DependsMarker]]:
        """The endpoint as it is registered, and what must let a request pass before it."""
        if self.inside is not None:
            entered = self.inside(method, action, endpoint)
            if entered is not None:
                return entered, []
        told = self.around(endpoint) if self.around is not None else endpoint
        made = in_writers_thread(in_one_thread(told))
        return made, [Depends(self.admit(action), scope="function")]


def path_to(name: str, /, query: dict[str, str] | None = None, **parts: str | int) -> str:
    """The path of a route with its parts filled in, each escaped.

    Raises KeyError for a name that is not registered or a part that is not given.
    """
    path = _filled(name, tuple(parts.items()))
    return f"{path}?{urlencode(query)}" if query else path


@lru_cache(maxsize=4096)
def _filled(name: str, parts: tuple[tuple[str, str | int], ...]) -> str:
    """A page of links asks for the same path many times over; routes never change."""
    return ROUTES[name].path.format_map({k: quote(str(v), safe="") for k, v in parts})
