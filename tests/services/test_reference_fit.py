"""Whether a reference is of a machine, by make, model and the years it names."""

import dataclasses
from typing import Any

import pytest

from app.services import check_in, customers, jobs, reference_fit, references
from app.services.machines import MachineView
from app.services.references import ReferenceView
from tests.services.documents import reference_document
from tests.services.forms import check_in_form
from tests.services.workshop import Workshop


@pytest.fixture
def number(workshop: Workshop) -> str:
    return workshop.do(check_in.check_in, "desk", check_in_form()).job_number


def made(workshop: Workshop, **machine: Any) -> ReferenceView:
    document = {**reference_document(), "machine": machine}
    return workshop.do(references.create, "owner", document)


def machine_of(workshop: Workshop, number: str, year: int | None = 2021) -> MachineView:
    machine = workshop.see(jobs.read, "desk", number).machine
    return dataclasses.replace(machine, year=year)


@pytest.mark.parametrize(
    ("years", "year", "differs"),
    [
        ("2019-2022", 2021, False), ("2019 \u2013 2022", 2022, False), ("2019-2020", 2021, True),
        ("2022-", 2021, True), ("2019-", 2021, False), ("2021", 2021, False), ("2020", 2021, True),
        ("second series", 2021, False), (None, 2021, False), ("2022", None, False),
    ],
)  # fmt: skip
def test_years_are_held_against_a_known_year_alone(
    workshop: Workshop, number: str, years: str | None, year: int | None, differs: bool
) -> None:
    one = made(workshop, make="Fjordmark", model="Skarv 700", years=years)
    found = reference_fit.differing(machine_of(workshop, number, year), one.latest)
    assert found == (("year",) if differs else ())


def test_make_and_model_are_read_without_case_and_spaces(workshop: Workshop, number: str) -> None:
    machine = machine_of(workshop, number)
    own = made(workshop, make="FJORDMARK", model="Skarv   700")
    assert reference_fit.differing(machine, own.latest) == ()
    other = made(workshop, make="Fjordmark", model="Skarv 900")
    assert reference_fit.differing(machine, other.latest) == ("model",)
    assert reference_fit.differing(machine, made(workshop).latest) == ("make", "model")


def test_the_reason_for_anothers_is_erased_with_the_customer(
    workshop: Workshop, number: str
) -> None:
    other = made(workshop, make="Aldermark", model="Alk 500")
    workshop.do(reference_fit.choose, "technician", number, other.id, "same frame")
    job = workshop.see(jobs.read, "desk", number)
    assert workshop.see(reference_fit.why_another, "desk", job) == "same frame"
    workshop.do(customers.erase, "owner", job.customer.id, "asked for it")
    assert workshop.see(reference_fit.why_another, "desk", job) == ""
