"""How a draft stands is asked once by who only reads, and anew by who writes."""

import pytest

from app.errors import NotFound
from app.records.session import Database
from app.services import floor, floor_take
from app.services.floor_memory import Memory, records, stand
from tests.services.documents import SOUND
from tests.services.floor_readings import bench
from tests.services.floor_session import Floor
from tests.services.measuring import ready
from tests.services.workshop import Workshop


@pytest.fixture
def session(workshop: Workshop) -> Floor:
    return Floor(ready(workshop), bench(SOUND))


def test_a_unit_that_writes_sees_what_it_has_written(session: Floor) -> None:
    session.go_on(until="pivot.left")
    workshop, number = session.job.workshop, session.job.number
    actor = workshop.people["technician"]
    with workshop.database.write() as unit:
        before = stand(unit, actor, number, session.draft)
        assert floor.road(unit, actor, number, session.draft).draft.standing == ()
        floor.take(
            unit, actor, number, session.draft, "pivot.left", session.bench.of("pivot.left"),
            None, workshop.now,
        )  # fmt: skip
        after = stand(unit, actor, number, session.draft)
        assert (after.version, after.mark) != (before.version, before.mark)
        assert len(floor.road(unit, actor, number, session.draft).draft.standing) == 1
        assert records(unit, actor, number, session.draft)[1].version == after.version
    assert len(session.road().draft.standing) == 1


def test_what_a_unit_wrote_in_vain_is_remembered_by_nobody(session: Floor) -> None:
    session.go_on(until="pivot.left")
    workshop, number = session.job.workshop, session.job.number
    actor, before = workshop.people["technician"], session.road()

    def break_off(database: Database) -> None:
        with database.write() as unit:
            floor.take(
                unit, actor, number, session.draft, "pivot.left", session.bench.of("pivot.left"),
                None, workshop.now,
            )  # fmt: skip
            raise KeyError

    with pytest.raises(KeyError):
        break_off(workshop.database)
    assert session.road() == before


def test_a_draft_of_another_job_is_not_found(session: Floor) -> None:
    for number, draft in (("J-1999-0001", session.draft), (session.job.number, 999)):
        with pytest.raises(NotFound):
            session.job.workshop.see(stand, "technician", number, draft)
        with pytest.raises(NotFound):
            session.job.workshop.see(records, "technician", number, draft)


def test_what_is_remembered_of_a_draft_is_what_is_read_of_it(
    session: Floor, monkeypatch: pytest.MonkeyPatch
) -> None:
    """After every step of a whole measurement, and after a point was replaced and taken back."""

    def require_same() -> None:
        remembered = session.road()
        with monkeypatch.context() as forgetful:
            forgetful.setattr(floor_take, "SEEN", Memory())
            assert session.road() == remembered

    while (view := session.road()).current is not None:
        session.go_on_once(view)
        require_same()
    first = session.road().draft.standing[0]
    again = {**session.bench.of("pivot.left")[0], "supersedes": first.id}
    session.take("pivot.left", readings=[again])
    require_same()
    session.do(floor.undo, None, None)
    require_same()
