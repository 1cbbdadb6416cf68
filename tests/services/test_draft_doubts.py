"""What was noticed about a measurement is answered before it is submitted, and that is written."""

import pytest

from app.errors import Conflict
from app.records.scope import scoped
from app.records.tables import Event
from app.services import drafts, floor
from tests.services.documents import SOUND
from tests.services.floor_readings import bench
from tests.services.floor_session import Floor
from tests.services.measuring import Ready, ready
from tests.services.workshop import Workshop


@pytest.fixture
def session(workshop: Workshop) -> Floor:
    job: Ready = ready(workshop)
    return Floor(job, bench(SOUND))


def written(session: Floor) -> list[str]:
    with session.job.workshop.rows() as (found, owner):
        events = scoped(found, owner, Event).where(Event.what == "draft.submitted_despite")
        return [event.public for event in found.scalars(events)]


def test_a_measurement_of_which_nothing_was_noticed_asks_nothing(session: Floor) -> None:
    view = session.go_on()
    assert {one.code for one in view.told} <= {"station_again"}
    session.do(drafts.submit)
    assert written(session) == []


def test_what_was_noticed_is_named_until_somebody_says_that_it_was_read(session: Floor) -> None:
    session.go_on()
    (left,) = session.bench.of("pivot.left")
    session.take("pivot_face.right", readings=[left])
    told = session.road().told
    assert [one.code for one in told if one.grave]
    with pytest.raises(Conflict) as refused:
        session.do(drafts.submit)
    assert refused.value.code == "noticed_unanswered"
    assert told[0].met in str(refused.value.facts["noticed"])
    session.do(drafts.submit, despite_noticed=True)
    (facts,) = written(session)
    assert told[0].code in facts


def test_a_reading_that_was_taken_back_is_no_doubt_any_more(session: Floor) -> None:
    session.go_on()
    (left,) = session.bench.of("pivot.left")
    done = session.take("pivot_face.right", readings=[left])
    session.do(floor.undo, done.points[0], None)
    session.do(drafts.submit)
    assert written(session) == []
