"""Looking at a page never changes a record; only forms do."""

from app.web.routes import ROUTES
from tests.web.routes import address_of
from tests.web.shop import Shop, measured_job

LOGS_ITS_OPENING = {
    "claim", "claim_pdf", "claim_data", "claim_bundle", "claim_of_insurer", "claim_photo",
    "claim_photo_whole", "claim_photo_thumbnail", "verify_number",
}  # fmt: skip
"""A claim link writes down that it was opened; that is its purpose. Who looks numbers up without
signing in is counted, and slowed down after many."""


def test_no_route_changes_anything_by_get(shop: Shop) -> None:
    number = measured_job(shop)
    visitor = shop.signed_in("owner")
    before = shop.digest()
    parts = {"number": number, "survey": "1", "reference": "1", "instrument": "1", "person": "1"}
    for route in ROUTES.values():
        if route.door == "pages" and route.name not in LOGS_ITS_OPENING:
            visitor.ask("GET", address_of(route, **parts))
    assert shop.digest() == before
