"""A shop that has issued one certificate through its pages, for tests to look at or to copy."""

import re
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from app.records.session import Database
from app.services.permissions import Actor
from tests.services.staff import PASSWORD
from tests.web.conftest import Furnished
from tests.web.shop import Shop, Visitor, close_press, issued, measured_job, open_shop, text_of

BOTH = ("before-head-bent.json", "after-corrected.json")
CERTIFICATE = "C-2026-0001"


@pytest.fixture(scope="module")
def signed(furnished: Furnished, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Shop]:
    """A shop that has issued a completion certificate through its pages."""
    folder = tmp_path_factory.mktemp("signed")
    file = folder / "shop.sqlite3"
    shutil.copyfile(furnished.file, file)
    database = Database(f"sqlite:///{file}")
    people: dict[str, Actor] = dict(furnished.people)
    shop = open_shop(database, people, folder)
    number = measured_job(shop, BOTH)
    inspector = shop.signed_in("inspector")
    form = {"kind": "completion", "password": PASSWORD, "opinion": "The stem was replaced."}
    answer = inspector.post(f"/jobs/{number}/certificates", form)
    assert answer.status_code == 303, text_of(answer.text)
    assert answer.headers["location"] == f"/certificates/{CERTIFICATE}/progress"
    issued(shop)
    yield shop
    close_press(shop)
    database.close()


def copy_of(shop: Shop, folder: Path) -> Shop:
    """The signed shop for a test that changes something."""
    file = folder / "shop.sqlite3"
    with shop.database.read():
        shutil.copyfile(str(shop.database.file), file)
        wal = Path(f"{shop.database.file}-wal")
        if wal.exists():
            shutil.copyfile(wal, f"{file}-wal")
    copied = open_shop(Database(f"sqlite:///{file}"), shop.people, folder)
    copied.clock["now"] = shop.clock["now"]
    signing = Path(str(shop.database.file)).parent / "signing"
    shutil.copytree(signing, folder / "signing")
    return copied


def pdf_of(shop: Shop) -> bytes:
    answer = shop.signed_in("desk").get(f"/certificates/{CERTIFICATE}/pdf")
    assert answer.headers["content-type"] == "application/pdf"
    return answer.content


def link_of(visitor: Visitor) -> str:
    """The path of a new link to the claim view."""
    page = visitor.post("/jobs/J-2026-0001/links", {"note": "Invented Mutual"}).text
    found = re.search(r'id="claim-link" href="http://127.0.0.1:8417([^"]+)"', page)
    assert found is not None
    return found[1]


def checked(shop: Shop, pdf: bytes) -> str:
    """What the page for outsiders says of a file."""
    files = {"document": ("c.pdf", pdf, "application/pdf")}
    return text_of(shop.visitor().post("/verify", {}, files).text)
