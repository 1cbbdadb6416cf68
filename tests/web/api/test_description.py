"""The API's description: every route stands in it, and it can be read as OpenAPI."""

from typing import Any

from app.web.api.described import DESCRIBED
from app.web.routes import OPEN, ROUTES
from tests.web.api.client import Api


def references(content: object) -> set[str]:
    if isinstance(content, dict):
        own = {str(content["$ref"])} if isinstance(content.get("$ref"), str) else set()
        return own.union(*(references(value) for value in content.values()))
    if isinstance(content, list):
        return set().union(*(references(value) for value in content))
    return set()


def test_every_route_of_the_api_stands_in_its_description(api: Api) -> None:
    told = api.get("/openapi.json")
    stated = {
        (method.upper(), path) for path, methods in told["paths"].items() for method in methods
    }
    routes = {(r.method, r.path) for r in ROUTES.values() if r.door == "api"}
    assert stated == routes
    assert told["openapi"].startswith("3.1")


def test_every_operation_says_who_may_what_it_takes_and_what_it_gives(api: Api) -> None:
    told = api.get("/openapi.json")
    for name, described in DESCRIBED.items():
        route = ROUTES[name]
        operation = told["paths"][route.path][route.method.lower()]
        assert operation["summary"].endswith((".", "here.")), name
        assert operation["security"] == ([] if route.action == OPEN else [{"token": []}]), name
        assert ("requestBody" in operation) == (described.sends is not None), name
        assert "default" in operation["responses"], name


def test_every_reference_in_the_description_leads_somewhere(api: Api) -> None:
    told = api.get("/openapi.json")
    schemas: dict[str, Any] = told["components"]["schemas"]
    found = {reference.removeprefix("#/components/schemas/") for reference in references(told)}
    assert found
    assert found <= schemas.keys()


def test_writes_that_may_be_repeated_say_so(api: Api) -> None:
    told = api.get("/openapi.json")
    for name in DESCRIBED:
        route = ROUTES[name]
        names = {
            one["name"] for one in told["paths"][route.path][route.method.lower()]["parameters"]
        }
        stores = route.method in {"POST", "PUT"} and name not in {
            "api_solve_survey", "api_verify_certificate", "api_evaluate_gauge_study",
            "api_reference_from_surveys", "api_reference_from_jobs",
            # A file of that moment, too large to be kept for a repeat; it changes no record.
            "api_export_register",
        }  # fmt: skip
        assert ("Idempotency-Key" in names) == stores, name


def test_the_file_formats_are_given_as_json_schemas(api: Api) -> None:
    names = api.get("/schemas")["items"]
    assert names == [
        "survey", "reference", "result", "check_bar", "check_bar_result", "gauge_study",
        "gauge_study_result", "reference_report", "certificate", "register",
    ]  # fmt: skip
    schemas = {name: api.get(f"/schemas/{name}") for name in names}
    assert schemas["survey"]["required"] == ["format", "points"]
    assert schemas["reference"]["required"] == ["format", "characteristics"]
    assert schemas["survey"]["additionalProperties"] is False
    optional = set(schemas["result"]["properties"]) - set(schemas["result"]["required"])
    assert optional == {"shared", "plan", "combined", "change", "monte_carlo", "levelled_by"}


def test_health_is_told_to_anybody(api: Api) -> None:
    assert api.get("/health") == {"status": "ok"}
