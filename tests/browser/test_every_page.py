"""Every page that the table of routes has, in a full shop and on a shop's first day.

A new page comes in by itself as soon as a link leads to it; one that no link leads to is told.
"""

import json
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest
from jinja2 import Template
from playwright.sync_api import Browser, Page

from app import resources
from app.records.migrating import upgrade
from app.records.session import Database
from app.web.templates import environment
from tests.browser import looks
from tests.browser.conftest import PATIENCE_MS, Site, served
from tests.browser.whole_shop import (
    LOOKED_AT,
    Entry,
    fill_everything,
    first_day,
    first_machine,
    found_by_links,
)

pytestmark = pytest.mark.browser

MOST_BYTES = 100_000
"""Of a page itself; style sheets and script are fetched once and kept for a year."""
REFUSED = 422
MOST_REFUSE = 15
NO_PAGE = {
    "authority_certificate", "certificate_pdf", "certificate_bundle", "claim_pdf", "claim_data",
    "claim_bundle", "certificate_message", "claim_photo_whole", "claim_photo_thumbnail",
    "survey_document", "reference_document", "photo_whole", "photo_thumbnail", "floor_news",
    "kept_as_file",
    "progress_mark",
}  # fmt: skip
"""Routes that answer with a file, a picture, or data for the script."""


PIECES = {"pages/frame_number.html", "pages/known.html"}
"""Pieces of pages that the script asks for while somebody types."""


@dataclass
class Look:
    """Browsers inside and outside of a shop, the pages that were found, and what is wrong."""

    site: Site
    password: str
    """Of whoever looks."""
    pages: dict[str, tuple[Page, str]] = field(default_factory=dict)
    fields: dict[str, frozenset[str]] = field(default_factory=dict)
    others: set[str] = field(default_factory=set)
    filled: set[str] = field(default_factory=set)
    """Templates that the server filled in."""
    wrong: dict[str, Any] = field(default_factory=dict)

    def find(self, page: Page, starts: Iterable[str], said: str = "") -> None:
        """Follow the links from there; what was found before stays."""
        found = found_by_links(page.request, self.site.address, starts)
        known = {path for _, path in self.pages.values()}
        for key, path in found.pages.items():
            if path not in known:
                self.pages[f"{said}{key}"] = (page, path)
                self.fields[f"{said}{key}"] = found.fields[key]
        self.others |= found.others

    def note(self, key: str, what: str, met: object) -> None:
        """Keep what was met, unless nothing was."""
        if met:
            self.wrong[f"{key}: {what}"] = met


@contextmanager
def looking(chromium: Browser, folder: Path, entry: Entry) -> Iterator[Look]:
    """Serve the records, get in, and find the pages."""
    with served(folder / "shop.sqlite3", folder) as site, pytest.MonkeyPatch.context() as patch:
        look = Look(site, entry.password)
        listen_to_templates(look, patch)
        inside, outside = (window(chromium) for _ in range(2))
        if entry.tablet:
            headers = {"Origin": site.address}
            code: dict[str, str | float | bool] = {"code": entry.tablet}
            outside.request.post(f"{site.address}/enrol", form=code, headers=headers)
        inside.goto(f"{site.address}/sign-in")
        inside.get_by_label("Name").fill(entry.name)
        inside.get_by_label("Password").fill(entry.password)
        inside.get_by_role("button", name="Sign in").click()
        inside.wait_for_url(f"{site.address}/")
        look.find(inside, ("/", *entry.starts))
        look.find(outside, entry.outside)
        yield look
        for page in (inside, outside):
            page.context.close()


def listen_to_templates(look: Look, patch: pytest.MonkeyPatch) -> None:
    """Note the name of each template that the server asks for."""
    made = environment()
    get = made.get_template

    def noting(name: str, *more: Any) -> Template:
        look.filled.add(name)
        return get(name, *more)

    patch.setattr(made, "get_template", noting)


def window(chromium: Browser) -> Page:
    """A browser's window with cookies of its own."""
    context = chromium.new_context()
    context.set_default_timeout(PATIENCE_MS)
    looks.bring_along(context)
    return context.new_page()


def records_in(folder: Path) -> Database:
    """Empty records that are ready to be used."""
    url = f"sqlite:///{folder / 'shop.sqlite3'}"
    upgrade(url)
    return Database(url)


@pytest.fixture(scope="module")
def full(tmp_path_factory: pytest.TempPathFactory, chromium: Browser) -> Iterator[Look]:
    """A shop with something in every drawer."""
    folder = tmp_path_factory.mktemp("full")
    database = records_in(folder)
    entry = fill_everything(database, folder)
    database.close()
    with looking(chromium, folder, entry) as look:
        yield look


@pytest.fixture(scope="module")
def empty(tmp_path_factory: pytest.TempPathFactory, chromium: Browser) -> Iterator[Look]:
    """A shop on its first day, and its first machine."""
    folder = tmp_path_factory.mktemp("empty")
    database = records_in(folder)
    with looking(chromium, folder, first_day(database)) as look:
        job = first_machine(look.site.database)
        inside, _ = look.pages["today"]
        look.find(inside, (job,), "first machine, ")
        yield look
    database.close()


def test_a_link_leads_to_every_page(full: Look) -> None:
    reached = {key.partition(" ")[0] for key in full.pages} | full.others
    pages = {route.name for route in LOOKED_AT}
    assert pages - reached - NO_PAGE == set()
    assert pages >= NO_PAGE
    assert {key.partition(" ")[0] for key in full.pages} & NO_PAGE == set()


def test_no_page_of_a_full_shop_keeps_anybody_out(full: Look) -> None:
    for key, (page, path) in full.pages.items():
        look_at(full, key, page, path)
    assert full.wrong == {}, json.dumps(full.wrong, indent=1)


def test_no_page_of_an_empty_shop_keeps_anybody_out(empty: Look) -> None:
    assert len(empty.pages) > 20
    for key, (page, path) in empty.pages.items():
        look_at(empty, key, page, path)
    assert empty.wrong == {}, json.dumps(empty.wrong, indent=1)


def test_no_page_behind_a_button_keeps_anybody_out(full: Look) -> None:
    """Pages that no address leads to: only sending a form does."""
    inside, _ = full.pages["today"]
    for path, fields, button in (
        ("/people", {"sign_in_name": "newcomer", "name": "Nils Invented"}, "Add this person"),
        ("/tablets", {"tablet_name": "lift 2"}, "Make a code for it"),
        ("/shop/tokens", {"name": "arm 3", "password": full.password}, "Make this token"),
    ):
        by_day(inside)
        inside.goto(full.site.address + path)
        for name, text in fields.items():
            inside.locator(f"main [name={name}]").fill(text)
        for tick in inside.locator("main [name^=role]").all()[:1]:
            tick.check()
        with inside.expect_navigation() as going:
            inside.get_by_role("button", name=button).click()
        assert going.value is not None
        assert going.value.status == 200, path
        look_over(full, f"sent at {path}", inside)
    by_day(inside)
    inside.goto(f"{full.site.address}/no-such-page")
    look_over(full, "no such page", inside)
    assert full.wrong == {}, json.dumps(full.wrong, indent=1)
    every = {f"pages/{path.name}" for path in (resources.templates() / "pages").iterdir()}
    assert every >= PIECES
    assert every - full.filled - PIECES == set(), "pages that nobody looked at"


def test_no_refused_form_keeps_anybody_out(full: Look) -> None:
    """Not every form can be filled in wrongly; those that can say what is wrong, and where."""
    known = {frozenset[str]()}
    refused = []
    for key, (page, path) in full.pages.items():
        if full.fields[key] in known:
            continue
        known.add(full.fields[key])
        page.set_viewport_size({"width": 320, "height": 900})
        page.emulate_media(color_scheme="light", forced_colors="none")
        page.goto(full.site.address + path)
        if looks.can_be_filled_in(page) and looks.sent_badly(page) == REFUSED:
            look_at_refusal(full, key, page)
            refused.append(key)
    assert full.wrong == {}, json.dumps(full.wrong, indent=1)
    assert len(refused) > MOST_REFUSE, refused


def look_at_refusal(look: Look, key: str, page: Page) -> None:
    """The page of a form that was sent wrongly, on a telephone, by day and by night."""
    looks.load(page)
    looks.unfold(page)
    look.note(key, "refused, title", [] if page.title().startswith("Error:") else page.title())
    look.note(key, "refused, axe", looks.violations(page))
    look.note(key, "refused, sideways", looks.sideways(page))
    look.note(key, "refused, dead ends", looks.dead_ends(page))
    page.emulate_media(color_scheme="dark")
    look.note(key, "refused, axe by night", looks.violations(page, again=True))


def look_at(look: Look, key: str, page: Page, path: str) -> None:
    """One page that has an address."""
    by_day(page)
    answer = page.goto(look.site.address + path)
    assert answer is not None
    assert answer.status == 200, path
    look.note(key, "bytes", max(0, len(answer.body()) - MOST_BYTES))
    look_over(look, key, page)


def by_day(page: Page) -> None:
    """As on a desk."""
    page.set_viewport_size({"width": 1280, "height": 900})
    page.emulate_media(color_scheme="light", forced_colors="none")


def look_over(look: Look, key: str, page: Page) -> None:
    """By day on a desk, on a tablet, by night on a telephone, in forced colours."""
    looks.load(page)
    looks.unfold(page)
    look.note(key, "axe by day", looks.violations(page))
    look.note(key, "faint by day", looks.faint_readings(page))
    for width in (768, 320):
        page.set_viewport_size({"width": width, "height": 900})
        look.note(key, f"sideways at {width}", looks.sideways(page))
        look.note(key, f"small targets at {width}", looks.small_targets(page))
    page.emulate_media(color_scheme="dark")
    look.note(key, "axe by night", looks.violations(page, again=True))
    look.note(key, "faint by night", looks.faint_readings(page))
    page.emulate_media(forced_colors="active")
    look.note(key, "forced colours", looks.lost_in_forced_colours(page))
