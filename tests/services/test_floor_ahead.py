"""What is measured again is looked at before the write lock is taken, and only counts for the very
same points of an unchanged draft."""

from collections.abc import Callable
from typing import Any

import pytest

from app.chassis import readings as engine
from app.chassis.noticed import Noticed
from app.services import floor, floor_ahead
from app.services.floor_views import Done
from tests.services.documents import SOUND
from tests.services.floor_readings import bench
from tests.services.floor_session import Floor
from tests.services.measuring import ready
from tests.services.workshop import Workshop

RETURNED = "return.pivot.left"


@pytest.fixture
def session(workshop: Workshop) -> Floor:
    made = Floor(ready(workshop), bench(SOUND))
    made.go_on(until=RETURNED)
    return made


@pytest.fixture
def looks(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """How many points were looked at each time."""
    found: list[int] = []

    def counting(survey: Any, reference: Any) -> tuple[Noticed, ...]:
        found.append(len(survey.feature))
        return engine.look(survey, reference)

    monkeypatch.setattr(floor_ahead, "look", counting)
    return found


def returned(session: Floor, by: float) -> list[dict[str, float]]:
    """The pivot's left end measured again, so far from where it was."""
    return [{axis: at + by for axis, at in one.items()} for one in session.bench.of(RETURNED)]


def look_ahead(session: Floor, readings: list[dict[str, float]], step: str = RETURNED) -> None:
    workshop = session.job.workshop
    workshop.see(floor.look_ahead, "technician", session.job.number, session.draft, step, readings)


@pytest.mark.parametrize("by", [0.0, 4.0])
def test_it_is_looked_at_once_and_tells_the_same(
    session: Floor, looks: list[int], by: float
) -> None:
    readings = returned(session, by)
    look_ahead(session, readings)
    assert len(looks) == 1
    done = session.take(RETURNED, readings=readings)
    assert len(looks) == 1, "nothing is worked out under the write lock"
    assert bool(done.told) == bool(by)
    assert all(set(one.points) >= set(done.points) for one in done.told if one.points)
    assert told_anew(session, done) == [one.sentence for one in done.told]


def told_anew(session: Floor, done: Done) -> list[str]:
    """What is told of these points where nothing was worked out before."""
    workshop, number = session.job.workshop, session.job.number
    session.do(floor.undo, done.points[0], None)
    readings = [
        {axis: float(str(one.sent[axis])) for axis in "xyz"}
        for one in workshop.see(floor.road, "technician", number, session.draft).draft.points
        if one.id in done.points
    ]
    return [one.sentence for one in session.take(RETURNED, readings=readings).told]


@pytest.mark.parametrize(
    "meanwhile",
    [
        lambda session: session.take("head_face"),
        lambda session: session.record("temperature", part_temperature_c=31.0),
    ],
)
def test_what_changed_meanwhile_is_looked_at_anew(
    session: Floor, looks: list[int], meanwhile: Callable[[Floor], Done]
) -> None:
    readings = returned(session, 0.0)
    look_ahead(session, readings)
    meanwhile(session)
    before = len(looks)
    session.take(RETURNED, readings=readings)
    assert len(looks) == before + 1


def test_other_points_than_those_looked_at_are_looked_at_anew(
    session: Floor, looks: list[int]
) -> None:
    look_ahead(session, returned(session, 0.0))
    assert session.take(RETURNED, readings=returned(session, 4.0)).told
    assert len(looks) == 2


def test_what_is_wrong_is_left_to_the_storing(session: Floor, looks: list[int]) -> None:
    look_ahead(session, [{"x": 1.0}])
    look_ahead(session, returned(session, 0.0), step="return.moon")
    look_ahead(session, session.bench.of("pivot.left"), step="pivot.left")
    assert looks == [], "and what is measured for the first time takes no time"
