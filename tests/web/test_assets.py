"""Two scripts, one for every page: small files, each for itself, served as one."""

import re
from pathlib import Path

import pytest

from app import resources
from app.web.assets import SCRIPTS, asset, assets, script
from tests.web.shop import Shop

FILES = sorted((resources.static() / "script").rglob("*.js"))
MOST_BYTES = 25_000
MOST_BYTES_OF_THE_DESK = 5_000
MOST_PACKED = 30_000


def without_comments(text: str) -> str:
    """The code alone, lines of comments left out."""
    return re.sub(r"^\s*//.*\n", "", text, flags=re.MULTILINE).strip()


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.name)
def test_each_file_keeps_its_names_to_itself_and_is_strict(file: Path) -> None:
    code = without_comments(file.read_text())
    assert code.startswith('(() => {\n  "use strict";\n')
    assert code.endswith("\n})();")
    assert re.search(r"^\S", code.split("\n", 1)[1].rpartition("\n")[0], re.MULTILINE) is None


@pytest.mark.parametrize("name", SCRIPTS)
def test_a_script_is_all_files_of_its_folder_in_the_order_of_their_names(name: str) -> None:
    files = sorted((resources.static() / SCRIPTS[name]).glob("*.js"))
    assert len(files) >= 2
    assert script(name).decode() == "\n".join(file.read_text() for file in files)
    assert assets()[name].content == script(name)


def test_every_file_is_part_of_one_script() -> None:
    served = [script(name).decode() for name in SCRIPTS]
    assert [sum(file.read_text() in one for one in served) for file in FILES] == [1] * len(FILES)


def test_the_scripts_are_small() -> None:
    assert len(script("app.js")) < MOST_BYTES
    assert len(script("desk.js")) < MOST_BYTES_OF_THE_DESK


@pytest.mark.parametrize("name", SCRIPTS)
def test_a_script_uses_nothing_that_plain_http_does_not_have(name: str) -> None:
    secure_only = (
        "serviceWorker",
        "randomUUID",
        "crypto.subtle",
        "wakeLock",
        "clipboard",
        "caches.",
        "navigator.locks",
        "navigator.storage",
    )
    code = script(name).decode()
    assert [one for one in secure_only if one in code] == []


@pytest.mark.parametrize("name", SCRIPTS)
def test_a_script_is_kept_for_a_year_under_its_digest(shop: Shop, name: str) -> None:
    answer = shop.visitor().get(asset(name))
    assert answer.status_code == 200
    assert answer.headers["content-type"] == "text/javascript; charset=utf-8"
    assert "immutable" in answer.headers["cache-control"]
    assert answer.content == script(name)


@pytest.mark.parametrize(
    ("accepted", "packed"),
    [
        ("gzip, deflate, br", True),
        ("br;q=1.0, gzip;q=0.5", True),
        ("GZIP", True),
        ("gzip;q=0", False),
        ("gzip; q=0.0", False),
        ("identity", False),
        ("", False),
    ],
)
def test_a_style_sheet_comes_packed_to_whoever_takes_it(
    shop: Shop, accepted: str, packed: bool
) -> None:
    answer = shop.visitor().ask("GET", asset("app.css"), headers={"Accept-Encoding": accepted})
    assert answer.content == assets()["app.css"].content
    assert answer.headers.get("content-encoding") == ("gzip" if packed else None)
    sent = int(answer.headers["content-length"])
    assert sent == len(assets()["app.css"].packed if packed else answer.content)
    assert answer.headers["vary"] == "Accept-Encoding"


def test_what_every_page_needs_is_small_when_packed() -> None:
    assert sum(len(one.packed) for one in assets().values()) < MOST_PACKED


def test_the_script_is_asked_for_again_under_its_plain_name(shop: Shop) -> None:
    visitor = shop.visitor()
    first = visitor.get("/static/app.js")
    assert (first.status_code, first.content) == (200, script("app.js"))
    assert first.headers["cache-control"] == "public, no-cache"
    mark = {"If-None-Match": first.headers["etag"]}
    again = visitor.ask("GET", "/static/app.js", headers=mark)
    assert (again.status_code, again.content) == (304, b"")
    other = visitor.ask("GET", "/static/app.js", headers={"If-None-Match": '"0123"'})
    assert other.status_code == 200


def scripts_of(page: str) -> list[str]:
    """The scripts that a page loads, as it names them."""
    return re.findall(r"<script[^>]*>", page)


def test_pages_load_one_script_and_the_desks_forms_two(shop: Shop) -> None:
    own, of_the_desk = (f'<script defer src="{asset(name)}">' for name in SCRIPTS)
    assert scripts_of(shop.visitor().get("/sign-in").text) == [own]
    desk = shop.signed_in("desk")
    assert scripts_of(desk.get("/").text) == [own]
    assert scripts_of(desk.get("/check-in").text) == [own, of_the_desk]
