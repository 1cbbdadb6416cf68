"""What a page calls a field and what a sentence about it calls it: no sentence says a key."""

import re

from app import resources
from app.wording.form_errors import FIELDS

FILLED_IN = re.compile(r'\b(?:field|area|choice|radios|checks)\(page\.form, "([^"]+)", _\(')


def test_every_field_of_the_pages_has_words_for_what_is_wrong_with_it() -> None:
    named = {
        name
        for page in resources.templates().rglob("*.html")
        for name in FILLED_IN.findall(page.read_text())
    }
    assert len(named) > 60
    assert named - FIELDS.keys() == set()
