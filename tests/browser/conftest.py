"""A real server on a free port, and Debian's chromium before it."""

import os
import shutil
import socket
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import pytest
import uvicorn
from fastapi import FastAPI
from playwright.sync_api import (
    Browser,
    BrowserContext,
    ConsoleMessage,
    Page,
    expect,
    sync_playwright,
)

from app.main import create_app
from app.records.migrating import upgrade
from app.records.session import Database
from app.settings import Settings
from app.web.guard import Guard
from tests.databases import CHEAP, give_back, open_at
from tests.web.shop import furnish

CHROMIUM = os.environ.get("CHROMIUM", "/usr/bin/chromium")
SWITCHED_OFF = (
    # As Playwright has it, whose own list this one takes the place of.
    "AvoidCorsURLLoaderRestartOnRedirect",
    "AvoidUnnecessaryBeforeUnloadCheckSync",
    "DestroyProfileOnBrowserClose",
    "HttpsFirstBalancedModeAutoEnable",
    "HttpsUpgrades",
    "MediaRouter",
    "NetworkTimeServiceQuerying",
    "OptimizationHints",
    "PaintHolding",
    "PreconnectToSearch",
    "ThirdPartyStoragePartitioning",
    # Two pages of the browser's own, made for every window, that cost as much as a test in it.
    "WebUIOmniboxAimPopup",
    "WebUIOmniboxFullPopup",
    "WebUIOmniboxPopup",
    # A process in stock for a page that nobody opens.
    "SpareRendererForSitePerProcess",
)
FLAGS = [
    f"--disable-features={','.join(SWITCHED_OFF)}",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    # A name that is not loopback: how browsers treat plain http on the shop's own network.
    "--host-resolver-rules=MAP *.test 127.0.0.1",
]
PATIENCE_MS = 90_000
"""Nothing waits that long but on a machine that has a lot else to do."""

_free: list[FastAPI] = []
"""Of servers that have stopped: making all routes takes longer than a page."""


@dataclass(frozen=True)
class Site:
    """A running shop."""

    address: str
    database: Database

    @property
    def on_the_network(self) -> str:
        """The same server under a name that browsers do not take for their own machine."""
        return self.address.replace("127.0.0.1", "shop.test")


@pytest.fixture(scope="session")
def furnished_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Records with people, an instrument and a reference, made once."""
    file = tmp_path_factory.mktemp("furnished") / "shop.sqlite3"
    upgrade(f"sqlite:///{file}")
    database = Database(f"sqlite:///{file}")
    furnish(database)
    database.close()
    return file


@pytest.fixture
def site(furnished_file: Path, tmp_path: Path) -> Iterator[Site]:
    """The whole program behind a real socket, with today's clock."""
    file = tmp_path / "shop.sqlite3"
    shutil.copyfile(furnished_file, file)
    with served(file, tmp_path) as running:
        yield running


@contextmanager
def served(file: Path, folder: Path) -> Iterator[Site]:
    """These records behind a real socket; the server stops at the end."""
    with socket.socket() as opened:
        opened.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
        opened.bind(("127.0.0.1", 0))
        settings = Settings(
            data_dir=folder,
            database_url=f"sqlite:///{file}",
            port=opened.getsockname()[1],
            plain_http_on_lan=True,
            further_hosts=("shop.test",),
        )
        database = open_at(settings.database_url)
        app = app_on(settings, database)
        server = uvicorn.Server(uvicorn.Config(app, log_level="error", ws="none"))
        thread = threading.Thread(target=server.run, kwargs={"sockets": [opened]}, daemon=True)
        thread.start()
        while not server.started:
            time.sleep(0.01)
        yield Site(settings.address, database)
        server.should_exit = True
        thread.join(timeout=60)
        assert not thread.is_alive()
        give_back(database)
        _free.append(routes_of(app))


def app_on(settings: Settings, database: Database) -> Guard:
    """The whole program on these records; its routes are those of a server that has stopped."""
    made = create_app(settings, database=database, passwords=CHEAP)
    assert isinstance(made, Guard)
    if _free:
        routes = _free.pop()
        routes.state = routes_of(made).state
        made.app = routes
    return made


def routes_of(app: Guard) -> FastAPI:
    """What stands behind the guard."""
    assert isinstance(app.app, FastAPI)
    return app.app


@pytest.fixture(scope="module")
def chromium() -> Iterator[Browser]:
    """One browser for all tests of a file; each opens windows of its own.

    Not for longer: its driver keeps an event loop running in this process, and the tests of the
    pages, which may come next here, start their own.
    """
    expect.set_options(timeout=PATIENCE_MS)
    assert Path(CHROMIUM).exists(), f"{CHROMIUM} is needed: install Debian's package chromium"
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        yield browser
        browser.close()


@dataclass
class Windows:
    """Opens windows, each with cookies of its own, and gathers what their consoles complain of."""

    browser: Browser
    complaints: list[str]
    opened: list[BrowserContext]

    def open(self, *, javascript: bool = True, dark: bool = False, width: int = 1280) -> Page:
        """A fresh window, as another browser would be."""
        context = self.browser.new_context(
            java_script_enabled=javascript,
            color_scheme="dark" if dark else "light",
            viewport={"width": width, "height": 900},
            accept_downloads=True,
        )
        context.set_default_timeout(PATIENCE_MS)
        self.opened.append(context)
        page = context.new_page()
        page.on("console", self.listen)
        page.on("pageerror", lambda error: self.complaints.append(str(error)))
        return page

    def listen(self, message: ConsoleMessage) -> None:
        """Keep what a page complains of; an answer that refuses is told there too, rightly."""
        refusal = "the server responded with a status of 4" in message.text
        if message.type in ("error", "warning") and not refusal:
            self.complaints.append(message.text)


@pytest.fixture
def windows(chromium: Browser) -> Iterator[Windows]:
    """Windows that are closed at the end; nothing may have been complained of."""
    made = Windows(chromium, [], [])
    yield made
    for context in made.opened:
        context.close()
    assert made.complaints == []
