"""The finding apart, for the first page: the sentence, and how sure it is."""

import pytest

from app.wording.certainty import beside, headline, how_sure
from app.wording.verdicts import SAYS_NOTHING_OF, Tally, finding_sentence

TALLIES = {
    "within": Tally("R, revision 1", ("head_twist", "head_reach"), probability_all=0.987),
    "outside": Tally("R, revision 1", ("head_reach",), ("head_twist",), missing=("head_offset",)),
    "undecided": Tally("R, revision 1", undecided=("head_twist",), probability_all=0.61),
}


@pytest.mark.parametrize("code", TALLIES)
def test_headline_and_rest_are_all_of_the_finding(code: str) -> None:
    """The stored text names the reference; what is counted again does not know it."""
    tally = TALLIES[code]
    sentence = finding_sentence(code, tally)
    counted = tally._replace(reference="")
    told = headline(code, sentence, counted)
    assert sentence.startswith(told)
    assert told.endswith(".")
    assert "R, revision 1" in told
    assert SAYS_NOTHING_OF not in told
    assert "robability" not in told
    assert beside(code, counted).endswith(SAYS_NOTHING_OF)
    assert ("Not measured: head offset." in beside(code, counted)) == (code == "outside")


def test_a_text_of_another_day_stays_whole() -> None:
    assert headline("within", "All is well, they said.", TALLIES["within"]) == (
        "All is well, they said."
    )


def test_how_sure_it_is_stands_with_what_is_needed() -> None:
    assert how_sure("within", TALLIES["within"], None) == (
        "How sure: the probability that all required ones are within at once is 0.987; 0.95 is "
        "needed."
    )
    assert how_sure("outside", TALLIES["outside"], 0.0213) == (
        "How sure: the largest probability that one of these is within after all is 0.0213; "
        "outside is said when the probability of that is 0.95 or more."
    )
    assert "not enough" in how_sure("undecided", TALLIES["undecided"], None)
    assert "0.61" in how_sure("undecided", TALLIES["undecided"], None)
    nothing = Tally("R", ("head_twist",))
    assert how_sure("undecided", nothing, None).startswith("How sure: nothing can be said")


@pytest.mark.parametrize("code", TALLIES)
def test_none_of_it_calls_the_machine_good(code: str) -> None:
    words = how_sure(code, TALLIES[code], 0.01) + beside(code, TALLIES[code])
    for word in (" safe", " good", " sound", " straight"):
        assert word not in words
