"""What a person types finds what another person wrote."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from app.records.scope import scoped
from app.records.search_text import LONGEST, comparable, search_text
from app.records.session import Database
from app.records.tables import Customer
from tests.databases import NOW


@pytest.mark.parametrize(
    ("typed", "written"),
    [
        ("Ase", "Åse"), ("åse", "ASE"), ("strasse", "Hauptstraße 5"), ("MULLER", "Müller"),
        ("łódź", "ŁÓDŹ"), ("ﬁat", "Fiat"), ("νικοσ", "ΝΊΚΟΣ"), ("two  words", "two\twords"),
    ],
)  # fmt: skip
def test_case_and_marks_do_not_matter(typed: str, written: str) -> None:
    assert comparable(typed) in comparable(written)


@pytest.mark.parametrize("typed", ["ab-12 cd", "AB12CD", "b12c"])
def test_plates_and_numbers_are_found_with_and_without_spaces_and_dashes(typed: str) -> None:
    kept = search_text("Kim", None, marks=("AB-12 CD",))
    assert comparable(typed) in kept


def test_a_percent_sign_is_only_a_percent_sign(database: Database, shop_id: int) -> None:
    with database.write() as session:
        for name in ("100% right", "1000 right", "under_score", "underxscore"):
            session.add(
                Customer(shop_id=shop_id, name=name, search_text=search_text(name), created_at=NOW)
            )
    found = {}
    with database.read() as session:
        for typed in ("0%", "r_s", "Right"):
            query = scoped(session, shop_id, Customer).where(
                Customer.search_text.contains(comparable(typed), autoescape=True)
            )
            found[typed] = [row.name for row in session.scalars(query)]
    assert found == {
        "0%": ["100% right"], "r_s": ["under_score"], "Right": ["100% right", "1000 right"]
    }  # fmt: skip


@settings(max_examples=100, deadline=None, derandomize=True)
@given(st.text(max_size=60))
def test_what_is_comparable_stays_as_it_is(written: str) -> None:
    once = comparable(written)
    assert comparable(once) == once


def test_a_search_text_fits_its_column() -> None:
    assert len(search_text("x" * 20_000)) == LONGEST
