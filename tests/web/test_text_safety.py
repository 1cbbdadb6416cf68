"""What people type is text wherever it is shown: no markup, no template, no address."""

from typing import Any

import pytest

from app.schemas.visual_check import VisualCheckIn
from app.services import jobs, visual_checks
from tests.services.forms import check_in_form
from tests.web.shop import Shop, measured_job
from tests.web.test_failures import flat

HOSTILE = [
    "<script>alert(1)</script>",
    "\"'><img src=x onerror=alert(1)>",
    "{{ 7*7 }}",
    "javascript:alert(1)",
    "%(name)s {0} $x",
]
TEXT_FIELDS = [
    name
    for name, value in flat(check_in_form()).items()
    if name
    not in {
        "incident.happened_on", "incident.impact_kind", "incident.clock_direction", "rideable",
        "odometer_km", "privacy_notice_given", "machine.year", "machine.frame_number",
    }
]  # fmt: skip


def hostile_job(shop: Shop, text: str) -> str:
    """A job with the text in every field that a person can type into."""

    def filled(value: Any) -> Any:
        if isinstance(value, dict):
            return {key: filled(one) for key, one in value.items()}
        return [text] if isinstance(value, list) else text

    form = check_in_form()
    kept = {name: form[name] for name in ("rideable", "odometer_km", "privacy_notice_given")}
    changes = {key: filled(value) for key, value in form.items() if key not in kept}
    changes["machine"] |= {"year": "2021", "frame_number": form["machine"]["frame_number"]}
    changes["incident"] = {**form["incident"], "account": text}
    number = measured_job(shop, **changes)
    technician, now = shop.people["technician"], shop.clock["now"]
    with shop.database.write() as session:
        jobs.note_correction(session, technician, number, text, now)
        seen = {"item": "frame_cracks", "answer": "seen", "note": text, "place": text}
        visual_checks.answer(session, technician, number, [VisualCheckIn(**seen)], now)
    return number


@pytest.mark.parametrize("text", HOSTILE)
def test_every_field_of_a_job_is_shown_as_text(shop: Shop, text: str) -> None:
    number = hostile_job(shop, text)
    visitor = shop.signed_in("owner")
    for path in (
        "/", "/?q=alert", f"/jobs/{number}", f"/jobs/{number}/surveys/1",
        f"/jobs/{number}/sign-off", f"/jobs/{number}/visual-check", "/check-in?find=alert",
    ):  # fmt: skip
        page = visitor.get(path).text
        assert "<script>alert" not in page, path
        assert "<img src=x" not in page, path
        assert 'href="javascript' not in page.replace(" ", "").lower(), path
    shown = visitor.get(f"/jobs/{number}").text
    assert escaped(text) in shown


def escaped(text: str) -> str:
    """The text as it must stand in the page's source."""
    for sign, name in (
        ("&", "&amp;"),
        ("<", "&lt;"),
        (">", "&gt;"),
        ('"', "&#34;"),
        ("'", "&#39;"),
    ):
        text = text.replace(sign, name)
    return text


@pytest.mark.parametrize("text", HOSTILE)
def test_a_refused_form_shows_what_was_typed_as_text(shop: Shop, text: str) -> None:
    visitor = shop.signed_in("desk")
    sent = dict.fromkeys(TEXT_FIELDS, text)
    answer = visitor.post("/check-in", {**sent, "machine.year": "soon"})
    assert answer.status_code == 422
    assert "<script>alert" not in answer.text
    assert "<img src=x" not in answer.text
    for name in TEXT_FIELDS:
        assert f'id="{name}"' in answer.text
    assert answer.text.count(escaped(text)) >= len(TEXT_FIELDS)


@pytest.mark.parametrize("text", HOSTILE)
def test_addresses_are_shown_as_text_too(shop: Shop, text: str) -> None:
    visitor = shop.signed_in("owner")
    for path in ("/", "/references", "/check-in", "/sign-in"):
        answer = visitor.ask("GET", path, headers={})
        assert answer.status_code in (200, 303)
    for query in ("q", "find", "role", "next", "closed", "phase"):
        for path in ("/", "/references", "/check-in"):
            page = visitor.ask("GET", f"{path}?{query}={text.replace('%', '%25')}").text
            assert "<script>alert" not in page
            assert "<img src=x" not in page
