"""The floor: a measurement step by step, stored once, looked at when it comes."""

from concurrent.futures import ThreadPoolExecutor
from typing import Any

import pytest

from app.errors import BadInput, Conflict, NotAllowed, NotFound
from app.services import drafts, floor
from app.services.floor_views import Done
from tests.services.documents import COARSE, SOUND
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


def test_the_road_leads_from_the_first_step_to_a_survey(session: Floor) -> None:
    view = session.go_on()

    assert view.current is None
    assert {step.state for step in view.steps if step.required} == {"done"}
    assert [one.code for one in view.told] == ["station_again"]
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
        (floor.take, ("pivot.left", [{"x": "1", "y": 2.0, "z": 3.0}], None), BadInput,
         "wrong_type"),
        (floor.take, ("pivot.left", [{"x": 1.0, "y": 2.0, "z": 3.0}], "é"), BadInput, "bad_input"),
        (floor.record, ("pivot.left", {}, None), Conflict, "step_takes_points"),
        (floor.record, ("visual_check", {}, None), Conflict, "step_answered_elsewhere"),
        (floor.record, ("mounting", {"mounting": None, "up": None}, None), BadInput, "text_empty"),
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


def test_noise_of_an_instrument_is_no_reason_to_speak_up(job: Ready) -> None:
    coarse = Floor(job, bench(SOUND, COARSE))
    coarse.do(drafts.set_pieces, {"instrument": {"standard_uncertainty_mm": 0.8}})
    assert [one for one in coarse.go_on().told if not one.good] == []


def test_the_same_request_sent_at_the_same_time_is_stored_once(session: Floor) -> None:
    workshop, sent = session.job.workshop, session.bench.of("pivot.left")

    def send(_turn: int) -> Done:
        with workshop.database.write() as records:
            return floor.take(
                records, workshop.people["technician"], session.job.number, session.draft,
                "pivot.left", sent, "k1", workshop.now,
            )  # fmt: skip

    with ThreadPoolExecutor(4) as tablets:
        done = list(tablets.map(send, range(8)))

    assert [one.again for one in done].count(False) == 1
    assert len({one.points for one in done}) == 1
    assert len(session.road().draft.points) == 1


def test_stations_that_came_under_other_names_are_not_asked_for_again(session: Floor) -> None:
    session.go_on(until="station.left")
    for number, code in enumerate(("right", "ahead", "left"), 1):
        readings = session.bench.of(f"station.{code}")
        sent = [
            {"feature": "steer_target", "label": label, "station": str(number), **one}
            for label, one in zip(("upper", "lower"), readings, strict=True)
        ]
        session.do(drafts.add_points, sent)

    asked = [step.station for step in session.road().steps if step.code.startswith("station.")]
    assert asked == ["1", "2", "3", "half_left", "half_right"]
    assert session.road().current == "head_face"
