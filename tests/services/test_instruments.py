"""Instruments: what their calibrations found, and whether they were in calibration on a day."""

from datetime import date
from typing import Any

import pytest
from pydantic import ValidationError

from app.errors import BadInput, Conflict, NotAllowed, NotFound
from app.records.permanence import PermanentRecord
from app.records.tables import Calibration
from app.schemas.instrument import InstrumentIn
from app.services import instruments
from tests.services.documents import ARM, calibration
from tests.services.workshop import Workshop


def test_an_instrument_comes_with_its_calibration(workshop: Workshop) -> None:
    made = workshop.do(instruments.create, "inspector", ARM, calibration=calibration())

    assert workshop.see(instruments.read, "technician", made.id) == made
    (found,) = made.calibrations
    assert (found.standard_uncertainty_mm, found.offset_u_mm, found.scale_u_ppm) == (0.1, 0.02, 20)
    assert (found.probe_radius_mm, found.repeatability_mm) == (3.0, None)
    assert (found.calibrated, found.due) == (date(2026, 1, 10), date(2027, 1, 10))
    assert (found.laboratory, found.passed) == ("Invented Laboratory", True)


DAYS = {
    "the day before": (date(2026, 1, 9), False),
    "the first day": (date(2026, 1, 10), True),
    "the last day": (date(2027, 1, 10), True),
    "the day after": (date(2027, 1, 11), False),
}


@pytest.mark.parametrize("name", DAYS)
def test_in_calibration_from_the_first_to_the_last_day(workshop: Workshop, name: str) -> None:
    made = workshop.do(instruments.create, "owner", ARM, calibration=calibration())
    day, expected = DAYS[name]

    assert made.in_calibration(day) is expected


def test_the_newest_calibration_before_a_day_counts(workshop: Workshop) -> None:
    made = workshop.do(instruments.create, "owner", ARM, calibration=calibration())
    failed = calibration(calibrated="2026-06-01", standard_uncertainty_mm=0.4, passed=False)
    later = workshop.do(instruments.calibrate, "owner", made.id, failed)

    before, after = date(2026, 5, 31), date(2026, 6, 1)
    assert [one.standard_uncertainty_mm for one in later.calibrations] == [0.4, 0.1]
    assert (later.in_calibration(before), later.in_calibration(after)) == (True, False)
    on_the_day = later.calibration_on(after)
    assert on_the_day is not None
    assert on_the_day.passed is False
    assert later.calibration_on(date(2025, 1, 1)) is None


def test_without_a_calibration_it_is_out_of_calibration(workshop: Workshop) -> None:
    made = workshop.do(instruments.create, "owner", ARM)

    assert made.calibrations == ()
    assert made.in_calibration(date(2026, 3, 2)) is False


def test_a_calibration_is_never_changed(workshop: Workshop) -> None:
    made = workshop.do(instruments.create, "owner", ARM, calibration=calibration())

    with pytest.raises(PermanentRecord):
        workshop.tamper(Calibration, made.calibrations[0].id, standard_uncertainty_mm=0.01)


def test_one_name_is_one_instrument(workshop: Workshop) -> None:
    first = workshop.do(instruments.create, "owner", ARM)
    second = workshop.do(instruments.create, "owner", InstrumentIn(name="gauge"))

    with pytest.raises(Conflict, match="instrument_name_taken"):
        workshop.do(instruments.create, "owner", ARM)
    with pytest.raises(Conflict, match="instrument_name_taken"):
        workshop.do(instruments.update, "owner", second.id, ARM)
    renamed = workshop.do(instruments.update, "owner", first.id, InstrumentIn(name="arm 3"))
    assert (renamed.name, renamed.serial_number) == ("arm 3", None)


def test_a_retired_instrument_stays_and_is_not_calibrated(workshop: Workshop) -> None:
    made = workshop.do(instruments.create, "owner", ARM)

    retired = workshop.do(instruments.retire, "owner", made.id, "dropped")

    assert retired.retired_at == workshop.now
    assert workshop.see(instruments.listing, "technician") == ()
    assert workshop.see(instruments.listing, "technician", include_retired=True) == (retired,)
    with pytest.raises(Conflict, match="instrument_retired"):
        workshop.do(instruments.calibrate, "owner", made.id, calibration())
    with pytest.raises(Conflict, match="instrument_retired"):
        workshop.do(instruments.retire, "owner", made.id, "again")


BAD_FIGURES: dict[str, dict[str, Any]] = {
    "no uncertainty": {"standard_uncertainty_mm": 0.0},
    "a negative uncertainty": {"standard_uncertainty_mm": -0.1},
    "not a number": {"offset_u_mm": float("nan")},
    "beyond all numbers": {"scale_u_ppm": float("1e999")},
    "a text": {"standard_uncertainty_mm": "0,1"},
    "due before calibrated": {"due": "2026-01-09"},
    "no day": {"calibrated": "soon"},
    "an unknown key": {"accuracy": 1.0},
}


@pytest.mark.parametrize("name", BAD_FIGURES)
def test_a_calibration_that_makes_no_sense_is_refused(name: str) -> None:
    with pytest.raises(ValidationError):
        calibration(**BAD_FIGURES[name])


def test_refusals(workshop: Workshop) -> None:
    with pytest.raises(NotFound, match="no_such_instrument"):
        workshop.see(instruments.read, "desk", 9)
    made = workshop.do(instruments.create, "owner", ARM)
    with pytest.raises(BadInput):
        workshop.do(instruments.retire, "owner", made.id, "")
    for role in ("desk", "technician"):
        with pytest.raises(NotAllowed):
            workshop.do(instruments.create, role, ARM)
