"""Every route of the API as nobody and as each role: what the permission table says, no more."""

import re

import pytest

from app.services.permissions import ACTIONS, Role
from app.services.tokens import list_tokens, revoke_token
from app.web.api import routes
from app.web.routes import OPEN, ROUTES, Route
from tests.databases import NOW
from tests.web.api.client import Api

API_ROUTES = sorted(
    (route for route in ROUTES.values() if route.door == "api"), key=lambda one: one.name
)
CLOSED = [route for route in API_ROUTES if route.action != OPEN]


def path_of(route: Route) -> str:
    return re.sub(r"\{[a-z_]+\}", "7", route.path.removeprefix("/api/v1"))


def named(route: Route) -> str:
    return route.name


def test_the_table_of_routes_is_filled() -> None:
    assert len(routes.MODULES) == 19
    assert len(API_ROUTES) > 55
    assert {route.action for route in CLOSED} <= ACTIONS.keys()


def test_only_these_routes_are_open() -> None:
    assert {route.name for route in API_ROUTES if route.action == OPEN} == {
        "api_health", "api_openapi", "api_formats", "api_schema", "api_verify_certificate",
    }  # fmt: skip


@pytest.mark.parametrize("route", CLOSED, ids=named)
def test_nobody_passes_a_closed_route(shared_api: Api, route: Route) -> None:
    refusals = [
        shared_api.ask(route.method, path_of(route)),
        shared_api.ask(route.method, path_of(route), content=b"{broken"),
        shared_api.ask(route.method, path_of(route), headers={"Authorization": "Bearer "}),
        shared_api.ask(
            route.method, path_of(route), headers={"Authorization": "Bearer jigbook_wrong"}
        ),
        shared_api.ask(
            route.method, path_of(route), headers={"Authorization": "Basic b3duZXI6eA=="}
        ),
        shared_api.ask(
            route.method,
            path_of(route),
            headers={"Cookie": f"sid={shared_api.tokens['owner']}"},
        ),
    ]
    for answer in refusals:
        assert answer.status_code == 401
        assert answer.headers["www-authenticate"] == "Bearer"
        assert answer.headers["content-type"] == "application/problem+json"


@pytest.mark.parametrize("route", CLOSED, ids=named)
def test_each_role_passes_exactly_where_the_table_lets_it(shared_api: Api, route: Route) -> None:
    """Who may pass meets the next refusal: there is no such record, or nothing was sent."""
    allowed = ACTIONS[route.action].roles
    for role in Role:
        answer = shared_api.as_role(str(role)).ask(route.method, path_of(route))
        if role in allowed:
            assert answer.status_code in {200, 404, 415, 422}, answer.text
        else:
            assert answer.status_code == 403, f"{role} passed"
            assert answer.json()["code"] == "not_allowed"


def test_a_revoked_token_is_refused_at_once(api: Api) -> None:
    assert api.as_role("desk").ask("GET", "/customers").status_code == 200
    with api.database.write() as session:
        revoke_token(session, api.owner, "the desk", NOW)
    answer = api.as_role("desk").ask("GET", "/customers")
    assert answer.status_code == 401
    assert answer.json()["code"] == "token_over"


def test_the_use_of_a_token_is_written_down(api: Api) -> None:
    api.as_role("desk").get("/customers")
    with api.database.read() as session:
        used = {token.name: token.last_used_at for token in list_tokens(session, api.owner)}
    assert used["the desk"] is not None
    assert used["the inspector"] is None
