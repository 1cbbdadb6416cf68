"""One strict rule behind page, API and command; and what an old paper's code leads to."""

import subprocess
from collections.abc import Callable, Iterator
from datetime import datetime
from pathlib import Path
from typing import Any, NamedTuple
from urllib.parse import urlsplit

import pytest
import zxingcpp
from PIL import Image

from app.cli import main
from app.cli import verify as verify_command
from app.records.session import Database
from app.services import certificates
from app.signing.authority import found_authority
from app.signing.keys import open_key
from app.wording.verification import unaltered
from tests.databases import CHEAP
from tests.services.staff import PASSWORD
from tests.signing.alterations import saved_again, signed_twice, with_annotation
from tests.signing.pages import signed_with, unsigned
from tests.web.conftest import Furnished
from tests.web.shop import Shop, close_press, measured_job, open_shop, state_of, text_of

BOTH = ("before-head-bent.json", "after-corrected.json")
PUBLIC = "https://shop.example"
EXIT_CODES = {(True, True): 0, (True, False): 3, (False, False): 2}


class Doors(NamedTuple):
    """A shop that others reach, with two certificates: the second took the first one's place."""

    shop: Shop
    folder: Path
    old: str
    new: str

    def pdf(self, number: str) -> bytes:
        with self.shop.database.read() as session:
            desk = self.shop.people["desk"]
            return certificates.certificate_file(session, desk, number).pdf

    def page(self, pdf: bytes) -> str:
        files = {"document": ("c.pdf", pdf, "application/pdf")}
        return " ".join(text_of(self.shop.visitor().post("/verify", {}, files).text).split())

    def api(self, pdf: bytes) -> dict[str, Any]:
        answer = self.shop.visitor().ask(
            "POST",
            "/api/v1/certificates/verify",
            content=pdf,
            headers={"Content-Type": "application/pdf"},
        )
        assert answer.status_code == 200, answer.text
        told: dict[str, Any] = answer.json()
        return told

    def command(self, pdf: bytes, capsys: pytest.CaptureFixture[str]) -> tuple[int, str]:
        file = self.folder / "sent.pdf"
        file.write_bytes(pdf)
        code = main(["verify", str(file), "--data", str(self.folder)])
        return code, " ".join("".join(capsys.readouterr()).split())


@pytest.fixture(scope="module")
def doors(furnished: Furnished, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Doors]:
    folder = tmp_path_factory.mktemp("doors")
    file = folder / "shop.sqlite3"
    file.write_bytes(furnished.file.read_bytes())
    database = Database(f"sqlite:///{file}")
    shop = open_shop(database, dict(furnished.people), folder, public_url=PUBLIC)
    job = measured_job(shop, BOTH)
    old = issue(shop, job)
    new = issue(shop, job, replaces=old, reason="plate corrected")
    yield Doors(shop, folder, old, new)
    close_press(shop)
    database.close()


def issue(shop: Shop, job: str, **more: Any) -> str:
    words: dict[str, Any] = {"press": state_of(shop).press, "passwords": CHEAP, **more}
    inspector, now = shop.people["inspector"], shop.clock["now"]
    view = certificates.issue(shop.database, inspector, job, "completion", PASSWORD, now, **words)
    return view.number


def with_another_byte(pdf: bytes) -> bytes:
    middle = len(pdf) // 2
    return pdf[:middle] + bytes([pdf[middle] ^ 1]) + pdf[middle + 1 :]


def of_another_shop(folder: Path, now: datetime) -> bytes:
    return signed_with(open_key(found_authority(folder, "Other", now), None, now), now, unsigned())


CHANGES: dict[str, Callable[[bytes], bytes]] = {
    "as it was given out": lambda pdf: pdf,
    "a byte appended": lambda pdf: pdf + b"\n",
    "a byte changed": with_another_byte,
    "an annotation added": with_annotation,
    "saved by another tool": saved_again,
    "cut short": lambda pdf: pdf[:-200],
    "no PDF": lambda _pdf: b"no PDF",
    "not signed": lambda _pdf: unsigned(),
}


def require_agreement(
    doors: Doors, pdf: bytes, capsys: pytest.CaptureFixture[str]
) -> dict[str, Any]:
    """What the API answers, once page and command have said the same."""
    told = doors.api(pdf)
    code, said = doors.command(pdf, capsys)
    page = doors.page(pdf)
    assert code == EXIT_CODES[told["unaltered"], told["in_force"]]
    for text in (page, said):
        assert unaltered(told["why_not"]) in text
        assert ("In force: the register" in text) == told["in_force"]
    return told


@pytest.fixture
def at_this_moment(doors: Doors, monkeypatch: pytest.MonkeyPatch) -> None:
    """The command by the shop's clock and on its records."""
    now = doors.shop.clock["now"]
    monkeypatch.setattr(verify_command, "utc_now", lambda: now)
    monkeypatch.setenv("JIGBOOK_DATABASE_URL", str(doors.shop.database.url))


@pytest.mark.usefixtures("at_this_moment")
@pytest.mark.parametrize("change", CHANGES)
def test_page_api_and_command_say_the_same_of_every_file(
    doors: Doors, change: str, capsys: pytest.CaptureFixture[str]
) -> None:
    told = require_agreement(doors, CHANGES[change](doors.pdf(doors.new)), capsys)
    assert told["unaltered"] is (change == "as it was given out")
    assert told["in_force"] is told["unaltered"]


@pytest.mark.usefixtures("at_this_moment")
def test_they_agree_on_two_signatures_and_on_another_shops_key(
    doors: Doors, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    now = doors.shop.clock["now"]
    own = open_key(doors.folder / "signing", None, now)
    for pdf, why in (
        (signed_twice(unsigned(), own), "several_signatures"),
        (of_another_shop(tmp_path, now), "not_trusted"),
    ):
        assert require_agreement(doors, pdf, capsys)["why_not"] == why


@pytest.mark.usefixtures("at_this_moment")
def test_they_agree_that_the_old_one_is_unaltered_and_not_in_force(
    doors: Doors, capsys: pytest.CaptureFixture[str]
) -> None:
    pdf = doors.pdf(doors.old)
    told = require_agreement(doors, pdf, capsys)
    assert (told["unaltered"], told["in_force"]) == (True, False)
    assert (told["entry"]["status"], told["entry"]["replaced_by"]) == ("superseded", doors.new)
    for text in (doors.page(pdf), doors.command(pdf, capsys)[1]):
        assert f"Not in force: replaced by {doors.new}" in text


def test_the_code_on_the_old_paper_leads_to_what_took_its_place_and_to_its_end(
    doors: Doors, tmp_path: Path
) -> None:
    """Printed, read by a camera, and opened, again and again as time goes on."""
    ways = {number: way_on_paper(doors.pdf(number), tmp_path) for number in (doors.old, doors.new)}
    visitor = doors.shop.visitor()
    assert f"Not in force: replaced by {doors.new}" in text_of(visitor.get(ways[doors.old]).text)
    assert "In force: the register" in text_of(visitor.get(ways[doors.new]).text)
    with doors.shop.database.write() as session:
        inspector, now = doors.shop.people["inspector"], doors.shop.clock["now"]
        certificates.withdraw(session, inspector, doors.new, "another machine", now)
    assert "Not in force: withdrawn" in text_of(visitor.get(ways[doors.new]).text)


def way_on_paper(pdf: bytes, folder: Path) -> str:
    """The path of the address in the code on the first page."""
    file, picture = folder / "c.pdf", folder / "page"
    file.write_bytes(pdf)
    command = ["pdftoppm", "-r", "150", "-gray", "-png", "-singlefile", str(file), str(picture)]
    subprocess.run(command, check=True)
    with Image.open(picture.with_suffix(".png")) as page:
        (found,) = zxingcpp.read_barcodes(page)
    address = urlsplit(found.text)
    assert f"{address.scheme}://{address.netloc}" == PUBLIC
    return address.path
