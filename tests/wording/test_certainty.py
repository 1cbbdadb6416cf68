"""The finding apart, for the first page: the sentence, and how sure it is."""

import pytest

from app.wording.certainty import beside, headline, how_sure, slip_left_out
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
    assert beside(code, counted, seen=True).endswith("what was seen stands below.")
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
        "How sure: the least probability of being outside among these is 0.9787; 0.95 is needed."
    )
    assert "not enough" in how_sure("undecided", TALLIES["undecided"], None)
    assert "0.61" in how_sure("undecided", TALLIES["undecided"], None)
    nothing = Tally("R", ("head_twist",))
    assert how_sure("undecided", nothing, None).startswith("How sure: nothing can be said")


def test_what_is_undecided_beside_what_is_outside_is_named() -> None:
    tally = TALLIES["outside"]._replace(undecided=("head_offset", "arm_length"))
    assert beside("outside", tally).startswith("Undecided: head offset, arm length. ")
    assert "Undecided" not in beside("outside", TALLIES["outside"])


def test_a_slip_that_may_escape_is_said_to_be_in_no_probability() -> None:
    told = slip_left_out(1.118)
    assert told == "Left out: a slip of the set-up under 1.12 mm, which may escape notice."
    assert slip_left_out(None) == "Left out: any slip of the set-up."


@pytest.mark.parametrize("code", TALLIES)
def test_none_of_it_calls_the_machine_good(code: str) -> None:
    words = how_sure(code, TALLIES[code], 0.01) + beside(code, TALLIES[code])
    for word in (" safe", " good", " sound", " straight"):
        assert word not in words
