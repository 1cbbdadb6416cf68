"""A step of a measurement on the floor against the page's script, served by the same process.

A person's whole measurement is walked, point after point: the reading is sent as the page's script
sends it, then the page of the step that comes next is fetched, which nobody has seen yet.
"""

import gc
import json
import re
import statistics
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from app import resources
from app.benchmarks.one_client import Answer, Client
from app.benchmarks.one_client import field as field_of
from app.benchmarks.ratio import Ratio
from app.benchmarks.shop_server import OWNER, Served, served_shop
from app.wording.translation import _

MOST = 5.0
SCRIPT = "/static/app.js"
JSON = "application/json"
FIRST = "pivot.left"
FILE = "before-head-bent.json"
AGAIN = "return.station"
STATIONS = {"5": "left", "4": "half_left", "3": "ahead", "2": "half_right", "1": "right"}
"""The stations of the steps by the file's own names."""
TOKEN = re.compile(r'name="form_token" value="([0-9a-f]+)"')


@dataclass
class Times:
    """Seconds of every request, by kind."""

    pages: list[float] = field(default_factory=list)
    readings: list[float] = field(default_factory=list)
    script: list[float] = field(default_factory=list)
    whole: bool = True
    """Whether every measurement was walked to its end."""


def floor_speed(rounds: int) -> tuple[Ratio, Ratio]:
    """Median over `rounds` whole measurements: of a step's page, and of a reading stored."""
    times = Times()
    collecting = gc.isenabled()
    gc.disable()
    try:
        with served_shop(rounds + 1) as served, Client(served.address) as client:
            sign_in(client, served)
            walk(client, served.drafts[0], Times())
            for place in served.drafts[1:]:
                walk(client, place, times)
    finally:
        if collecting:
            gc.enable()
    script = statistics.median(times.script)
    page, reading = statistics.median(times.pages), statistics.median(times.readings)
    return (
        Ratio(_("page of a floor step, the script"), page, script, MOST, False, times.whole),
        Ratio(_("reading stored, the script"), reading, script, MOST, False, times.whole),
    )


def sign_in(client: Client, served: Served) -> None:
    """Through the form, which has a token of its own."""
    fields = {"sign_in_name": OWNER, "password": served.password, "form_token": ""}
    answer = expected(client.post("/sign-in", fields), 303)
    client.cookie = (field_of(answer.head, "set-cookie") or "").partition(";")[0]


def walk(client: Client, place: str, times: Times) -> None:
    """One measurement from its first point to its last; each time beside the script's own."""
    left = readings_by_step()
    step, sent = FIRST, 0
    page = expected(client.get(f"{place}/steps/{step}")).body.decode()
    while step:
        times.script.append(expected(client.get(SCRIPT)).seconds)
        keys = {"form_token": found(TOKEN, page), "request_key": f"{place}-{sent}"}
        reading = left[kept_under(step)].pop(0)
        stored = expected(client.post(f"{place}/steps/{step}", keys | reading, JSON))
        times.readings.append(stored.seconds)
        told = json.loads(stored.body)
        answer = expected(client.get(told["next"]))
        times.pages.append(answer.seconds)
        page, sent = answer.body.decode(), sent + 1
        step = told["next"].partition("/steps/")[2].partition("?")[0]
    times.whole = times.whole and not any(left.values())


def readings_by_step() -> dict[str, list[dict[str, str]]]:
    """The form fields of every point of the file, by the step that asks for them."""
    document = json.loads((resources.seed_data() / FILE).read_text(encoding="utf-8"))
    by_step: dict[str, list[dict[str, str]]] = {}
    for point in document["points"]:
        by_step.setdefault(kept_under(step_of(point)), []).append(fields_of(point))
    return by_step


def kept_under(step: str) -> str:
    """The step's own code; the file has one station as return, whichever the step asks for."""
    return AGAIN if step.startswith(AGAIN) else step


def step_of(point: Mapping[str, Any]) -> str:
    """The step that asks for this point."""
    station, label = str(point.get("station")), point.get("label")
    if point["feature"] == "steer_target":
        return AGAIN if station == "return" else f"station.{STATIONS[station]}"
    own = f"{point['feature']}.{label}" if label else str(point["feature"])
    return f"return.{own}" if station == "return" else own


def fields_of(point: Mapping[str, Any]) -> dict[str, str]:
    """The form of one reading, as people type it."""
    fields = {f"readings.0.{axis}": f"{point[axis]:g}" for axis in "xyz"}
    name = point.get("label") if point["feature"] == "steer_target" else None
    return fields | ({"readings.0.name": name} if name else {})


def expected(answer: Answer, status: int = 200) -> Answer:
    """The answer. Raises RuntimeError when it is another than expected."""
    if answer.status != status:
        raise RuntimeError(f"answered {answer.status}: {answer.body[:2000].decode()}")
    return answer


def found(pattern: re.Pattern[str], text: str) -> str:
    """What the pattern finds. Raises RuntimeError where it finds nothing."""
    match = pattern.search(text)
    if match is None:
        raise RuntimeError(f"no {pattern.pattern} on the page")
    return match[1]
