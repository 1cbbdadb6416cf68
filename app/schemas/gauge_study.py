"""`jigbook.gauge_study/1`: several people measure the same parts several times each."""

from collections import Counter
from collections.abc import Iterator, Mapping
from typing import Annotated, Literal, Self

from pydantic import Field
from pydantic.functional_validators import model_validator

from app.errors import BadInput, Fact, Problem
from app.schemas.json_text import read_json, text_of
from app.schemas.reading import checked, is_json, require_format
from app.schemas.sent import (
    LINE_PATTERN,
    Line,
    Moment,
    Number,
    Positive,
    Prose,
    Sent,
    require_sound,
)
from app.schemas.survey_csv import Layout, placed_by_row, rows_from_csv

GAUGE_STUDY_FORMAT = "jigbook.gauge_study/1"
MOST_PARTS = 100
MOST_PEOPLE = 20
MOST_TRIALS = 20
MOST_READINGS = 5000

ShortName = Annotated[str, Field(strict=True, min_length=1, max_length=40, pattern=LINE_PATTERN)]
Trial = Annotated[int, Field(strict=True, ge=1, le=MOST_TRIALS)]

TABLE = Layout(
    "gauge_study", ("part", "person", "trial", "value"), (), frozenset({"value"}), MOST_READINGS
)


class GaugeReadingIn(Sent):
    part: ShortName
    person: ShortName
    """A name or a letter: whoever reads the study should know who it was."""
    trial: Trial
    value: Number


class GaugeStudyIn(Sent):
    """Every person measures every part in every trial, in an order that nobody foresees."""

    format: Literal["jigbook.gauge_study/1"]
    readings: Annotated[tuple[GaugeReadingIn, ...], Field(max_length=MOST_READINGS)]
    instrument: Line | None = None
    """Its name."""
    quantity: Line | None = None
    """What was measured on each part, in the shop's own words."""
    unit: Literal["mm", "deg"] = "mm"
    measured_at: Moment | None = None
    by: Line | None = None
    note: Prose | None = None
    tolerance_width: Positive | None = None
    """From the lower to the upper limit of what was measured: for the gauge's part of it."""

    @model_validator(mode="after")
    def _is_complete(self) -> Self:
        require_sound(list(self._problems()))
        return self

    def _problems(self) -> Iterator[Problem]:
        facts: dict[str, Fact]
        sizes = {"part": len(self.parts), "person": len(self.people), "trial": len(self.trials)}
        lowest = {"part": 2, "person": 1, "trial": 2}
        highest = {"part": MOST_PARTS, "person": MOST_PEOPLE, "trial": MOST_TRIALS}
        for name, met in sizes.items():
            facts = {"met": met, "lowest": lowest[name], "highest": highest[name], "what": name}
            if not lowest[name] <= met <= highest[name]:
                yield Problem("gauge_study_size", "readings", facts)
        yield from self._doubled_and_missing()

    def _doubled_and_missing(self) -> Iterator[Problem]:
        facts: dict[str, Fact]
        met = Counter((one.part, one.person, one.trial) for one in self.readings)
        for (part, person, trial), times in met.items():
            if times > 1:
                facts = {"part": part, "person": person, "trial": trial}
                yield Problem("gauge_reading_twice", "readings", facts)
                return
        for part in self.parts:
            for person in self.people:
                for trial in self.trials:
                    if (part, person, trial) not in met:
                        facts = {"part": part, "person": person, "trial": trial}
                        yield Problem("gauge_reading_missing", "readings", facts)
                        return

    @property
    def parts(self) -> tuple[str, ...]:
        """In the order met."""
        return tuple(dict.fromkeys(one.part for one in self.readings))

    @property
    def people(self) -> tuple[str, ...]:
        """In the order met."""
        return tuple(dict.fromkeys(one.person for one in self.readings))

    @property
    def trials(self) -> tuple[int, ...]:
        return tuple(sorted({one.trial for one in self.readings}))


def gauge_study_from(content: object) -> GaugeStudyIn:
    """Return a study from decoded JSON; raises BadInput, `not_a_gauge_study` when it is none."""
    require_format(content, GAUGE_STUDY_FORMAT, "not_a_gauge_study", "readings")
    return checked(GaugeStudyIn, content)


def read_gauge_study(content: bytes, beside: Mapping[str, object] | None = None) -> GaugeStudyIn:
    """Return the study in a file's bytes: JSON, or CSV with the header `part,person,trial,value`.

    `beside` holds what a CSV cannot say. Raises BadInput.
    """
    text = text_of(content)
    if is_json(text):
        return gauge_study_from(read_json(text))
    rows = rows_from_csv(text, TABLE)
    sent = {**(beside or {}), "format": GAUGE_STUDY_FORMAT}
    try:
        readings = [{**row, "trial": _whole(row.get("trial"))} for _, row in rows]
        return checked(GaugeStudyIn, {**sent, "readings": readings})
    except BadInput as error:
        raise placed_by_row(error, rows, "readings") from None


def _whole(cell: object) -> object:
    """Digits as a whole number; what is none stays a text, and the schema refuses it."""
    digits = isinstance(cell, str) and cell.isascii() and cell.isdigit() and len(cell) < 10
    return int(str(cell)) if digits else cell
