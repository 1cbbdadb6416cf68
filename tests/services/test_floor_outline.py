"""What a job's reference says of places, for the drawing at each step."""

import pytest

from app.errors import NotAllowed, NotFound
from app.services import check_in, floor_outline
from app.services.floor_outline import Nominals
from tests.services.documents import reference_document
from tests.services.forms import check_in_form
from tests.services.measuring import ready
from tests.services.workshop import Workshop


def test_nominals_are_those_of_the_reference_of_the_job(workshop: Workshop) -> None:
    number = ready(workshop).number
    found = workshop.see(floor_outline.nominals, "technician", number)
    stated = reference_document()["characteristics"]
    assert found.characteristics == {key: line["nominal"] for key, line in stated.items()}
    assert found.characteristics["head_reach"] == stated["head_reach"]["nominal"]
    assert workshop.see(floor_outline.nominals, "technician", number) is found


def test_without_a_reference_nothing_is_known(workshop: Workshop) -> None:
    number = workshop.do(check_in.check_in, "desk", check_in_form()).job_number
    assert workshop.see(floor_outline.nominals, "technician", number) == Nominals()


def test_only_who_may_see_measurements_asks_and_only_for_jobs_that_are_there(
    workshop: Workshop,
) -> None:
    number = ready(workshop).number
    with pytest.raises(NotAllowed):
        workshop.see(floor_outline.nominals, "desk", number)
    with pytest.raises(NotFound):
        workshop.see(floor_outline.nominals, "technician", "J-2026-9999")
