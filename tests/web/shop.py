"""An invented shop behind the whole app, and visitors who use it as a browser would."""

import asyncio
import html
import json
import re
import time
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import httpx
from fastapi import FastAPI
from starlette.datastructures import State
from starlette.types import ASGIApp

from app import resources
from app.main import create_app
from app.records.session import Database
from app.schemas.instrument import CalibrationIn, InstrumentIn
from app.schemas.visual_check import ITEMS, VisualCheckIn
from app.services import instruments, issuing_tasks, jobs, references, surveys, visual_checks
from app.services.check_in import check_in
from app.services.issuing_queue import IssuingQueue
from app.services.people import list_people, only_shop
from app.services.permissions import Actor, Role
from app.services.press import Press
from app.settings import Settings
from app.web.guard import Guard
from tests.databases import CHEAP, NOW
from tests.services.forms import check_in_form
from tests.services.staff import PASSWORD, start
from tests.web.once import once

ORIGIN = "http://127.0.0.1:8417"
ROLES = tuple(role.value for role in Role)
INSTRUMENT = "invented measuring arm"
"""What the survey files to try by hand call their instrument."""
TOKEN = re.compile(r'name="form_token" value="([0-9a-f]+)"')
Files = Mapping[str, tuple[str, bytes, str]]


def seed_text(name: str) -> str:
    """One of the files to try by hand."""
    return (resources.seed_data() / name).read_text()


@dataclass
class Shop:
    """The app, its records, its people, and a clock that a test can move."""

    app: ASGIApp
    database: Database
    people: dict[str, Actor]
    clock: dict[str, datetime] = field(default_factory=lambda: {"now": NOW})

    def visitor(self) -> "Visitor":
        """Somebody who is not signed in."""
        return Visitor(self.app)

    def signed_in(self, name: str) -> "Visitor":
        """A person of the shop in a browser of their own."""
        visitor = Visitor(self.app)
        answer = visitor.post("/sign-in", {"sign_in_name": name, "password": PASSWORD})
        assert answer.status_code == 303, answer.text
        return visitor

    def later(self, **span: float) -> None:
        """Let time pass."""
        self.clock["now"] += timedelta(**span)

    def digest(self) -> dict[str, list[Any]]:
        """Every row of every table, to see whether anything changed."""
        with self.database.engine.connect() as connection:
            tables = connection.exec_driver_sql(
                "SELECT name FROM sqlite_master WHERE type = 'table' ORDER BY name"
            ).scalars()
            return {
                name: [tuple(row) for row in connection.exec_driver_sql(f'SELECT * FROM "{name}"')]
                for name in tables
            }


class Visitor:
    """One browser: keeps its cookies, sends the Origin, takes the form token from the pages."""

    def __init__(self, app: ASGIApp, base: str = ORIGIN) -> None:
        self.app = app
        self.base = base
        self.cookies = httpx.Cookies()
        self._token = ""

    def ask(
        self,
        method: str,
        path: str,
        *,
        data: Mapping[str, Any] | None = None,
        files: Files | None = None,
        content: bytes | None = None,
        headers: Mapping[str, str] | None = None,
    ) -> httpx.Response:
        """One request with exactly these headers."""
        return asyncio.run(self._ask(method, path, data, files, content, headers))

    def get(self, path: str) -> httpx.Response:
        """A page; a form on it gives the token for what is sent next."""
        answer = self.ask("GET", path)
        if found := TOKEN.search(answer.text):
            self._token = found[1]
        return answer

    def post(
        self, path: str, data: Mapping[str, Any] | None = None, files: Files | None = None
    ) -> httpx.Response:
        """A form, as one of our own pages sends it."""
        sent = {"form_token": self.token(), **(data or {})}
        return self.ask("POST", path, data=sent, files=files, headers={"Origin": self.base})

    def token(self) -> str:
        """The token of this session's forms; empty for somebody who is not signed in."""
        if not self._token and self.cookies:
            self.get("/password")
        return self._token

    async def _ask(
        self,
        method: str,
        path: str,
        data: Mapping[str, Any] | None,
        files: Files | None,
        content: bytes | None,
        headers: Mapping[str, str] | None,
    ) -> httpx.Response:
        transport = httpx.ASGITransport(self.app, raise_app_exceptions=False)
        async with httpx.AsyncClient(
            transport=transport, base_url=self.base, cookies=self.cookies
        ) as client:
            answer = await client.request(
                method,
                path,
                data=dict(data) if data is not None else None,
                files=dict(files) if files else None,
                content=content,
                headers=dict(headers or {}),
            )
            self.cookies = client.cookies
            return answer


def furnish(database: Database) -> dict[str, Actor]:
    """An owner who has every role, one person for each role alone, an instrument, a reference."""
    staff = start(database)
    people = {"owner": staff.owner}
    for role in Role:
        name = "boss" if role is Role.OWNER else role.value
        people[name] = staff.add(name, role)
    with database.write() as session:
        instruments.create(
            session,
            staff.owner,
            InstrumentIn(name=INSTRUMENT, kind="measuring arm"),
            NOW,
            CalibrationIn.model_validate(
                {
                    "standard_uncertainty_mm": 0.1,
                    "offset_u_mm": 0.02,
                    "scale_u_ppm": 20.0,
                    "probe_radius_mm": 3.0,
                    "calibrated": "2026-01-10",
                    "due": "2027-01-10",
                }
            ),
        )
        references.create(session, staff.owner, seed_text("reference.json"), NOW)
    return people


def actors_of(database: Database) -> dict[str, Actor]:
    """The people of a furnished shop, by the names they sign in with."""
    with database.read() as session:
        shop_id = only_shop(session)
        everybody = Actor(shop_id, "test", frozenset(Role))
        return {
            one.sign_in_name: Actor(shop_id, one.name, one.roles, person_id=one.id)
            for one in list_people(session, everybody)
        }


def open_shop(database: Database, people: dict[str, Actor], folder: Path, **settings: Any) -> Shop:
    """The whole app on these records, with a clock of its own."""
    made = Settings(data_dir=folder, database_url=str(database.url), **settings)
    clock = {"now": NOW}
    app = create_app(made, database=database, clock=lambda: clock["now"], passwords=CHEAP)
    return Shop(app, database, people, clock)


def moved_in(shop: Shop, database: Database, folder: Path) -> Shop:
    """The same app on other records: its routes are made once, which takes a while."""
    clock = {"now": NOW}
    state = state_of(shop)
    state.settings = Settings(data_dir=folder, database_url=str(database.url))
    state.database, state.press, state.clock = database, Press(folder), lambda: clock["now"]
    state.issuing = IssuingQueue(database, state.press, state.clock)
    return Shop(shop.app, database, dict(shop.people), clock)


def state_of(shop: Shop) -> State:
    """What the app was made with."""
    assert isinstance(shop.app, Guard)
    assert isinstance(shop.app.app, FastAPI)
    return shop.app.app.state


def close_press(shop: Shop) -> None:
    """End what finishes and lays out certificates, if it was started."""
    state_of(shop).issuing.close()
    state_of(shop).press.close()


def issued(shop: Shop, patience_s: float = 60.0) -> None:
    """Wait until no certificate is being made any more: each is stored, void or waits."""
    end = time.monotonic() + patience_s
    owner = shop.people["owner"]
    while time.monotonic() < end:
        with shop.database.read() as session:
            open_tasks = [one for _, one in issuing_tasks.every(session, owner)]
        if all(task.waits_for is not None for task in open_tasks):
            return
        time.sleep(0.01)
    raise AssertionError("still being issued")


def new_job(shop: Shop, **changes: Any) -> str:
    """A machine checked in."""
    with shop.database.write() as session:
        done = check_in(session, shop.people["desk"], check_in_form(**changes), NOW)
    return done.job_number


def ready_job(shop: Shop, **changes: Any) -> str:
    """A job with reference, instrument and visual check: ready to be measured."""
    return once(shop, f"ready {changes}", lambda: _ready_job(shop, changes))


def _ready_job(shop: Shop, changes: Mapping[str, Any]) -> str:
    number, technician = new_job(shop, **changes), shop.people["technician"]
    with shop.database.write() as session:
        jobs.fix_reference(session, technician, number, 1, NOW)
        jobs.fix_instrument(session, technician, number, 1, NOW)
        checks = [VisualCheckIn.model_validate({"item": i, "answer": "not_seen"}) for i in ITEMS]
        visual_checks.answer(session, technician, number, checks, NOW)
    return number


def measured_job(
    shop: Shop, files: Sequence[str] = ("before-head-bent.json",), **changes: Any
) -> str:
    """A job with measurements from the files to try by hand."""
    what = f"measured {tuple(files)} {changes}"
    return once(shop, what, lambda: _measured_job(shop, files, changes))


def _measured_job(shop: Shop, files: Sequence[str], changes: Mapping[str, Any]) -> str:
    number = ready_job(shop, **changes)
    for name in files:
        document = json.loads(seed_text(name))
        stated = document.get("measured_at")
        measured_at = datetime.fromisoformat(stated) if stated else shop.clock["now"]
        shop.clock["now"] = max(shop.clock["now"], measured_at) + timedelta(minutes=9)
        with shop.database.write() as session:
            surveys.submit(session, shop.people["technician"], number, document, shop.clock["now"])
    return number


def text_of(page: str) -> str:
    """What a person reads on a page: no tags, entities resolved."""
    return html.unescape(re.sub(r"<[^>]*>", " ", page))
