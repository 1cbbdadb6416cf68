"""Taking a measurement step by step: readings for each step from a file to try by hand."""

import json
import re
from collections.abc import Mapping
from typing import Any

from playwright.sync_api import Page, expect

from app import resources
from app.services import drafts, floor
from app.services.draft_views import DraftView
from app.services.permissions import Actor
from tests.browser.conftest import Site
from tests.browser.steps import wait_until
from tests.databases import NOW
from tests.web.shop import Shop, actors_of, ready_job

STATION_OF = {"left": "5", "half_left": "4", "ahead": "3", "half_right": "2", "right": "1"}
"""The file's own stations by those of the steps."""
FILE = "before-head-bent.json"


def people_of(site: Site) -> dict[str, Actor]:
    return actors_of(site.database)


def opened(site: Site) -> str:
    """A job that is ready to be measured, with a measurement just opened; the way to its page."""
    people = people_of(site)
    shop = Shop(lambda *_: None, site.database, people, {"now": NOW})  # type: ignore[arg-type]
    number = ready_job(shop)
    with site.database.write() as session:
        made = drafts.open_draft(session, people["technician"], number, "before", NOW, HEADING)
    return f"/jobs/{number}/drafts/{made.id}"


HEADING: Mapping[str, object] = {"by": "Technician", "measured_at": NOW.isoformat()}


def recorded(site: Site, place: str, *steps: str) -> None:
    """Steps without points done elsewhere, so that a test can begin at the points."""
    _, _, number, _, draft = place.split("/")
    with site.database.write() as session:
        for step in steps:
            floor.record(
                session, people_of(site)["technician"], number, int(draft), step, {}, step, NOW
            )


def stored(site: Site, place: str, step: str) -> None:
    """A step's readings taken elsewhere, before a test begins."""
    _, _, number, _, draft = place.split("/")
    sent = [
        {axis: float(text) for axis, text in zip("xyz", reading, strict=True)}
        for reading in readings(step)
    ]
    with site.database.write() as session:
        person = people_of(site)["technician"]
        floor.take(session, person, number, int(draft), step, sent, step, NOW)


BEFORE_POINTS = ("cautions", "play", "mounting", "temperature", "rig")


def on_record(site: Site, place: str) -> DraftView:
    """The draft as the records have it."""
    _, _, number, _, draft = place.split("/")
    with site.database.read() as session:
        return drafts.read(session, people_of(site)["technician"], number, int(draft))


def taken(site: Site, place: str) -> list[tuple[object, ...]]:
    """Feature, label, station and X of every point that stands, in order."""
    names = ("feature", "label", "station", "x")
    return [tuple(p.sent.get(n) for n in names) for p in on_record(site, place).standing]


def readings(step: str) -> list[tuple[str, str, str]]:
    """X, Y and Z for each point of a step, as people type them."""
    document = json.loads((resources.seed_data() / FILE).read_text())
    kind, _, label = step.removeprefix("return.").partition(".")
    again = step.startswith("return.")
    if kind == "station":
        name = "return" if again else STATION_OF[label]
        found = [p for p in document["points"] if is_of(p, "steer_target", None, name)]
    else:
        station = "return" if again else None
        found = [p for p in document["points"] if is_of(p, kind, label or None, station)]
    return [tuple(f"{p[axis]:g}" for axis in "xyz") for p in found]  # type: ignore[misc]


def is_of(point: Mapping[str, Any], feature: str, label: str | None, station: str | None) -> bool:
    """Whether a point of the file belongs there."""
    return (
        point["feature"] == feature
        and label in (None, point.get("label"))
        and point.get("station") == station
    )


def step_of(page: Page) -> str:
    """The step that the page shows; empty on another page."""
    return step_in(page.url)


def step_in(url: str) -> str:
    """The step of this address."""
    return url.partition("/steps/")[2].partition("?")[0]


def fill(page: Page, reading: tuple[str, str, str]) -> None:
    """Type a reading."""
    for axis, text in zip("XYZ", reading, strict=True):
        page.get_by_label(f"{axis}, mm", exact=True).fill(text)


def sent(page: Page) -> None:
    """Wait until nothing waits in the browser any more, on whatever page it is by then."""
    wait_until(
        page, "!Object.keys(localStorage).some((name) => name.startsWith('jigbook.unsent.'))"
    )


def save(page: Page) -> None:
    """Press the large button."""
    page.get_by_role("button", name=re.compile("Save (this|one more) point")).click()


def take(page: Page, step: str) -> None:
    """Take all points of the step that the page shows, and arrive at the next one."""
    for reading in readings(step):
        page.wait_for_url(f"**/steps/{step}*")
        expect(page.get_by_label("X, mm", exact=True)).to_have_value("")
        fill(page, reading)
        save(page)
        expect(page.locator("[data-big]")).to_contain_text(f"X {reading[0]}")
    page.wait_for_url(lambda url: step_in(url) != step)
