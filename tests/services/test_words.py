"""Words that a person gives with an act."""

from collections.abc import Callable

import pytest

from app.errors import BadInput
from app.services.words import line, words
from app.wording.errors import explain


@pytest.mark.parametrize("sent", [None, "", "  \n"])
@pytest.mark.parametrize("taken", [words, line])
def test_no_words_at_all_are_empty_words(taken: Callable[[object, str], str], sent: object) -> None:
    with pytest.raises(BadInput) as caught:
        taken(sent, "reason")
    said = explain(caught.value)
    assert (said.met, said.action) == ("reason is empty", "fill it in")
