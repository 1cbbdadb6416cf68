"""What happens to a measurement on the floor: pauses, a set-up that moved, live points, plans."""

import json
from datetime import timedelta
from typing import Any

import pytest

from app.errors import Conflict
from app.records.scope import scoped
from app.records.tables import Event
from app.schemas.instrument import InstrumentIn
from app.schemas.survey import SurveyIn
from app.services import calibrating, drafts, floor, floor_take, instruments, jobs
from app.services.floor_memory import Memory
from tests.services.documents import MOVED as MOVED_RIG
from tests.services.documents import SOUND, calibration
from tests.services.floor_readings import bench
from tests.services.floor_session import Floor
from tests.services.measuring import Ready, ready
from tests.services.workshop import Workshop


@pytest.fixture
def job(workshop: Workshop) -> Ready:
    return ready(workshop)


@pytest.fixture
def session(job: Ready) -> Floor:
    return Floor(job, bench(SOUND))


def test_a_moved_set_up_starts_again_and_keeps_what_was_discarded(job: Ready) -> None:
    slipped = Floor(job, bench(SOUND, MOVED_RIG))
    view = slipped.go_on()

    assert view.moved is not None
    assert (view.moved.scope, view.moved.points) == ("everything", len(view.draft.standing))
    assert [one.code for one in view.told] == ["set_up_moved"]

    again = slipped.do(floor.restart_after_move, "everything", "r1")

    assert again.draft.standing == ()
    assert again.moved is None
    assert len(again.draft.points) == len(slipped.bench.points)
    assert {p.because for p in again.draft.points} == {"set_up_moved"}
    assert again.current == "play"
    sound = Floor.__new__(Floor)
    sound.__dict__.update(slipped.__dict__, bench=bench(SOUND, seed=18))
    sound.go_on()
    stored = sound.do(drafts.submit)
    assert len(stored.survey.points) == len(sound.bench.points)
    assert stored.result["rig_check"]["verdict"] == "steady"


def test_when_only_the_targets_moved_the_stations_start_again(session: Floor) -> None:
    session.go_on(until="return.station")
    moved = [{**one, "x": one["x"] + 4.0} for one in session.bench.of("return.station")]
    done = session.take("return.station", readings=moved)
    assert [(one.code, one.facts["scope"]) for one in done.told] == [("set_up_moved", "unknown")]
    assert session.road().moved is None
    view = session.go_on()
    assert view.moved is not None
    assert view.moved.scope == "steering"
    assert set(view.moved.stations) >= {"left", "ahead", "right", "return"}

    again = session.do(floor.restart_after_move, "steering", None)

    assert {p.sent["feature"] for p in again.draft.standing} == {"pivot", "pivot_face", "head_face"}
    assert again.current == "rig"
    closing = [step.station for step in again.steps if step.group == "closing"]
    assert set(closing) == {"return2"}
    session.go_on()
    stored = session.do(drafts.submit)
    assert stored.result["rig_check"]["verdict"] == "steady"
    discarded = session.stations()
    assert discarded.count("return2") == 5


def test_a_pause_says_what_repeats_and_the_datum_comes_first(session: Floor) -> None:
    session.go_on(until="station.ahead")

    paused = session.do(floor.pause, "p1")

    assert paused.paused_at is not None
    assert paused.repeats == (
        "temperature", "pivot.left", "pivot.right", "pivot_face.left", "station.ahead",
    )  # fmt: skip
    with pytest.raises(Conflict) as refused:
        session.take("station.ahead")
    assert refused.value.code == "draft_paused"

    taken_up = session.do(floor.resume, "p2")

    assert taken_up.paused_at is None
    assert taken_up.current == "again1.temperature"
    groups = list(dict.fromkeys(step.group for step in taken_up.steps))
    assert groups[groups.index("steering") :][:2] == ["steering", "again"]
    session.record("again1.temperature", part_temperature_c=25.5)
    header = session.road().draft.header
    assert (header["part_temperature_c"], header["part_temperature_u_k"]) == (23.5, 2.0)
    session.go_on()
    stored = session.do(drafts.submit)
    assert stored.result["rig_check"]["verdict"] == "steady"
    stations = {p.station for p in stored.survey.points}
    assert {"return", "return2"} <= stations


def test_a_set_up_that_moved_overnight_is_seen_before_anything_else(session: Floor) -> None:
    session.go_on(until="station.ahead")
    session.do(floor.pause, None)
    session.do(floor.resume, None)
    session.record("again1.temperature")
    for step in ("again1.pivot.left", "again1.pivot.right", "again1.pivot_face.left"):
        moved = [{**one, "z": one["z"] + 3.0} for one in session.bench.of(step)]
        session.take(step, readings=moved)

    view = session.road()
    assert view.moved is not None
    assert view.moved.scope == "everything"


def test_live_points_go_where_the_tablet_waits_and_on_from_there(session: Floor) -> None:
    with pytest.raises(Conflict) as refused:
        session.do(floor.take, None, session.bench.of("pivot.left"), None)
    assert refused.value.code == "no_live_step"
    session.do(floor.aim, "pivot.left")

    for step in ("pivot.left", "pivot.right", "pivot_face.left"):
        session.do(floor.take, None, session.bench.of(step), None)

    view = session.road()
    assert view.live_step == "pivot_face.right"
    assert view.step("pivot_face.left").state == "done"  # type: ignore[union-attr]


def test_news_are_only_what_came_since(session: Floor) -> None:
    first = session.take("pivot.left")
    see = session.job.workshop.see

    def news(after: int, since: int = 0) -> Any:
        return see(floor.news, "technician", session.job.number, session.draft, after, since)

    assert news(first.version) is None
    second = session.take("pivot.right")
    found = news(first.version, first.points[0])
    assert found.version == second.version
    assert [point.id for point in found.points] == list(second.points)


def test_the_plan_is_worked_out_once_a_version(
    session: Floor, monkeypatch: pytest.MonkeyPatch
) -> None:
    session.go_on(until="return.station")
    asked: list[int] = []
    honest = drafts.plan

    def counted(*args: Any) -> Any:
        asked.append(1)
        return honest(*args)

    monkeypatch.setattr(drafts, "plan", counted)
    see = session.job.workshop.see

    plans = [see(floor.plan, "technician", session.job.number, session.draft) for _ in range(2)]

    assert plans[0] == plans[1]
    assert session.road().plan == plans[0]
    assert len(asked) == 1
    session.take("return.station")
    assert session.road().plan is None
    see(floor.plan, "technician", session.job.number, session.draft)
    assert len(asked) == 2


def test_what_was_put_away_is_in_no_survey(session: Floor) -> None:
    assert "because" not in SurveyIn.model_fields
    session.take("pivot.left")
    session.do(floor.restart_after_move, "everything", None)
    (point,) = session.road().draft.points
    assert (point.stands, point.because) == (False, "set_up_moved")
    assert session.job.workshop.see(jobs.read, "desk", session.job.number).drafts[0].points == 0


def test_what_came_after_the_evaluation_is_not_left_out_of_the_survey(session: Floor) -> None:
    session.go_on()
    see = session.job.workshop.see
    ready_draft = see(drafts.prepare, "technician", session.job.number, session.draft)
    session.take("pivot.left")

    with pytest.raises(Conflict) as refused:
        session.job.workshop.do(drafts.store, "technician", ready_draft)
    assert refused.value.code == "draft_changed"
    assert session.road().draft.state == "open"


def test_nothing_is_taken_for_a_job_that_was_closed_until_it_is_reopened(session: Floor) -> None:
    session.take("pivot.left")
    workshop, number = session.job.workshop, session.job.number
    workshop.do(jobs.cancel, "desk", number, reason="the customer took it home")

    with pytest.raises(Conflict) as refused:
        session.take("pivot.right")
    assert (refused.value.code, refused.value.facts["status"]) == ("job_closed", "cancelled")

    workshop.do(jobs.reopen, "desk", number, reason="it came back")
    session.take("pivot.right")
    assert len(session.road().draft.points) == 2


def test_what_is_remembered_is_what_is_on_record(
    session: Floor, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The road read anew from the rows is the one that each reading left behind."""
    session.go_on(until="head_face")
    remembered = session.road()

    monkeypatch.setattr(floor_take, "SEEN", Memory())

    assert session.road() == remembered


def test_a_heading_that_changed_is_what_later_readings_are_looked_at_with(session: Floor) -> None:
    session.go_on(until="head_face")
    session.do(drafts.set_pieces, {"up": [-part for part in session.bench.up]})

    session.take("head_face")

    assert [one.code for one in session.road().told] == ["axes_contradict", "turns_contradict"]


def test_a_calibration_is_what_the_steps_are_looked_at_with_at_once(session: Floor) -> None:
    session.go_on(until="station.half_left")
    readings = session.bench.of("station.half_left")
    across = [readings[0][axis] - readings[1][axis] for axis in "xyz"]
    length = sum(part**2 for part in across) ** 0.5
    readings[0] |= {
        axis: readings[0][axis] + 0.8 * part / length
        for axis, part in zip("xyz", across, strict=True)
    }
    session.take("station.half_left", readings=readings)
    before = session.road()
    assert before.told == ()

    finer = calibration(standard_uncertainty_mm=0.02, calibrated="2026-02-20")
    workshop, arm = session.job.workshop, session.job.instrument_id
    workshop.do(calibrating.calibrate, "inspector", arm, finer)

    after = session.road()
    assert [one.code for one in after.told] == ["targets_apart"]
    assert after.draft == before.draft
    session.take("station.ahead")
    assert [one.code for one in session.road().told] == ["targets_apart"]


def test_a_calibration_of_another_instrument_changes_nothing_here(session: Floor) -> None:
    session.go_on(until="station.left")
    workshop = session.job.workshop
    key = workshop.see(floor.stamp, "technician", session.job.number, session.draft)
    other = workshop.do(instruments.create, "inspector", InstrumentIn(name="arm 7"))
    workshop.do(calibrating.calibrate, "inspector", other.id, calibration())
    assert workshop.see(floor.stamp, "technician", session.job.number, session.draft) == key


def test_a_pause_that_is_taken_back_at_once_asks_for_one_end_of_the_pivot(session: Floor) -> None:
    session.go_on(until="station.ahead")
    session.do(floor.pause, "p1")

    view = session.do(floor.resume, "p2", untouched=True)

    again = [step.code for step in view.steps if step.group == "again"]
    assert again == ["again1.pivot.left"]
    assert view.current == "again1.pivot.left"
    session.go_on()
    stored = session.do(drafts.submit)
    assert stored.result["rig_check"]["verdict"] == "steady"
    assert {"return", "return2"} <= {p.station for p in stored.survey.points}
    workshop = session.job.workshop
    with workshop.database.read() as records:
        said = scoped(records, workshop.people["owner"], Event).where(Event.what == "draft.resumed")
        assert json.loads(records.scalars(said).one().public)["untouched"] is True


def test_of_a_long_pause_nobody_can_say_that_nothing_was_touched(session: Floor) -> None:
    session.go_on(until="station.ahead")
    session.do(floor.pause, None)
    session.job.workshop.now += timedelta(minutes=15)
    with pytest.raises(Conflict) as refused:
        session.do(floor.resume, None, untouched=True)
    assert refused.value.code == "pause_too_long"
    assert len(session.do(floor.resume, None).steps) > 20
