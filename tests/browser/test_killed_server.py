"""The server is killed between two points: the tablet keeps the second until it is back."""

import shutil
import signal
import socket
import subprocess
import time
import urllib.request
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path

import pytest
from playwright.sync_api import expect

from app.records.session import Database
from tests.browser.conftest import PATIENCE_MS, Site, Windows
from tests.browser.floor_steps import BEFORE_POINTS, fill, opened, recorded, save, taken
from tests.browser.steps import enter
from tests.cli import JIGBOOK

pytestmark = pytest.mark.browser

PATIENCE_S = PATIENCE_MS / 1000


@dataclass
class Program:
    """`jigbook serve` as a process that can be killed and started again on the same port."""

    folder: Path
    port: int
    running: list[subprocess.Popen[bytes]] = field(default_factory=list)

    @property
    def address(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    def start(self) -> None:
        command = [*JIGBOOK, "serve", "--data", str(self.folder), "--port", str(self.port)]
        quiet = subprocess.DEVNULL
        self.running.append(subprocess.Popen(command, stdout=quiet, stderr=quiet))
        end = time.monotonic() + PATIENCE_S
        while time.monotonic() < end:
            with suppress(OSError), urllib.request.urlopen(f"{self.address}/sign-in", timeout=2):
                return
            time.sleep(0.1)
        raise AssertionError("the server did not start")

    def kill(self) -> None:
        """At once, with no chance to finish anything."""
        for process in self.running:
            process.send_signal(signal.SIGKILL)
            process.wait(timeout=10)
        self.running.clear()


@pytest.fixture
def program(furnished_file: Path, tmp_path: Path) -> Iterator[Program]:
    """The whole program as a process on a copy of the records."""
    tmp_path.chmod(0o700)
    shutil.copyfile(furnished_file, tmp_path / "jigbook.sqlite3")
    with socket.socket() as found:
        found.bind(("127.0.0.1", 0))
        port = found.getsockname()[1]
    made = Program(tmp_path, port)
    made.start()
    yield made
    made.kill()


@pytest.fixture
def site(program: Program) -> Iterator[Site]:
    """The same records, seen by the test."""
    database = Database(f"sqlite:///{program.folder / 'jigbook.sqlite3'}")
    yield Site(program.address, database)
    database.close()


def test_a_server_killed_between_two_points_loses_none(
    program: Program, site: Site, windows: Windows
) -> None:
    place = opened(site)
    recorded(site, place, *BEFORE_POINTS)
    page = windows.open(width=820)
    enter(page, site, "technician", f"{place}/steps/pivot.left")
    fill(page, ("146.894", "-467.34", "-805.615"))
    save(page)
    expect(page.get_by_role("heading", level=1)).to_have_text("Pivot axis, right end")
    program.kill()
    fill(page, ("-57.057", "-873.753", "-603.431"))
    save(page)
    expect(page.locator("[data-strip]")).to_contain_text("Waiting for the network")
    assert [point[1] for point in taken(site, place)] == ["left"]
    program.start()
    expect(page.locator("[data-strip]")).to_contain_text("Saved")
    assert [point[1] for point in taken(site, place)] == ["left", "right"]
    windows.complaints.clear()
