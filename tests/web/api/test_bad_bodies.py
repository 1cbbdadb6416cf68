"""Every writing route against bodies that are none: refused in words, nothing stored, no echo."""

import json
import re

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from app.services.permissions import ACTIONS
from app.web.api.described import DESCRIBED
from app.web.routes import OPEN, ROUTES, Route
from tests.web.api.client import Api

WRITING = sorted(
    (ROUTES[name] for name, told in DESCRIBED.items() if told.sends not in (None, bytes)),
    key=lambda route: route.name,
)
SECRET = "do-not-echo-" * 20_000

BODIES: dict[str, bytes] = {
    "nothing": b"",
    "blank": b"  \n",
    "broken": b"{",
    "text": b'"text"',
    "null": b"null",
    "a list": b"[1]",
    "nan": b"NaN",
    "nan inside": b'{"name": NaN, "survey": Infinity, "points": [{"x": 1e999}], "kind": NaN}',
    "unknown keys": b'{"surprise": 1, "__proto__": {}, "role": "owner", "signed_by": "me"}',
    "a key twice": b'{"name": "a", "name": "b"}',
    "deep": b"[" * 100_000,
    "long": json.dumps({"name": SECRET, "reason": SECRET, "text": SECRET}).encode(),
    "a megabyte": b'{"name": "' + b"x" * 1_000_000 + b'"}',
    "not text": b"\xff\xfe\x00\x01",
    "half of a pair": b'{"name": "\\ud83d", "reason": "\\ud83d"}',
    "control characters": b'{"name": "a\\u0000b", "reason": "a\\u0000b", "text": "\\u0000"}',
    "another script": '{"имя": "Приве́т"}'.encode(),
    "a very long number": b'{"version": 1' + b"0" * 5000 + b"}",
}


def path_of(route: Route) -> str:
    return re.sub(r"\{[a-z_]+\}", "7", route.path.removeprefix("/api/v1"))


def allowed(api: Api, route: Route) -> Api:
    if route.action == OPEN:
        return api
    return api.as_role(str(min(ACTIONS[route.action].roles)))


def require_a_problem(status: int, text: str, media_type: str) -> None:
    assert status in {404, 409, 413, 415, 422}, text[:200]
    assert media_type == "application/problem+json"
    assert len(text) < 30_000
    problem = json.loads(text)
    assert problem["status"] == status
    assert problem["detail"]
    assert problem["errors"]
    assert "do-not-echo-" * 5 not in text
    assert "Traceback" not in text


@pytest.mark.parametrize("route", WRITING, ids=lambda route: route.name)
def test_no_bad_body_passes_or_breaks_a_route(shared_api: Api, route: Route) -> None:
    caller = allowed(shared_api, route)
    before = digest(shared_api)
    for name, body in BODIES.items():
        answer = caller.ask(route.method, path_of(route), content=body)
        media_type = answer.headers["content-type"]
        if answer.status_code < 300:
            raise AssertionError(f"{name} was taken by {route.name}: {answer.text[:200]}")
        require_a_problem(answer.status_code, answer.text, media_type)
    assert digest(shared_api) == before


def digest(api: Api) -> dict[str, int]:
    with api.database.engine.connect() as connection:
        tables = [
            row[0]
            for row in connection.exec_driver_sql(
                "SELECT name FROM sqlite_master WHERE type = 'table'"
            )
            if row[0] != "api_token"
        ]
        return {
            name: connection.exec_driver_sql(f'SELECT count(*) FROM "{name}"').scalar_one()
            for name in tables
        }


@pytest.mark.parametrize("route", WRITING, ids=lambda route: route.name)
def test_a_body_of_another_media_type_is_refused(shared_api: Api, route: Route) -> None:
    caller = allowed(shared_api, route)
    for media_type in (None, "text/plain", "application/x-www-form-urlencoded", "text/html"):
        answer = caller.ask(route.method, path_of(route), content=b"{}", media_type=media_type)
        assert (answer.status_code, answer.json()["code"]) == (415, "wrong_media_type")


JSON_VALUES = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=20),
    lambda inner: (
        st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=12), inner, max_size=4)
    ),
    max_leaves=12,
)
KEYS = st.sampled_from(
    ["name", "reason", "customer", "machine", "format", "points", "survey", "kind", "checks",
     "phase", "version", "customer_id", "frame_number", "calibration", "options", "text"]
)  # fmt: skip


@settings(
    max_examples=40,
    deadline=None,
    derandomize=True,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(
    route=st.sampled_from(WRITING),
    body=st.dictionaries(KEYS, JSON_VALUES, max_size=5),
)
def test_whatever_json_comes_the_answer_is_no_crash(
    shared_api: Api, route: Route, body: dict[str, object]
) -> None:
    answer = allowed(shared_api, route).ask(
        route.method, path_of(route), content=json.dumps(body).encode()
    )
    assert answer.status_code < 500
    if answer.status_code >= 300:
        require_a_problem(answer.status_code, answer.text, answer.headers["content-type"])


@pytest.mark.parametrize(
    "query", ["limit=0", "limit=201", "limit=x", "offset=-1", "limit=NaN", "offset=1e9", "limit="]
)
def test_a_page_that_is_none_is_refused(shared_api: Api, query: str) -> None:
    answer = shared_api.as_role("desk").ask("GET", f"/customers?{query}")
    assert answer.status_code == 422
    assert answer.json()["errors"][0]["field"] in {"limit", "offset"}


def test_a_body_that_is_too_large_is_refused_before_it_is_looked_at(shared_api: Api) -> None:
    for size, status in [(1_000_001, 422), (3_000_000, 413)]:
        answer = shared_api.as_role("desk").ask("POST", "/customers", content=b" " * size)
        assert answer.status_code == status
        require_a_problem(answer.status_code, answer.text, answer.headers["content-type"])


def test_a_host_that_is_not_ours_is_refused_as_a_problem(shared_api: Api) -> None:
    answer = shared_api.as_role("desk").ask("GET", "/customers", headers={"Host": "evil.example"})
    assert (answer.status_code, answer.json()["code"]) == (400, "host_not_served")
    assert answer.headers["content-type"] == "application/problem+json"
