"""The floor: a measurement step by step, stored once, looked at when it comes."""

from typing import Any

import pytest

from app.errors import BadInput, Conflict, NotAllowed, NotFound
from app.schemas.survey import SurveyIn
from app.services import drafts, floor, jobs
from app.services.floor_views import Done, FloorView
from tests.services.documents import COARSE, SOUND
from tests.services.documents import MOVED as MOVED_RIG
from tests.services.floor_readings import Bench, bench
from tests.services.measuring import Ready, ready
from tests.services.workshop import Workshop

RECORDED: dict[str, dict[str, Any]] = {
    "cautions": {},
    "play": {},
    "mounting": {"mounting": "on stands"},
    "temperature": {"part_temperature_c": 21.5},
    "rig": {"targets": ["upper", "lower"]},
}


class Floor:
    """One draft of a job, driven step by step by the technician."""

    def __init__(self, job: Ready, found: Bench) -> None:
        self.job, self.bench = job, found
        opened = job.workshop.do(drafts.open_draft, "technician", job.number, "before")
        self.draft = opened.id

    def do(self, act: Any, *args: Any, **kwargs: Any) -> Any:
        return self.job.workshop.do(act, "technician", self.job.number, self.draft, *args, **kwargs)

    def road(self) -> FloorView:
        view: FloorView = self.job.workshop.see(
            floor.road, "technician", self.job.number, self.draft
        )
        return view

    def take(self, step: str, key: str | None = None, readings: Any = None) -> Done:
        sent = self.bench.of(step) if readings is None else readings
        done: Done = self.do(floor.take, step, sent, key)
        return done

    def record(self, step: str, key: str | None = None, **pieces: Any) -> Done:
        said = {**RECORDED.get(step.split(".")[-1], {}), **pieces}
        if step == "mounting":
            said["up"] = list(self.bench.up)
        done: Done = self.do(floor.record, step, said, key)
        return done

    def go_on(self, until: str | None = None) -> FloorView:
        """Does what the page asks for, until a step is next or nothing is left."""
        while (view := self.road()).current not in (until, None):
            step = view.step(str(view.current))
            assert step is not None
            if step.feature is None:
                self.record(step.code)
            else:
                self.take(step.code)
        return view

    def stations(self) -> list[str]:
        return [str(p.sent["station"]) for p in self.road().draft.standing if "station" in p.sent]


@pytest.fixture
def job(workshop: Workshop) -> Ready:
    return ready(workshop)


@pytest.fixture
def session(job: Ready) -> Floor:
    return Floor(job, bench(SOUND))


def test_the_road_leads_from_the_first_step_to_a_survey(session: Floor) -> None:
    view = session.go_on()

    assert view.current is None
    assert {step.state for step in view.steps if step.required} == {"done"}
    assert view.told == ()
    stored = session.do(drafts.submit)
    assert stored.result["finding"]["verdict"] == "within"
    assert stored.result["rig_check"]["verdict"] == "steady"
    assert stored.survey.part_temperature_c == 21.5
    assert len(stored.survey.points) == len(session.bench.points)


def test_a_step_shows_what_is_missing_of_it(session: Floor) -> None:
    view = session.go_on(until="station.left")
    step = view.step("station.left")
    assert step is not None
    assert (step.state, step.open_names, step.next_name) == ("open", ("upper", "lower"), "upper")

    done = session.take("station.left", readings=session.bench.of("station.left")[:1])

    step = session.road().step("station.left")
    assert step is not None
    assert (step.state, step.next_name, done.next_step) == ("begun", "lower", "station.left")
    sent = step.points[0].sent
    assert (sent["label"], sent["station"], sent["turn"]) == ("upper", "left", "left")


def test_nobody_need_name_the_targets(session: Floor) -> None:
    session.take("station.left", readings=session.bench.of("station.left")[:1])
    step = session.road().step("station.left")
    assert step is not None
    assert (step.state, step.next_name) == ("begun", "lower")


def test_a_request_that_comes_again_is_stored_once(session: Floor) -> None:
    first = session.take("pivot.left", "k1")
    points = len(session.road().draft.points)

    second = session.take("pivot.left", "k1")

    assert (first.again, second.again) == (False, True)
    assert second.points == first.points
    assert len(session.road().draft.points) == points
    assert second.version == first.version


def test_it_is_stored_once_also_when_another_person_sends_it(session: Floor) -> None:
    session.take("pivot.left", "k1")
    sent = session.bench.of("pivot.left")

    again = session.job.workshop.do(
        floor.take, "inspector", session.job.number, session.draft, "pivot.left", sent, "k1"
    )

    assert again.again
    assert len(session.road().draft.points) == 1


def test_a_request_is_known_after_the_measurement_was_submitted(session: Floor) -> None:
    session.go_on()
    session.take("pivot.left", "k1")
    session.do(drafts.submit)

    assert session.take("pivot.left", "k1").again
    with pytest.raises(Conflict) as refused:
        session.take("pivot.left", "k2")
    assert refused.value.code == "draft_not_open"


def test_one_key_stands_for_one_request(session: Floor) -> None:
    session.take("pivot.left", "k1")

    with pytest.raises(Conflict) as refused:
        session.take("pivot.right", "k1")
    assert refused.value.code == "request_key_reused"


def test_two_tablets_do_not_stand_in_each_others_way(session: Floor) -> None:
    before = session.road()
    session.take("pivot.left", "tablet-one-1")

    session.take("pivot.right", "tablet-two-1")
    session.record("temperature", "tablet-one-2")

    after = session.road()
    assert after.saved_version > before.saved_version
    assert [after.step(c).state for c in ("pivot.left", "pivot.right", "temperature")] == [  # type: ignore[union-attr]
        "done"
    ] * 3


def test_a_piece_that_somebody_else_changed_is_a_conflict(session: Floor) -> None:
    session.record("temperature", part_temperature_c=20.0)
    session.record("mounting", mounting="engine in")

    with pytest.raises(Conflict) as refused:
        session.do(
            floor.record, "temperature", {"part_temperature_c": 25.0}, None,
            seen={"part_temperature_c": None},
        )  # fmt: skip
    assert (refused.value.code, refused.value.feature) == ("heading_changed", "part_temperature_c")
    kept = session.road().draft.header
    assert kept["part_temperature_c"] == 20.0
    assert kept["mounting"] == "engine in"


def test_pieces_of_the_heading_do_not_wipe_each_other(session: Floor) -> None:
    rig = {"target_spacing_mm": [["upper", "lower", 301.0, 0.5]]}
    session.record("rig", rig=rig)
    session.record("temperature")
    session.record("mounting")

    header = session.road().draft.header
    assert set(header) == {"rig", "part_temperature_c", "mounting", "up"}


def test_an_implausible_point_is_said_at_once_and_kept(session: Floor) -> None:
    session.go_on(until="head_face")
    reading = session.bench.of("head_face")[0]
    wrong = {**reading, "x": -10.0 * reading["x"]}

    done = session.take("head_face", readings=[wrong])

    assert not done.plausible
    assert [one.code for one in done.told] == ["point_implausible"]
    assert "mm" in done.told[0].met
    assert session.road().step("head_face").told == done.told  # type: ignore[union-attr]
    session.do(floor.undo, None, None)
    assert session.road().told == ()
    assert [p.stands for p in session.road().draft.points][-1] is False


def test_a_reading_may_take_the_place_of_another(session: Floor) -> None:
    session.go_on(until="station.half_left")
    old = session.road().step("station.left").points[1]  # type: ignore[union-attr]
    better = {**session.bench.of("station.left")[1], "supersedes": old.id}

    session.take("station.left", readings=[better])

    step = session.road().step("station.left")
    assert step is not None
    assert [p.sent["label"] for p in step.points] == ["upper", "lower"]
    assert old.id not in [p.id for p in step.points]


def test_undo_sent_twice_takes_back_one_point(session: Floor) -> None:
    session.take("pivot.left")
    session.take("pivot.right")

    first = session.do(floor.undo, None, "u1")
    second = session.do(floor.undo, None, "u1")

    assert (first.again, second.again) == (False, True)
    assert len(session.road().draft.standing) == 1


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
        "temperature", "pivot.left", "pivot.right", "pivot_face.left", "station",
    )  # fmt: skip
    with pytest.raises(Conflict) as refused:
        session.take("station.ahead")
    assert refused.value.code == "draft_paused"

    taken_up = session.do(floor.resume, "p2")

    assert taken_up.paused_at is None
    assert taken_up.current == "again1.temperature"
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


def test_points_of_a_draft_from_a_program_are_looked_at_too(session: Floor) -> None:
    session.go_on(until="head_face")
    far = {"feature": "head_face", "x": 9000.0, "y": 0.0, "z": 0.0}

    session.do(drafts.add_points, [far])

    assert [one.code for one in session.road().told] == ["point_implausible"]
    assert session.road().step("head_face").state == "begun"  # type: ignore[union-attr]


def test_points_that_no_step_asked_for_are_not_hidden(session: Floor) -> None:
    session.do(drafts.add_points, [{"feature": "rear_axle", "x": 1.0, "y": 2.0, "z": 3.0}])

    beside = [step for step in session.road().steps if step.group == "beside"]
    assert [(step.feature, len(step.points)) for step in beside] == [("rear_axle", 1)]


@pytest.mark.parametrize(
    ("act", "args", "error", "code"),
    [
        (floor.take, ("nowhere", [{"x": 1.0, "y": 2.0, "z": 3.0}], None), NotFound, "no_such_step"),
        (floor.take, ("play", [{"x": 1.0, "y": 2.0, "z": 3.0}], None), Conflict,
         "step_takes_no_points"),
        (floor.take, ("pivot.left", [], None), BadInput, "too_few"),
        (floor.take, ("pivot.left", [{"x": 1.0, "y": 2.0}], None), BadInput, "missing"),
        (floor.take, ("pivot.left", [{"x": "1", "y": 2.0, "z": 3.0}], None), BadInput, "wrong_type"),
        (floor.take, ("pivot.left", [{"x": 1.0, "y": 2.0, "z": 3.0}], "é"), BadInput, "bad_input"),
        (floor.record, ("pivot.left", {}, None), Conflict, "step_takes_points"),
        (floor.record, ("rig", {"targets": []}, None), BadInput, "too_few"),
        (floor.record, ("temperature", {"part_temperature_c": "warm"}, None), BadInput,
         "wrong_type"),
        (floor.aim, ("play",), Conflict, "step_takes_no_points"),
        (floor.aim, ("nowhere",), NotFound, "no_such_step"),
    ],
)  # fmt: skip
def test_refusals(session: Floor, act: Any, args: Any, error: Any, code: str) -> None:
    with pytest.raises(error) as refused:
        session.do(act, *args)
    assert refused.value.code == code
    assert session.road().draft.points == ()


def test_a_station_that_is_complete_wants_a_name(session: Floor) -> None:
    session.go_on(until="station.half_left")
    with pytest.raises(Conflict) as refused:
        session.take("station.left", readings=session.bench.of("station.left")[:1])
    assert refused.value.code == "step_complete"
    named = {**session.bench.of("station.left")[0], "name": "upper"}
    session.take("station.left", readings=[named])
    assert len(session.road().step("station.left").points) == 3  # type: ignore[union-attr]


def test_the_desk_takes_no_points(session: Floor) -> None:
    with pytest.raises(NotAllowed):
        session.job.workshop.do(
            floor.take, "desk", session.job.number, session.draft, "pivot.left",
            session.bench.of("pivot.left"), None,
        )  # fmt: skip


def test_what_was_put_away_is_in_no_survey(session: Floor) -> None:
    assert "because" not in SurveyIn.model_fields
    session.take("pivot.left")
    session.do(floor.restart_after_move, "everything", None)
    (point,) = session.road().draft.points
    assert (point.stands, point.because) == (False, "set_up_moved")
    assert session.job.workshop.see(jobs.read, "desk", session.job.number).drafts[0].points == 0


def test_noise_of_an_instrument_is_no_reason_to_speak_up(job: Ready) -> None:
    coarse = Floor(job, bench(SOUND, COARSE))
    coarse.do(drafts.set_pieces, {"instrument": {"standard_uncertainty_mm": 0.8}})
    assert coarse.go_on().told == ()


def test_what_came_after_the_evaluation_is_not_left_out_of_the_survey(session: Floor) -> None:
    session.go_on()
    see = session.job.workshop.see
    ready_draft = see(drafts.prepare, "technician", session.job.number, session.draft)
    session.take("pivot.left")

    with pytest.raises(Conflict) as refused:
        session.job.workshop.do(drafts.store, "technician", ready_draft)
    assert refused.value.code == "draft_changed"
    assert session.road().draft.state == "open"
