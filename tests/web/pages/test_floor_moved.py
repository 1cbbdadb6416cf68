"""A set-up that moved while it was measured: told at the return, and started again."""

import re

import pytest

from app.chassis.features import is_return
from app.chassis.noticed import Noticed
from app.chassis.readings import look
from app.chassis.survey import Reference, Survey
from app.services import floor_ahead
from tests.services.documents import MOVED, SOUND
from tests.services.floor_readings import bench
from tests.web.pages.taking import STATIONS_AND_DATUM, take, words
from tests.web.pages.test_floor import place, technician
from tests.web.shop import Shop, Visitor

__all__ = ["place", "technician"]


def test_after_the_set_up_moved_everything_starts_again_and_nothing_is_thrown_away(
    shop: Shop, technician: Visitor, place: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    data = bench(SOUND, MOVED)
    others_wait = []

    def looked(survey: Survey, reference: Reference) -> tuple[Noticed, ...]:
        if any(station and is_return(station) for station in survey.station):
            others_wait.append(shop.database._write_lock.locked())
        return look(survey, reference)

    monkeypatch.setattr(floor_ahead, "look", looked)
    for step in (*STATIONS_AND_DATUM, "return.station", "return.pivot_face.left",
                 "return.pivot.left", "return.pivot.right"):  # fmt: skip
        take(technician, place, step, data)
    assert len(others_wait) == 5, "once for each point that was measured again"
    assert not any(others_wait), "the engine is asked before the turn to write"
    page = technician.get(f"{place}/steps/return.pivot.right")
    assert "did not stand still" in words(page)
    scope = re.search(r'name="scope" value="(\w+)"', page.text)
    assert scope is not None
    form = {"scope": scope[1], "request_key": "again"}
    answer = technician.post(f"{place}/steps/return.pivot.right/restart", form)
    assert answer.status_code == 303
    assert "did not stand still" not in words(technician.get(place))
    kept = technician.get(f"{place}/points")
    told = words(kept).count("discarded: the set-up moved")
    assert kept.text.count('class="struck"') == told > 20
    odd = technician.post(f"{place}/steps/return.pivot.right/restart", {"scope": "half"})
    assert odd.status_code == 404
