"""The finding in a browser: the slider, what is folded, and the page on paper."""

import json
import re
import subprocess
from pathlib import Path

import pikepdf
import pytest
from playwright.sync_api import Page, expect

from app.services import check_in, jobs, references, surveys
from tests.browser.conftest import Site, Windows
from tests.browser.steps import begin_session, enter, follow_button, violations
from tests.databases import NOW
from tests.services.forms import check_in_form
from tests.web.shop import Shop, actors_of, measured_job, seed_text

pytestmark = pytest.mark.browser

A4_POINTS = (595, 842)
LONGEST_PX = 12_000
"""Of a machine measured all over and bent at three parts, on a telephone."""


@pytest.fixture
def shop(site: Site) -> Shop:
    people = actors_of(site.database)
    return Shop(lambda *_: None, site.database, people, {"now": NOW})  # type: ignore[arg-type]


@pytest.fixture
def whole(shop: Shop) -> str:
    """A job of a machine measured all over."""
    with shop.database.write() as session:
        person = shop.people["technician"]
        reference = references.create(session, person, seed_text("full-reference.json"), NOW)
        number = check_in.check_in(session, shop.people["desk"], check_in_form(), NOW).job_number
        jobs.fix_reference(session, person, number, reference.id, now=NOW)
        surveys.submit(session, person, number, json.loads(seed_text("full-survey.json")), NOW)
    return number


def arrow_px(page: Page) -> float:
    """How long the longest arrow of deviation is drawn."""
    lengths = page.locator(".sheet g.accent line").evaluate_all(
        "lines => lines.map(one => Math.hypot(one.x2.baseVal.value - one.x1.baseVal.value, "
        "one.y2.baseVal.value - one.y1.baseVal.value))"
    )
    return float(max(lengths))


def test_the_slider_draws_again_and_always_says_how_many_times(
    site: Site, windows: Windows, shop: Shop
) -> None:
    number = measured_job(shop)
    page = windows.open()
    enter(page, site, "desk", f"/jobs/{number}/surveys/1")
    slider = page.get_by_role("slider", name=re.compile("Deviations drawn"))
    expect(page.get_by_role("button", name="10 times")).to_be_hidden()
    expect(slider).to_have_attribute("aria-valuetext", "5 times")
    before = arrow_px(page)
    slider.focus()
    page.keyboard.press("ArrowRight")
    expect(page.locator(".times output")).to_have_text("10 times")
    expect(page.locator(".sheet")).to_contain_text("Deviations drawn 10 times.")
    assert arrow_px(page) == pytest.approx(2 * before, rel=1e-3)
    expect(page).to_have_url(re.compile(r"\?times=10$"))
    page.keyboard.press("Home")
    expect(page.locator(".sheet")).to_contain_text("Deviations drawn at true size.")
    assert violations(page) == []
    page.reload()
    expect(page.locator(".times output")).to_have_text("true size")


def test_without_the_network_the_drawing_and_its_factor_stay(
    site: Site, windows: Windows, shop: Shop
) -> None:
    number = measured_job(shop)
    page = windows.open()
    enter(page, site, "desk", f"/jobs/{number}/surveys/1")
    page.route("**/drawing?*", lambda route: route.fulfill(status=503, body="later"))
    page.get_by_role("slider").focus()
    with page.expect_response("**/drawing?*"):
        page.keyboard.press("ArrowRight")
    expect(page.locator(".times output")).to_have_text("5 times")
    expect(page.locator(".sheet")).to_contain_text("Deviations drawn 5 times.")
    assert page.get_by_role("slider").input_value() == "2"
    windows.complaints.clear()


def test_without_the_script_each_factor_is_a_button(
    site: Site, windows: Windows, shop: Shop
) -> None:
    number = measured_job(shop, ("before-head-bent.json", "after-corrected.json"))
    page = windows.open(javascript=False, width=360)
    begin_session(page, site, "desk")
    for path in ("surveys/1", "before-and-after", "before-and-after?way=behind"):
        page.goto(f"{site.address}/jobs/{number}/{path}")
        expect(page.get_by_role("slider")).to_have_count(0)
        follow_button(page, "10 times")
        expect(page.locator("output")).to_have_text("10 times")
        expect(page.locator("[data-drawn]")).to_contain_text("Deviations drawn 10 times.")
    expect(page.locator(".beside figure")).to_have_count(2)


def test_a_machine_measured_all_over_is_read_on_a_telephone(
    site: Site, windows: Windows, whole: str
) -> None:
    page = windows.open(width=360)
    enter(page, site, "desk", f"/jobs/{whole}/surveys/1")
    height, width = page.evaluate(
        "[document.documentElement.scrollHeight, document.documentElement.scrollWidth]"
    )
    assert width == 360
    assert height < LONGEST_PX
    part = page.locator("#arm")
    expect(part).not_to_have_attribute("open", "")
    part.locator("summary").click()
    expect(part.get_by_role("row", name="arm length")).to_be_visible()
    # The single views take their lines from a sheet that is not shown on a narrow screen.
    expect(page.locator(".sheet")).to_be_hidden()
    used = page.locator(".views use").first
    assert used.evaluate("one => one.getBBox().width") > 100


def test_the_finding_on_paper(site: Site, windows: Windows, whole: str, tmp_path: Path) -> None:
    page = windows.open()
    enter(page, site, "desk", f"/jobs/{whole}/surveys/1")
    file = tmp_path / "finding.pdf"
    page.pdf(path=file, prefer_css_page_size=True)
    with pikepdf.open(file) as pdf:
        assert 3 <= len(pdf.pages) <= 8
        for sheet in pdf.pages:
            assert tuple(round(float(one)) for one in sheet.mediabox[2:]) == A4_POINTS
        last = len(pdf.pages)
    told = printed(file)
    assert "not a certificate" in told
    assert "ZZZTEST00A1000017" in told
    # Folded on the screen, open on paper.
    for words in ("arm length", "seat rear, upward", "normal trail", "How the machine stands"):
        assert words in told
    assert f"{last}/{last}" in told
    for words in ("Sign out", "Deviations drawn:", "All numbers, probabilities"):
        assert words not in told


def printed(file: Path) -> str:
    """What pdftotext reads, in one line."""
    command = ["pdftotext", str(file), "-"]
    found = subprocess.run(command, capture_output=True, check=True, text=True).stdout
    return " ".join(found.split())


def test_axe_finds_nothing_where_everything_is_unfolded(
    site: Site, windows: Windows, whole: str
) -> None:
    page = windows.open(width=360)
    begin_session(page, site, "desk")
    for path in ("surveys/1", "surveys/1/numbers"):
        page.goto(f"{site.address}/jobs/{whole}/{path}")
        page.locator("details").evaluate_all("all => all.forEach(one => one.open = true)")
        assert violations(page) == []
        assert page.evaluate("document.documentElement.scrollWidth") == 360
