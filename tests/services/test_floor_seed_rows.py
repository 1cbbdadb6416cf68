"""The rows of the seed file, taken step by step as a newcomer with the README would do it."""

import csv
import json

import pytest

from app import resources
from app.services import drafts, floor
from app.services.floor_views import Done
from tests.services.documents import SOUND
from tests.services.floor_readings import bench
from tests.services.floor_session import Floor
from tests.services.measuring import ready
from tests.services.workshop import Workshop

FILE = resources.seed_data() / "before-head-bent.csv"
UP = json.loads(FILE.with_suffix(".json").read_text(encoding="utf-8"))["up"]
STOOD = {"right": "1", "half_right": "2", "ahead": "3", "half_left": "4", "left": "5"}


def rows(feature: str, label: str | None, station: str) -> list[dict[str, float]]:
    """The readings of the file; decimal commas as it has them."""
    with FILE.open(encoding="utf-8", newline="") as lines:
        return [
            {axis: float(row[axis].replace(",", ".")) for axis in "xyz"}
            for row in csv.DictReader(lines, delimiter=";")
            if row["feature"] == feature
            and label in (None, row["label"] or None)
            and row["station"] == station
        ]


def of_step(code: str) -> list[dict[str, float]]:
    """Readings of a step: its station by the side that the file gives, or `return`."""
    first, _, rest = code.partition(".")
    if first == "station":
        return rows("steer_target", None, STOOD[rest])
    again = first.startswith(("return", "again"))
    feature, _, label = (rest if again else code).partition(".")
    if feature == "station":
        feature = "steer_target"
    return rows(feature, label or None, "return" if again else "")


@pytest.fixture
def session(workshop: Workshop) -> Floor:
    return Floor(ready(workshop), bench(SOUND))


def take_all(session: Floor, until: str | None = None) -> list[Done]:
    """Does what is asked for, with the numbers of the file; what became of each reading."""
    done = []
    while (view := session.road()).current not in (until, None):
        step = view.step(str(view.current))
        assert step is not None
        if step.feature is not None:
            wanted = of_step(step.code)[: step.wanted]
            done += [session.take(step.code, readings=[reading]) for reading in wanted]
        elif step.code == "mounting":
            said = {"mounting": "on stands", "up": UP}
            done.append(session.do(floor.record, step.code, said, None))
        else:
            done.append(session.record(step.code))
    return done


def told(done: list[Done]) -> list[tuple[str, str]]:
    return [(one.code, str(one.step)) for each in done for one in each.told]


def test_the_return_of_the_file_is_taken_though_it_was_measured_near_full_right(
    session: Floor,
) -> None:
    done = take_all(session)
    assert all(one.plausible for one in done)
    assert set(told(done)) == {("station_again", "return.station")}
    view = session.road()
    assert (view.moved, view.current) == (None, None)
    (again,) = view.told
    assert again.met == "found again: station right, 1.3° beside where the steering stood"
    stored = session.do(drafts.submit)
    assert stored.result["rig_check"]["verdict"] == "steady"


def test_so_it_is_after_a_pause_wherever_the_measurement_was(session: Floor) -> None:
    take_all(session, until="station.ahead")
    session.do(floor.pause, "p1")
    session.do(floor.resume, "p2")
    done = take_all(session)
    assert all(one.plausible for one in done)
    assert session.road().moved is None
    assert session.do(drafts.submit).result["rig_check"]["verdict"] == "steady"


def test_exchanged_targets_are_not_called_a_rig_that_moved(session: Floor) -> None:
    take_all(session, until="return.station")
    upper, lower = of_step("return.station")
    for name, reading in (("upper", lower), ("lower", upper)):
        done = session.take("return.station", readings=[{**reading, "name": name}])
    assert ("targets_swapped", "return.station") in told([done])
    assert session.road().moved is None


def test_a_station_measured_twice_under_two_names_is_told_at_once_and_the_page_stays(
    session: Floor,
) -> None:
    take_all(session, until="station.half_left")
    for reading in of_step("station.left"):
        done = session.take("station.half_left", readings=[reading])
    assert told([done]) == [("station_near", "station.half_left")]
    assert done.plausible
    assert done.next_step == "station.half_left"
    see = session.job.workshop.see
    plan = see(floor.plan, "technician", session.job.number, session.draft)
    assert plan["message"].startswith("first put right what was noticed: ")
    assert "stations at which the steering was measured" not in plan["message"]
