"""Insurers: kept, found, changed."""

import pytest

from app.errors import NotAllowed, NotFound
from app.schemas.insurer import InsurerIn
from app.services import insurers
from tests.services.workshop import Workshop


def test_insurers_are_found_in_order_of_their_names(workshop: Workshop) -> None:
    names = ["Öland Invented", "alpha Invented", "Zeta"]
    made = {name: workshop.do(insurers.create, "desk", InsurerIn(name=name)) for name in names}

    assert workshop.see(insurers.find, "technician") == (
        made["alpha Invented"], made["Öland Invented"], made["Zeta"],
    )  # fmt: skip
    assert workshop.see(insurers.find, "desk", "oland") == (made["Öland Invented"],)


def test_an_insurer_is_changed(workshop: Workshop) -> None:
    made = workshop.do(insurers.create, "desk", InsurerIn(name="Alpha", phone="1"))

    changed = workshop.do(insurers.update, "desk", made.id, InsurerIn(name="Beta"))

    assert workshop.see(insurers.read, "desk", made.id) == changed
    assert (changed.name, changed.phone) == ("Beta", None)


def test_refusals(workshop: Workshop) -> None:
    with pytest.raises(NotFound, match="no_such_insurer"):
        workshop.see(insurers.read, "desk", 3)
    with pytest.raises(NotAllowed):
        workshop.do(insurers.create, "inspector", InsurerIn(name="Alpha"))
