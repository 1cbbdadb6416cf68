"""Taking readings on the floor's pages, as a browser without a script sends them."""

import html
import re

import httpx

from tests.services.floor_readings import Bench
from tests.web.shop import Visitor, text_of

KEY = re.compile(r'name="request_key" value="([^"]+)"')
STATIONS_AND_DATUM = (
    "pivot.left", "pivot.right", "pivot_face.left", "pivot_face.right", "station.left",
    "station.half_left", "station.ahead", "station.half_right", "station.right", "head_face",
)  # fmt: skip


def words(answer: httpx.Response) -> str:
    """What a person reads, on one line."""
    return re.sub(r"\s+", " ", text_of(answer.text))


def key_of(answer: httpx.Response) -> str:
    """The key of the page's next request."""
    found = KEY.search(answer.text)
    assert found is not None
    return html.unescape(found[1])


def read(reading: dict[str, str]) -> dict[str, str]:
    """A reading as fields of the form."""
    return {f"readings.0.{name}": text for name, text in reading.items()}


def put(visitor: Visitor, place: str, step: str, reading: dict[str, str]) -> httpx.Response:
    """Open a step and send one reading with the key of its page."""
    page = visitor.get(f"{place}/steps/{step}")
    key = {"request_key": key_of(page)} if KEY.search(page.text) else {}
    return visitor.post(f"{place}/steps/{step}", {**read(reading), **key})


def take(visitor: Visitor, place: str, step: str, data: Bench) -> None:
    """Take all points of a step."""
    for reading in data.of(step):
        answer = put(visitor, place, step, {k: f"{v:.3f}" for k, v in reading.items()})
        assert answer.status_code == 303, words(answer)
