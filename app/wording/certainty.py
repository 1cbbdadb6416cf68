"""A finding apart for the first page of a certificate: the sentence itself, and how sure it is."""

from app.wording.numbers import plain, probability
from app.wording.translation import _
from app.wording.verdicts import SAYS_NOTHING_OF, Tally, finding_parts


def headline(code: str, sentence: str, tally: Tally) -> str:
    """The finding's own sentence, from the whole text that was stored.

    What follows it is told elsewhere on the page. A text that ends otherwise stays whole.
    """
    _first, *rest = [*finding_parts(code, tally), _(SAYS_NOTHING_OF)]
    return sentence.removesuffix(" ".join(rest)).rstrip() or sentence


def beside(code: str, tally: Tally) -> str:
    """What else the finding's text says: what is undecided, missing, and not spoken of."""
    told = finding_parts(code, tally._replace(probability_all=None))[1:]
    return " ".join([*told, _(SAYS_NOTHING_OF)])


def how_sure(code: str, tally: Tally, p_within: float | None) -> str:
    """How sure the finding is, in one line.

    p_within: of the characteristics that are outside, the largest probability of being within.
    """
    needed = plain(tally.threshold)
    if code == "outside" and p_within is not None:
        text = _(
            "How sure: the largest probability that one of these is within after all is {p}; "
            "outside is said when the probability of that is {c} or more."
        )
        return text.format(p=probability(p_within), c=needed)
    if tally.probability_all is None:
        return _("How sure: nothing can be said of all of them at once.")
    if code == "within":
        text = _(
            "How sure: the probability that all required ones are within at once is {p}; {c} is "
            "needed."
        )
    else:
        text = _(
            "How sure: not enough. The probability that all required ones are within at once is "
            "{p}; {c} is needed to say so."
        )
    return text.format(p=probability(tally.probability_all), c=needed)
