"""Who may go where: every route of the pages, as nobody and as each role, by the one table."""

import pytest

from app.schemas.visual_check import VisualCheckIn
from app.services import drafts, photos, visual_checks
from app.services.permissions import ACTIONS, Role
from app.web.routes import OPEN, ROUTES, Route
from tests.services.pictures import prepared
from tests.web.routes import address_of
from tests.web.shop import Shop, Visitor, measured_job

PAGES = [route for route in ROUTES.values() if route.door == "pages"]
CLOSED = [route for route in PAGES if route.action != OPEN]
PEOPLE = {Role.DESK: "desk", Role.TECHNICIAN: "technician", Role.INSPECTOR: "inspector",
          Role.OWNER: "boss"}  # fmt: skip
PHOTO = prepared()
OPEN_TO_ALL = {
    "authority_certificate", "authority_sheet",
    "sign_in_form", "sign_in", "claim", "claim_pdf", "claim_data",
    "claim_bundle", "claim_of_insurer", "claim_photo", "claim_photo_whole",
    "claim_photo_thumbnail", "verify_form", "verify", "verify_number",
    "at_work", "pin_entry", "take_over", "enrol_form", "enrol", "choose_shade",
}  # fmt: skip


@pytest.fixture
def parts(shop: Shop) -> dict[str, str]:
    """What is on record to look at: a measured job with a draft and a hold."""
    number = measured_job(shop)
    technician, now = shop.people["technician"], shop.clock["now"]
    with shop.database.write() as session:
        draft = drafts.open_draft(session, technician, number, "during", now)
        seen = VisualCheckIn.model_validate({"item": "frame_cracks", "answer": "seen"})
        holds = visual_checks.answer(session, technician, number, [seen], now)
        photo = photos.add(session, technician, number, PHOTO, None, None, now)
    return {
        "number": number, "survey": "1", "draft": str(draft.id), "hold": str(holds[0].id),
        "reference": "1", "instrument": "1", "person": "1", "photo": str(photo.id),
        "item": "frame_cracks", "step": "pivot.left", "insurer": "1", "event": "1",
        "customer": "1",
    }  # fmt: skip


def test_every_route_names_an_action_of_the_permission_table() -> None:
    assert {route.action for route in CLOSED} <= set(ACTIONS)


def test_only_these_are_open_to_everybody() -> None:
    assert {route.name for route in PAGES if route.action == OPEN} == OPEN_TO_ALL


def test_what_only_reads_may_be_asked_for_by_get_and_what_writes_may_not() -> None:
    """The permission table speaks of reading in `.read`; nothing of that kind is a POST."""
    for route in CLOSED:
        if route.action.endswith(".read"):
            assert route.method == "GET", route.name


def test_nobody_gets_in_anywhere(shop: Shop, parts: dict[str, str]) -> None:
    before = shop.digest()
    for route in CLOSED:
        answer = ask(shop.visitor(), route, parts)
        if route.method == "GET":
            assert answer.status_code == 303, route.name
            assert answer.headers["location"].startswith("/sign-in"), route.name
        else:
            assert answer.status_code == 401, route.name
    assert shop.digest() == before


@pytest.mark.parametrize("role", list(Role))
def test_each_role_gets_in_exactly_where_the_table_says(
    shop: Shop, parts: dict[str, str], role: Role
) -> None:
    visitor = shop.signed_in(PEOPLE[role])
    token = visitor.token()
    told = {}
    for route in CLOSED:
        if route.name == "sign_out":
            continue
        wanted = parts if route.method == "GET" else {}
        answer = ask(visitor, route, wanted, token)
        told[route.name] = answer.status_code
        if role not in ACTIONS[route.action].roles:
            assert answer.status_code == 403, (route.name, answer.status_code)
        elif route.method == "GET":
            assert answer.status_code in (200, 404), (route.name, answer.status_code)
        else:
            assert answer.status_code not in (401, 403), (route.name, answer.status_code)
    found = [
        name for name, status in told.items() if status == 404 and ROUTES[name].method == "GET"
    ]
    assert set(found) <= {
        "before_and_after", "comparison_drawing", "certificate", "certificate_pdf", "withdraw_form",
        "certificate_bundle", "certificate_message", "claim_link_uses", "progress", "progress_mark",
        "give_up_form", "hand_over_receipt",
    }  # fmt: skip


def test_links_lead_only_where_the_person_may_go(shop: Shop, parts: dict[str, str]) -> None:
    """No page of a job offers a place that then says no."""
    for role in Role:
        visitor = shop.signed_in(PEOPLE[role])
        for start in ("/", f"/jobs/{parts['number']}", f"/jobs/{parts['number']}/surveys/1"):
            page = visitor.get(start).text
            for href in sorted(set(hrefs(page))):
                answer = visitor.get(href)
                assert answer.status_code == 200, (role, start, href)


def hrefs(page: str) -> list[str]:
    """Addresses of our own that the page links to."""
    found = [piece.partition('"')[0] for piece in page.split('href="')[1:]]
    return [href for href in found if href.startswith("/") and "#" not in href]


def ask(visitor: Visitor, route: Route, parts: dict[str, str], token: str = ""):  # type: ignore[no-untyped-def]
    """The route with these parts, as one of our own pages would ask for it."""
    path = address_of(route, **parts)
    if route.method == "GET":
        return visitor.ask("GET", path)
    headers = {"Origin": visitor.base}
    return visitor.ask("POST", path, data={"form_token": token}, headers=headers)
