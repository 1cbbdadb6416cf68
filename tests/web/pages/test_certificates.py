"""Sign-off, certificate, link for the adjuster, checking: on one job, in the order of its life."""

import re
from pathlib import Path

import pytest

from app.records.scope import scoped
from app.records.tables import Shop as ShopRow
from tests.services.staff import PASSWORD
from tests.web.pages.certified import (
    BOTH,
    CERTIFICATE,
    checked,
    copy_of,
    link_of,
    pdf_of,
    signed,
)
from tests.web.shop import (
    Shop,
    close_press,
    issued,
    measured_job,
    new_job,
    text_of,
)

__all__ = ["signed"]

CORRECTION = {"text": "stem replaced", "agreed": "yes", "agreed_by": "Åse Invented"}


def test_what_stands_against_a_certificate_is_said_before_anything_is_signed(shop: Shop) -> None:
    number = new_job(shop)
    page = shop.signed_in("inspector").get(f"/jobs/{number}/sign-off").text
    assert page.count("It cannot be issued now:") == 2
    assert "Nothing can be signed before these are settled." in page
    assert 'name="password"' not in page


def test_the_sign_off_page_shows_all_that_the_signature_would_stand_for(shop: Shop) -> None:
    number = measured_job(shop, BOTH)
    technician = shop.signed_in("technician")
    technician.post(f"/jobs/{number}/correction", CORRECTION)
    technician.post(f"/jobs/{number}/visual-check", {"tap": "wheel_rims.not_checked"})
    page = shop.signed_in("inspector").get(f"/jobs/{number}/sign-off").text
    text = text_of(page)
    for shown in ("Invented Mutual", "CL/2026-77", "stem replaced", "1 not looked at"):
        assert shown in text
    limits = "Reference values and limits are not from the maker, 1 limit without a source."
    assert text.index(limits) < text.index("Your password again"), "bold on the first page too"
    assert text.index("Not checked by eye") < text.index("Your password again")
    assert text.index("Measurement 1, before") < text.index("used as before")
    assert text.index("Measurement 2, after") < text.index("used as after")


def test_a_finding_that_is_outside_can_be_reported_and_not_completed(shop: Shop) -> None:
    number = measured_job(shop)
    inspector = shop.signed_in("inspector")
    page = inspector.get(f"/jobs/{number}/sign-off").text
    assert page.count("It cannot be issued now:") == 1
    assert 'value="report" checked' in page
    form = {"kind": "completion", "password": PASSWORD}
    refused = inspector.post(f"/jobs/{number}/certificates", form)
    assert refused.status_code == 409
    assert "outside" in text_of(refused.text)


@pytest.mark.parametrize("password", ["", "not my password"])
def test_nothing_is_signed_without_the_inspectors_own_password(shop: Shop, password: str) -> None:
    number = measured_job(shop, BOTH)
    inspector = shop.signed_in("inspector")
    form = {"kind": "completion", "password": password}
    answer = inspector.post(f"/jobs/{number}/certificates", form)
    assert answer.status_code in (403, 422)
    assert '<a href="#password">' in answer.text
    assert CERTIFICATE not in inspector.get("/certificates").text


def test_the_register_and_the_job_show_the_certificate(signed: Shop) -> None:
    desk = signed.signed_in("desk")
    assert "AB-12 CD" in desk.get("/certificates").text
    for sought in ("ab12cd", "2026-0001", "Skarv", "CL/2026-77"):
        assert CERTIFICATE in desk.get(f"/certificates?q={sought}").text, sought
    for other in ("XY-99", "2026-0002", "%"):
        assert "No certificate fits" in desk.get(f"/certificates?q={other}").text, other
    page = text_of(desk.get("/jobs/J-2026-0001").text)
    assert CERTIFICATE in page
    assert "Hand the machine over" in page
    page = text_of(desk.get(f"/certificates/{CERTIFICATE}").text)
    assert "It is in force." in page
    assert "Inspector" in page


def test_a_certificate_leads_to_the_one_that_corrects_it(signed: Shop) -> None:
    inspector = signed.signed_in("inspector")
    way = f"/jobs/J-2026-0001/sign-off?replaces={CERTIFICATE}"
    assert (
        f'<a href="{way}">Correct it by a new one</a>'
        in inspector.get(f"/certificates/{CERTIFICATE}").text
    )
    page = inspector.get(way).text
    assert re.search(rf'value="{CERTIFICATE}"\s(checked|selected)', page)
    assert f"Sign-off, in place of {CERTIFICATE}" in page
    assert "not a measured result: The stem was replaced." in text_of(page)
    told = text_of(page).partition("Earlier certificates of this frame number")[2]
    assert CERTIFICATE in told.partition("Said on this job")[0]
    assert "this job" in told.partition("Said on this job")[0]
    desk = signed.signed_in("desk").get(f"/certificates/{CERTIFICATE}").text
    assert "Correct it by a new one" not in desk


def test_one_word_is_used_for_what_is_in_force(signed: Shop) -> None:
    desk = signed.signed_in("desk")
    for place in ("/certificates", "/jobs/J-2026-0001"):
        page = desk.get(place).text
        assert "<b>in force</b>" in page
        assert "<b>valid</b>" not in page


def asked_first(page: str, action: str) -> bool:
    """Whether the form of this action lies folded under what it would do."""
    before = page[: page.index(f'action="{action}"')]
    return before.rindex('<details class="ask"><summary>') > before.rfind("</details>")


def test_a_link_is_revoked_after_asking_once(signed: Shop, tmp_path: Path) -> None:
    desk = copy_of(signed, tmp_path).signed_in("desk")
    claim = link_of(desk)
    page = desk.get("/jobs/J-2026-0001/links").text
    action = "/jobs/J-2026-0001/links/1/revoke"
    assert asked_first(page, action)
    assert "The link opens nothing from then on" in text_of(page)
    assert desk.get(claim).status_code == 200
    assert desk.post(action).status_code == 303
    assert desk.get(claim).status_code == 410


def test_a_new_key_is_made_after_asking_once(signed: Shop) -> None:
    page = signed.signed_in("owner").get("/shop/key").text
    form = page[page.index('action="/shop/key/renew"') :]
    form = form[: form.index("</form>")]
    asked = form.index('<details class="ask"><summary>Make a new key</summary>')
    assert form.count("<button") == 1
    assert asked < form.index("<button")


def test_places_beside_the_register_have_nothing_between_them(signed: Shop) -> None:
    """A dot between them stood alone at the end of a line of a phone."""
    page = signed.signed_in("owner").get("/certificates").text
    ways = page[page.index('class="ways"') :]
    ways = ways[: ways.index("</span>")]
    assert ways.count("<a ") == 3
    assert "·" not in ways


def test_the_download_is_the_signed_file_under_a_plain_name(signed: Shop) -> None:
    answer = signed.signed_in("desk").get(f"/certificates/{CERTIFICATE}/pdf")
    assert answer.content.startswith(b"%PDF-")
    disposition = answer.headers["content-disposition"]
    assert disposition.startswith('attachment; filename="C-2026-0001')


def test_the_adjuster_sees_the_certificate_and_nothing_else(signed: Shop) -> None:
    claim = link_of(signed.signed_in("desk"))
    adjuster = signed.visitor()
    page = adjuster.get(claim)
    assert page.status_code == 200
    assert page.headers["cache-control"] == "no-store"
    text = text_of(page.text)
    assert CERTIFICATE in text
    assert "Fjordmark Skarv 700" in text
    assert "within the tolerances" in text
    assert "good geometry is not proof of a sound frame" in text
    assert "Not measured: swing arm and rear axle, fork, wheels" in text
    assert text.index("Not measured:") < text.index("Machine and claim")
    assert "/jobs/" not in page.text
    assert "Sign out" not in text
    pdf = adjuster.get(f"{claim}/{CERTIFICATE}/pdf")
    assert pdf.content == pdf_of(signed)
    assert 'href="/authority.pem"' in page.text
    assert b"BEGIN CERTIFICATE" in adjuster.get("/authority.pem").content


def test_a_link_is_shown_once_counted_and_revoked(signed: Shop) -> None:
    desk = signed.signed_in("desk")
    claim = link_of(desk)
    token = claim.rpartition("/")[2]
    assert token not in desk.get("/jobs/J-2026-0001/links").text
    assert token not in str(signed.digest())
    signed.visitor().get(claim)
    page = desk.get("/jobs/J-2026-0001/links").text
    assert "opened 1 time" in text_of(page)
    newest = re.search(r'action="([^"]+/revoke)"', page)
    assert newest is not None
    assert desk.post(newest[1]).status_code == 303
    gone = signed.visitor().get(claim)
    assert gone.status_code == 410
    assert "Skarv" not in gone.text
    assert "this link was withdrawn on" in text_of(gone.text).lower()
    page = text_of(desk.get("/jobs/J-2026-0001/links").text)
    assert "opened 1 time" in page
    assert "tried 1 time after its end" in page


@pytest.mark.parametrize("days", ["0", "366", "many", "1e2"])
def test_a_link_lasts_a_sensible_time(signed: Shop, days: str) -> None:
    answer = signed.signed_in("desk").post("/jobs/J-2026-0001/links", {"valid_days": days})
    assert answer.status_code == 422
    assert '<a href="#valid_days">' in answer.text


def test_an_unknown_link_tells_nothing(signed: Shop) -> None:
    for path in ("/claim/no-such-token", f"/claim/no-such-token/{CERTIFICATE}/pdf"):
        assert signed.visitor().get(path).status_code == 404


def test_a_file_is_checked_by_anybody(signed: Shop) -> None:
    text = checked(signed, pdf_of(signed))
    assert "Unaltered: the file is exactly as the shop signed it." in text
    assert "In force: the register of the shop says so." in text


def test_an_altered_file_is_told_apart(signed: Shop) -> None:
    pdf = pdf_of(signed)
    middle = len(pdf) // 3
    flipped = pdf[:middle] + bytes([pdf[middle] ^ 1]) + pdf[middle + 1 :]
    for altered in (flipped, pdf + b"\n", b"no PDF at all"):
        text = checked(signed, altered)
        assert "Unaltered" not in text
        assert "In force" not in text


def test_each_answer_carries_its_own_mark_beside_its_words(signed: Shop) -> None:
    def marks(pdf: bytes) -> list[str]:
        files = {"document": ("c.pdf", pdf, "application/pdf")}
        page = signed.visitor().post("/verify", {}, files).text
        return re.findall(r'<p class="answer (\w+)"><svg', page)

    pdf = pdf_of(signed)
    assert marks(pdf) == ["good", "good"]
    assert marks(pdf + b"\n") == ["bad"]
    assert marks(b"no PDF at all") == ["unknown"]


def test_a_number_is_looked_up_by_anybody(signed: Shop) -> None:
    visitor = signed.visitor()
    text = text_of(visitor.get(f"/verify/{CERTIFICATE}").text)
    assert "In force" in text
    assert "ZZZTEST00A1000017" not in text
    assert visitor.get("/verify/C-2026-9999").status_code == 404
    for written in ("c-2026-0001", " C 2026 0001 "):
        assert "In force" in text_of(visitor.post("/verify", {"number": written}).text)
    assert "In force" in text_of(visitor.get("/verify/c-2026-0001").text)
    by_form = visitor.post("/verify", {"number": CERTIFICATE})
    assert "In force" in text_of(by_form.text)
    unknown = visitor.post("/verify", {"number": "C-2026-9999"})
    assert unknown.status_code == 422
    assert "from the list" not in text_of(unknown.text)
    assert "compare the number with the certificate" in text_of(unknown.text).lower()
    nothing = visitor.post("/verify", {})
    assert nothing.status_code == 422
    assert "Neither a file nor a number was given" in text_of(nothing.text)
    assert "points" not in text_of(nothing.text)


def test_the_text_of_the_code_tells_whether_number_and_data_belong_together(signed: Shop) -> None:
    inspector = signed.signed_in("inspector")
    said = text_of(inspector.get(f"/certificates/{CERTIFICATE}").text)
    digest = re.findall(r"\b[0-9a-f]{64}\b", said)[-1]

    def answer(sent: str) -> str:
        form = {"number": f"{CERTIFICATE} sha256:{sent}"}
        return text_of(signed.visitor().post("/verify", form).text)

    assert "Number and data belong together" in answer(digest)
    assert "In force" in answer(digest)
    for other in ("0" * 64, digest[:-1], ""):
        assert "Number and data do not belong together" in answer(other)


def test_a_certificate_is_put_right_by_one_that_takes_its_place(
    signed: Shop, tmp_path: Path
) -> None:
    shop = copy_of(signed, tmp_path)
    inspector, old = shop.signed_in("inspector"), pdf_of(shop)
    put_the_plate_right(shop)
    require_it_waits_for_the_inspector(shop)
    page = inspector.get("/jobs/J-2026-0001/sign-off").text
    assert f'<option value="{CERTIFICATE}" selected>' in page
    form = {"kind": "completion", "password": PASSWORD, "replaces": CERTIFICATE}
    place = "/jobs/J-2026-0001/certificates"
    refused = inspector.post(place, form)
    assert refused.status_code == 422
    assert '<a href="#reason">' in refused.text
    done = inspector.post(place, {**form, "reason": "plate misread"})
    assert done.headers["location"] == "/certificates/C-2026-0002/progress"
    issued(shop)
    assert f"{CERTIFICATE} : plate misread" in text_of(
        inspector.get("/certificates/C-2026-0002").text
    )
    assert "Nothing waits for a signature." in text_of(inspector.get("/sign-off").text)
    assert "the machine can go" in text_of(shop.signed_in("desk").get("/jobs/J-2026-0001").text)
    outside = shop.visitor().get(f"/verify/{CERTIFICATE}").text
    assert '<a href="/verify/C-2026-0002">' in outside
    assert 'class="verdict within"' not in outside
    for text in (text_of(shop.visitor().get(f"/verify/{CERTIFICATE}").text), checked(shop, old)):
        assert "C-2026-0002" in text
        assert "Not in force" in text
    close_press(shop)
    shop.database.close()


def put_the_plate_right(shop: Shop) -> None:
    """By the desk, an hour after the certificate was issued."""
    shop.later(hours=1)
    desk = shop.signed_in("desk")
    page = desk.get("/jobs/J-2026-0001/machine").text
    form = dict(re.findall(r'name="(\w+)"[^>]*? value="([^"]*)"', page))
    sent = {**form, "plate": "AB 12 CE", "reason": "misread"}
    assert desk.post("/jobs/J-2026-0001/machine", sent).status_code == 303


def require_it_waits_for_the_inspector(shop: Shop) -> None:
    """Every page says so, and in what the certificate and the record differ."""
    what = "Plate: AB-12 CD on the certificate, AB 12 CE on record"
    desk, inspector = shop.signed_in("desk"), shop.signed_in("inspector")
    job = text_of(desk.get("/jobs/J-2026-0001").text)
    assert what in job
    assert "the machine can go" not in job
    assert "Next: the inspector signs" in job
    assert f"{CERTIFICATE} no longer agrees with the record" in text_of(inspector.get("/").text)
    for page in ("/sign-off", f"/certificates/{CERTIFICATE}"):
        assert what in text_of(inspector.get(page).text), page
    review = text_of(inspector.get("/jobs/J-2026-0001/sign-off").text)
    assert what in review
    assert "earlier name" not in review
    with shop.database.write() as session:
        session.scalars(scoped(session, shop.people["owner"], ShopRow)).one().name = "New Name"
    assert "earlier name" in text_of(inspector.get("/jobs/J-2026-0001/sign-off").text)


def test_a_withdrawn_certificate_says_so_to_everybody(signed: Shop, tmp_path: Path) -> None:
    shop = copy_of(signed, tmp_path)
    inspector = shop.signed_in("inspector")
    claim, pdf = link_of(inspector), pdf_of(shop)
    place = f"/certificates/{CERTIFICATE}/withdraw"
    asked = text_of(inspector.get(place).text)
    for said in ("AB-12 CD", "J-2026-0001", "This is for good"):
        assert said in asked
    sent = {"reason": "wrong frame number", "password": PASSWORD}
    assert inspector.post(place, {**sent, "reason": ""}).status_code == 422
    refused = inspector.post(place, {**sent, "password": "not my password"})
    assert refused.status_code in (403, 422)
    assert "wrong frame number</textarea>" in refused.text
    assert inspector.post(place, sent).status_code == 303
    visitor = shop.visitor()
    for text in (text_of(visitor.get(f"/verify/{CERTIFICATE}").text), checked(shop, pdf)):
        assert "Not in force: withdrawn, " in text
        assert "wrong frame number" not in text, "the reason is not for everybody"
    assert '<p class="answer unknown"><svg' in visitor.get(f"/verify/{CERTIFICATE}").text
    told = text_of(visitor.get(claim).text)
    assert "Not in force: withdrawn, " in told
    assert "wrong frame number" in told
    for page in ("/jobs/J-2026-0001", "/jobs/J-2026-0001/sign-off", "/sign-off"):
        said = text_of(inspector.get(page).text)
        assert "wrong frame number" in said
        assert "only if the measurement itself holds" in said, page
    assert "/send-back" in inspector.get("/jobs/J-2026-0001/sign-off").text
    desk = shop.signed_in("desk")
    assert "the certificate was withdrawn: wrong frame number" in text_of(desk.get("/").text)
    handed_over = {"handed_over_to": "Åse", "kept_because": "sent on", "told": "yes"}
    handed = desk.post("/jobs/J-2026-0001/hand-over", handed_over)
    assert handed.status_code == 303
    assert "the certificate was withdrawn: wrong frame number" in text_of(desk.get("/").text)
    assert "There is nothing to withdraw" in text_of(inspector.get(place).text)
    assert "Unaltered" in checked(shop, pdf)
    again = inspector.post(place, sent)
    assert again.status_code == 409
    close_press(shop)
    shop.database.close()
