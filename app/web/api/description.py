"""The API described as OpenAPI, put together only when it is asked for."""

import re
from collections.abc import Mapping
from functools import cache
from http import HTTPStatus
from typing import Any

from pydantic import TypeAdapter

from app.errors import NotFound
from app.web.api.call import JSON, KEY
from app.web.api.described import DESCRIBED, Described
from app.web.api.door import PREFIX, api
from app.web.api.problem_details import MEDIA_TYPE
from app.web.api.waiting import LONGEST_WAIT_S
from app.web.routes import OPEN, ROUTES, Route

REFERENCE = "#/components/schemas/{model}"
PLACE = re.compile(r"\{([a-z_]+)\}")
WHOLE_NUMBERS = frozenset(
    {"customer_id", "machine_id", "reference_id", "revision", "instrument_id", "hold_id",
     "draft_id", "survey", "reading_id", "study_id",
     "photo_id", "insurer_id", "link_id"}
)  # fmt: skip
PREFER: dict[str, Any] = {
    "name": "Prefer",
    "in": "header",
    "description": f"wait=30 (RFC 7240): answer when it is done, after {LONGEST_WAIT_S} s at most",
    "schema": {"type": "string"},
}
DONE = "Done before the time that the client was ready to wait"
PROBLEM: dict[str, Any] = {
    "type": "object",
    "required": ["type", "title", "status", "detail", "code", "errors"],
    "properties": {
        "type": {"type": "string"},
        "title": {"type": "string"},
        "status": {"type": "integer"},
        "detail": {"type": "string"},
        "code": {"type": "string"},
        "errors": {
            "type": "array",
            "items": {
                "type": "object",
                "required": ["code", "field", "message"],
                "properties": {
                    "code": {"type": "string"},
                    "field": {"type": "string"},
                    "message": {"type": "string"},
                },
            },
        },
    },
}


@cache
def described() -> dict[str, Any]:
    """The whole description; the same for as long as the program runs."""
    schemas, components = _schemas()
    paths: dict[str, dict[str, Any]] = {}
    for name, told in DESCRIBED.items():
        route = ROUTES[name]
        paths.setdefault(route.path, {})[route.method.lower()] = _operation(route, told, schemas)
    return {
        "openapi": "3.1.0",
        "info": {"title": "Jigbook", "version": "1"},
        "servers": [{"url": "/"}],
        "paths": paths,
        "components": {
            "schemas": {**components, "Problem": PROBLEM},
            "securitySchemes": {"token": {"type": "http", "scheme": "bearer"}},
        },
    }


def schema_of(name: str, formats: Mapping[str, Any]) -> dict[str, Any]:
    """A file format as a JSON schema. Raises NotFound."""
    if name not in formats:
        raise NotFound("no_such_format", None, known=tuple(formats))
    return TypeAdapter(formats[name]).json_schema()


def _schemas() -> tuple[dict[tuple[str, str], Any], dict[str, Any]]:
    """The schema of each route's body (`in`) and answer (`out`), and what they share."""
    wanted: list[tuple[tuple[str, str], Any, TypeAdapter[Any]]] = []
    for name, told in DESCRIBED.items():
        if told.sends is not None and told.sends is not bytes:
            wanted.append(((name, "in"), "validation", TypeAdapter(told.sends)))
        if told.answers is not None:
            wanted.append(((name, "out"), "serialization", TypeAdapter(told.answers)))
    found, rest = TypeAdapter.json_schemas(wanted, ref_template=REFERENCE)
    schemas = {key: schema for (key, _mode), schema in found.items()}
    return schemas, rest.get("$defs", {})


def _operation(
    route: Route, told: Described, schemas: Mapping[tuple[str, str], Any]
) -> dict[str, Any]:
    operation: dict[str, Any] = {
        "operationId": route.name.removeprefix("api_"),
        "summary": _summary(route.name),
        "parameters": _parameters(route, told),
        "responses": _responses(route, told, schemas),
        "security": [] if route.action == OPEN else [{"token": []}],
    }
    if told.sends is not None:
        sent = schemas.get((route.name, "in"), {"type": "string", "format": "binary"})
        content = {kind: {"schema": sent if kind == JSON else {}} for kind in told.media_types}
        operation["requestBody"] = {"required": True, "content": content}
    return operation


def _summary(name: str) -> str:
    endpoint = next(one.endpoint for one in _own_routes() if one.name == name)
    return (endpoint.__doc__ or "").strip().split("\n")[0]


def _own_routes() -> list[Any]:
    return list(api.router.routes)


def _parameters(route: Route, told: Described) -> list[dict[str, Any]]:
    places: list[dict[str, Any]] = [
        {
            "name": name,
            "in": "path",
            "required": True,
            "schema": {"type": "integer" if name in WHOLE_NUMBERS else "string"},
        }
        for name in PLACE.findall(route.path)
    ]
    if told.repeatable:
        places.append({"name": KEY, "in": "header", "schema": {"type": "string"}})
    if told.waits:
        places.append(PREFER)
    return places + _queries(route.name)


def _queries(name: str) -> list[dict[str, Any]]:
    """The query parameters as the framework checks them."""
    route = next(one for one in _own_routes() if one.name == name)
    return [
        {
            "name": field.alias,
            "in": "query",
            "required": field.field_info.is_required(),
            "schema": TypeAdapter(field.field_info.rebuild_annotation()).json_schema(),
        }
        for field in route.dependant.query_params
    ]


def _responses(
    route: Route, told: Described, schemas: Mapping[tuple[str, str], Any]
) -> dict[str, Any]:
    schema = schemas.get((route.name, "out"), {})
    if told.many:
        schema = _page(schema)
    good = {"description": HTTPStatus(told.status).phrase}
    content = {"content": {told.answer_type: {"schema": schema}}}
    problem = {"$ref": REFERENCE.format(model="Problem")}
    bad = {"description": "Problem", "content": {MEDIA_TYPE: {"schema": problem}}}
    done = {"201": {"description": DONE, **content}} if told.waits else {}
    return {str(told.status): {**good, **content}, **done, "default": bad}


def _page(items: Any) -> dict[str, Any]:
    return {
        "type": "object",
        "required": ["items", "limit", "offset", "next"],
        "properties": {
            "items": {"type": "array", "items": items},
            "limit": {"type": "integer"},
            "offset": {"type": "integer"},
            "next": {"type": ["string", "null"]},
        },
    }


__all__ = ["PREFIX", "described", "schema_of"]
