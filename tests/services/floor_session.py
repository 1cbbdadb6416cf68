"""One measurement driven step by step by the technician, for tests of the floor."""

from typing import Any

from app.services import drafts, floor
from app.services.floor_views import Done, FloorView
from tests.services.floor_readings import Bench
from tests.services.measuring import Ready

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
            self.go_on_once(view)
        return view

    def go_on_once(self, view: FloorView) -> None:
        """Does the step that is current."""
        step = view.step(str(view.current))
        assert step is not None
        if step.feature is None:
            self.record(step.code)
        else:
            self.take(step.code)

    def stations(self) -> list[str]:
        return [str(p.sent["station"]) for p in self.road().draft.standing if "station" in p.sent]
