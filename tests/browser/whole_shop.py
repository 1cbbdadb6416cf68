"""A shop with something in every drawer and a shop on its first day, and the way to each page.

Addresses are found as people find them: by following links. Of every route that the table of
routes has, the fullest page counts.
"""

import json
import re
from collections import deque
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import UTC, datetime
from html import unescape
from pathlib import Path

from playwright.sync_api import APIRequestContext
from sqlalchemy.orm import Session

from app.demonstration.shop import fill
from app.records.scope import scoped
from app.records.session import Database
from app.records.tables import Job
from app.schemas.note import NoteIn
from app.schemas.visual_check import ITEMS, VisualCheckIn
from app.services import (
    drafts,
    floor,
    insurer_links,
    insurers,
    issuing,
    issuing_tasks,
    jobs,
    notes,
    people,
    photo_sharing,
    photos,
    pins,
    references,
    surveys,
    tablets,
    tokens,
    visual_checks,
)
from app.services.check_in import check_in
from app.services.people import only_shop
from app.services.permissions import Actor, Role
from app.services.press import Press
from app.web.routes import ROUTES, Route
from tests.databases import CHEAP
from tests.services.forms import check_in_form
from tests.services.pictures import prepared
from tests.services.staff import PASSWORD, start
from tests.web.shop import seed_text

MOST_OF_ONE_ROUTE = 4
LINK = re.compile(r'(?:href|action|src|data-[a-z]+)="(/[^"#]*)')
FIELD = re.compile(r'<(?:input|select|textarea)[^>]*? name="([^"]+)"')
HIDDEN = {"form_token", "request_key", "seen", "point", "live", "scope"}
EVERYTHING = frozenset(Role)


@dataclass(frozen=True)
class Entry:
    """How to get in as somebody who may do everything, and where a link for outsiders leads."""

    name: str
    password: str
    starts: tuple[str, ...] = ()
    """Where links begin besides the first page."""
    outside: tuple[str, ...] = ("/sign-in", "/at-work", "/enrol")
    """Where they begin for those who are not signed in."""
    tablet: str = ""
    """The code with which this browser becomes a tablet of the shop."""


@dataclass
class Found:
    """The fullest page of each route, and of each kind of step."""

    pages: dict[str, str] = field(default_factory=dict)
    """Address by route, or by route and kind."""
    sizes: dict[str, int] = field(default_factory=dict)
    fields: dict[str, frozenset[str]] = field(default_factory=dict)
    """What its forms ask for."""
    others: set[str] = field(default_factory=set)
    """Routes that answered with something else than a page."""

    def add(self, key: str, path: str, text: str) -> None:
        """Keep the page if it is the fullest so far."""
        if len(text) > self.sizes.get(key, -1):
            self.pages[key], self.sizes[key] = path, len(text)
            self.fields[key] = frozenset(FIELD.findall(text)) - HIDDEN


def fill_everything(database: Database, folder: Path) -> Entry:
    """The demonstration, and what its stories leave out."""
    now = datetime.now(UTC)
    # The browser's driver keeps an event loop running in this process, and signing wants its own.
    made = fill(database, folder, now, passwords=CHEAP, press=Press(folder))
    (access,) = [one for one in made.people if one.role == "owner"]
    actor = who_may_do_everything(database, access.name, now)
    assert made.claim_job is not None
    with database.write() as session:
        for size in (500, 80):
            added = photos.add(
                session, actor, made.claim_job, prepared(size), "zone.tank", "dent", now
            )
        photos.take_out(session, actor, made.claim_job, added.id, "blurred", now)
        photo_sharing.share(session, actor, made.claim_job, added.id - 1, now)
        (insurer,) = insurers.find(session, actor, "Mutual")
        of_insurer = insurer_links.create_link(
            session, actor, insurer.id, now, note="claims office (invented)"
        ).token
    measure_everything(database, actor, now)
    begin_three(database, actor, now)
    leave_unfinished(database, folder, actor, access.password, now)
    with database.read() as session:
        numbers = [one.number for one in session.scalars(scoped(session, actor, Job))]
    starts = tuple(f"/jobs/{number}" for number in reversed(numbers))
    with database.write() as session:
        tablet = tablets.add(session, actor, "tablet by the bench", now)
        for name, days in (("measuring arm, lift 2", 365), ("arm that was sold", None)):
            lasts = tokens.lasting(days)
            tokens.create_token(session, actor, name, Role.TECHNICIAN, now, lasts)
        tokens.revoke_token(session, actor, "arm that was sold", now)
    pins.set_pin(database, actor, access.password, "481627", now, CHEAP)
    outside = (*Entry.outside, f"/claim/{made.claim_token}", f"/claim/{of_insurer}")
    return Entry(access.sign_in_name, access.password, starts, outside, tablet.code)


def first_day(database: Database) -> Entry:
    """A shop that nobody has used yet, and its owner."""
    start(database)
    return Entry("owner", PASSWORD)


def first_machine(database: Database) -> str:
    """The first machine that comes in, of which little is known; the way to its page."""
    form = {
        "customer": {"name": "Åse Invented"},
        "machine": {"make": "Fjordmark", "model": "Skarv 700", "frame_number": "ZZZ"},
        "incident": {"impact_kind": "unknown"},
        "rideable": "no",
    }
    with database.write() as session:
        owner = Actor(only_shop(session), "Owner", EVERYTHING, person_id=1)
        return f"/jobs/{check_in(session, owner, form, datetime.now(UTC)).job_number}"


def begin_three(database: Database, actor: Actor, now: datetime) -> None:
    """Machines whose reference, whose instrument is to be chosen, and one that waits to be signed
    for."""
    numbers = []
    with database.write() as session:
        for serial in "123":
            frame = f"ZZZTEST00A100002{serial}"
            machine = {"make": "Fjordmark", "model": "Skarv 700", "frame_number": frame}
            form = check_in_form(machine=machine)
            numbers.append(check_in(session, actor, form, now).job_number)
        wanted = references.create(session, actor, seed_text("reference.json"), now)
        for number in numbers[1:]:
            jobs.fix_reference(session, actor, number, wanted.id, now)
        look_over(session, actor, numbers[2], "not_seen", now)
    survey = json.loads(seed_text("after-corrected.json"))
    with database.write() as session:
        jobs.fix_instrument(session, actor, numbers[2], 1, now)
        surveys.submit(session, actor, numbers[2], survey, now)


def leave_unfinished(
    database: Database, folder: Path, actor: Actor, password: str, now: datetime
) -> None:
    """A report that was signed for and waits for the password of the signing key."""
    form = check_in_form(machine={"make": "Fjordmark", "model": "Skarv", "frame_number": "ZZZ9"})
    with database.write() as session:
        number = check_in(session, actor, form, now).job_number
        jobs.fix_reference(session, actor, number, 1, now)
        jobs.fix_instrument(session, actor, number, 1, now)
        surveys.submit(session, actor, number, json.loads(seed_text("before-head-bent.json")), now)
    press = Press(folder, own_process=False)
    signed = issuing.sign_off(
        database, actor, number, "report", password, now, press=press, passwords=CHEAP
    )
    with database.write() as session:
        task = issuing_tasks.task_of(session, actor, signed.view.number)
        assert task is not None
        issuing_tasks.wait_for(task, "key", "signing_password_needed")


def look_over(session: Session, actor: Actor, number: str, first: str, now: datetime) -> None:
    """The visual check, with this answer to its first item and nothing seen of the others."""
    answers = zip(ITEMS, (first, *["not_seen"] * len(ITEMS)), strict=False)
    looked = [
        VisualCheckIn.model_validate({"item": item, "answer": answer, "note": "left spar"})
        for item, answer in answers
    ]
    visual_checks.answer(session, actor, number, looked, now)


def who_may_do_everything(database: Database, name: str, now: datetime) -> Actor:
    """The person of this name, given every role."""
    with database.write() as session:
        everybody = Actor(only_shop(session), "test", EVERYTHING)
        (found,) = [one for one in people.list_people(session, everybody) if one.name == name]
        people.set_roles(session, everybody, found.id, EVERYTHING, now)
    return Actor(everybody.shop_id, name, EVERYTHING, person_id=found.id)


def measure_everything(database: Database, actor: Actor, now: datetime) -> None:
    """A machine measured in every feature, cracked, to be measured again: once with an implausible
    point, and once paused overnight."""
    heading = {"by": actor.name, "measured_at": now.isoformat()}
    with database.write() as session:
        wanted = references.create(session, actor, seed_text("full-reference.json"), now)
        number = check_in(session, actor, check_in_form(), now).job_number
        jobs.fix_reference(session, actor, number, wanted.id, now)
        jobs.fix_instrument(session, actor, number, 1, now)
        look_over(session, actor, number, "seen", now)
    survey = json.loads(seed_text("full-survey.json"))
    with database.write() as session:
        surveys.submit(session, actor, number, survey, now)
        notes.add(session, actor, number, NoteIn(words="May it be cut?", call="adjuster"), now)
        wrong = drafts.open_draft(session, actor, number, "during", now, heading).id
        paused = drafts.open_draft(session, actor, number, "after", now, heading).id
        for draft in (wrong, paused):
            points = [{"x": 1.0, "y": 2.0, "z": 3.0}]
            floor.take(session, actor, number, draft, "pivot.left", points, None, now)
        points = [{"x": 4000.0, "y": 2.0, "z": 9003.0}]
        floor.take(session, actor, number, wrong, "pivot.right", points, None, now)
        floor.pause(session, actor, number, paused, None, now)


def found_by_links(asked: APIRequestContext, address: str, starts: Iterable[str]) -> Found:
    """Follow the links of every page, from page to page, each route a few times.

    asked: with the cookies of whoever looks.
    """
    begun = set(starts)
    found, waiting, known = Found(), deque(starts), set(starts)
    opened: dict[str, int] = {}
    while waiting:
        path = waiting.popleft()
        key = key_of(path)
        often = opened.get(key or "", 0) >= MOST_OF_ONE_ROUTE and path not in begun
        if key is None or often:
            continue
        opened[key] = opened.get(key, 0) + 1
        answer = asked.get(address + path, max_redirects=0)
        if not answer.headers.get("content-type", "").startswith("text/html"):
            found.others.add(key)
            opened[key] = MOST_OF_ONE_ROUTE
            continue
        assert answer.status in (200, 303), f"{path}: {answer.status}"
        text = answer.text()
        if answer.status == 200 and is_whole(text):
            found.add(page_key(key, text), path, text)
        fresh = [unescape(one) for one in LINK.findall(text) if unescape(one) not in known]
        known.update(fresh)
        waiting.extend(fresh)
    return found


def is_whole(text: str) -> bool:
    """A page, and not the piece of one that a script asks for."""
    return "<!doctype html>" in text.lower()


def key_of(path: str) -> str | None:
    """The name of the page's route; of a step with its kind."""
    bare = path.partition("?")[0]
    for route, pattern in PATTERNS:
        if match := pattern.fullmatch(bare):
            step = match.groupdict().get("step", "").removeprefix("return.")
            return f"{route.name} {step.partition('.')[0]}" if step else route.name
    return None


def page_key(key: str, text: str) -> str:
    """The same; of steps, those that ask for the same things on the same drawings are one."""
    route, _, step = key.partition(" ")
    if not step:
        return key
    return " ".join([route, *sorted(set(FIELD.findall(text)) - HIDDEN)])


def pattern_of(route: Route) -> re.Pattern[str]:
    """What the addresses of a route look like."""
    return re.compile(re.sub(r"\{(\w+)\}", r"(?P<\1>[^/]+)", route.path))


LOOKED_AT = [one for one in ROUTES.values() if (one.method, one.door) == ("GET", "pages")]
PATTERNS = sorted(
    ((one, pattern_of(one)) for one in LOOKED_AT), key=lambda pair: pair[0].path.count("{")
)
"""Fixed addresses first: `new` is no number."""
