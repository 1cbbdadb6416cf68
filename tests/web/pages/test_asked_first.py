"""What cannot be undone as easily as it was done is asked first, also without a script."""

from html.parser import HTMLParser

import pytest

from app.services import tablets, tokens
from app.services.permissions import Role
from app.web.routes import ROUTES
from tests.databases import NOW
from tests.services.staff import PASSWORD
from tests.web.shop import Shop, ready_job, text_of

ASKED = {
    "/tablets/1/revoke": ("/tablets", "owner"),
    "/people/1/disable": ("/people/1", "owner"),
    "/people/1/reset": ("/people/1", "owner"),
    "/pin/none": ("/pin", "technician"),
    "/jobs/J-2026-0001/drafts/1/discard": ("/jobs/J-2026-0001/drafts/1", "technician"),
    "/jobs/J-2026-0001/links/1/revoke": ("/jobs/J-2026-0001/links", "desk"),
    "/insurers/1/links/2/revoke": ("/insurers/1/links", "desk"),
    "/links/1/revoke": ("/links", "desk"),
    "/shop/tokens/1/revoke": ("/shop/tokens", "owner"),
}
"""Where each stands, and who sees it there."""
UNDONE_AS_EASILY = {
    "/sign-out", "/shade", "/people/{person}/enable", "/tablets/{tablet}/code",
    "/check-in/frame-number", "/check-in/known", "/check-in/look-up", "/jobs/{number}/calls",
    "/jobs/{number}/photos/{photo}/keep-back", "/jobs/{number}/photos/{photo}/share",
    "/jobs/{number}/drafts/{draft}/heading", "/jobs/{number}/drafts/{draft}/steps/{step}/aim",
    "/jobs/{number}/drafts/{draft}/steps/{step}/resume", "/certificates/{number}/resume",
    "/shop/key/time-stamps", "/jobs/{number}/drafts/{draft}/table",
    "/jobs/{number}/drafts", "/jobs/{number}/surveys", "/jobs/{number}/certificates/draft",
    "/customers/{customer}/erasure-asked", "/customers/{customer}/erasure-not-asked",
}  # fmt: skip
ANSWERED_FOR = {
    # Each needs a password, a file, a tick or the whole measurement beside it.
    "/shop/key/own", "/shop/key-password", "/jobs/{number}/certificates", "/shop/key/renew",
    "/jobs/{number}/drafts/{draft}/steps/{step}/pause", "/jobs/{number}/drafts/{draft}/submit",
    # Taken back on the floor: the point stays among the draft's own and is measured anew.
    "/jobs/{number}/drafts/{draft}/points/{point}/undo",
    "/jobs/{number}/drafts/{draft}/steps/{step}/undo",
    "/jobs/{number}/drafts/{draft}/steps/{step}/restart",
}  # fmt: skip


class Forms(HTMLParser):
    """Where the forms of a page lead, and which of them stand in a fold that is shut."""

    def __init__(self) -> None:
        super().__init__()
        self.folds: list[bool] = []
        self.shut: dict[str, bool] = {}

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = dict(attrs)
        if tag == "details":
            self.folds.append("open" not in given and given.get("class") == "ask")
        elif tag == "form":
            self.shut[given.get("action") or ""] = any(self.folds)

    def handle_endtag(self, tag: str) -> None:
        if tag == "details":
            self.folds.pop()


def forms_of(page: str) -> dict[str, bool]:
    read = Forms()
    read.feed(page)
    return read.shut


@pytest.fixture
def filled(shop: Shop) -> Shop:
    """Something of each kind."""
    number = ready_job(shop)
    desk, technician = shop.signed_in("desk"), shop.signed_in("technician")
    desk.post(f"/jobs/{number}/links", {"note": "Ada (invented)"})
    desk.post("/insurers/1/links", {"note": "Invented Mutual"})
    technician.post(f"/jobs/{number}/drafts", {"phase": "before"})
    technician.post("/pin", {"pin": "8261", "pin_again": "8261", "password": PASSWORD})
    with shop.database.write() as session:
        tablets.add(session, shop.people["boss"], "lift 2", NOW)
        tokens.create_token(session, shop.people["boss"], "invented arm", Role.TECHNICIAN, NOW)
    return shop


@pytest.mark.parametrize(("action", "place"), ASKED.items(), ids=ASKED)
def test_it_stands_in_a_fold_that_tells_what_follows(
    filled: Shop, action: str, place: tuple[str, str]
) -> None:
    path, role = place
    page = filled.signed_in({"owner": "boss"}.get(role, role)).get(path).text
    assert forms_of(page)[action] is True
    assert "now" in text_of(page)


def test_every_form_without_a_page_of_its_own_is_decided_on() -> None:
    posted = {one.path for one in ROUTES.values() if one.method == "POST" and one.door != "api"}
    with_a_page = {one.path for one in ROUTES.values() if one.method == "GET"}
    asked = {
        "/tablets/{tablet}/revoke", "/people/{person}/disable", "/people/{person}/reset",
        "/pin/none", "/jobs/{number}/drafts/{draft}/discard",
        "/jobs/{number}/links/{link}/revoke", "/insurers/{insurer}/links/{link}/revoke",
        "/links/{link}/revoke", "/shop/tokens/{api_token}/revoke",
    }  # fmt: skip
    assert len(asked) == len(ASKED)
    assert asked <= posted
    assert posted - with_a_page - asked - UNDONE_AS_EASILY - ANSWERED_FOR == set()
