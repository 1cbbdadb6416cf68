"""A finding apart for the first page of a certificate: the sentence itself, and how sure it is."""

from app.wording.numbers import plain, probability, size
from app.wording.translation import _
from app.wording.verdicts import (
    FIGURES_SAY_NOTHING_OF,
    SAYS_NOTHING_OF,
    Tally,
    finding_parts,
    named,
)


def headline(code: str, sentence: str, tally: Tally) -> str:
    """The finding's own sentence, from the whole text that was stored.

    What follows it is told elsewhere on the page. A text that ends otherwise stays whole.
    """
    _first, *rest = [*finding_parts(code, tally), _(SAYS_NOTHING_OF)]
    return sentence.removesuffix(" ".join(rest)).rstrip() or sentence


def without_usual_end(sentence: str) -> str:
    """The text of a finding without what every one of them ends with."""
    return sentence.strip().removesuffix(_(SAYS_NOTHING_OF))


def beside(code: str, tally: Tally, *, seen: bool = False) -> str:
    """What else the finding's text says: what is undecided, missing, and not spoken of.

    seen: whether damage that figures do not show is told below.
    """
    told = finding_parts(code, tally._replace(probability_all=None))[1:]
    if code == "outside" and tally.undecided:
        told.insert(0, _("Undecided: {names}.").format(names=named(tally.undecided)))
    return " ".join([*told, _(FIGURES_SAY_NOTHING_OF if seen else SAYS_NOTHING_OF)])


def slip_left_out(detectable_slip_mm: float | None) -> str:
    """That no probability has a slip of the set-up in it which the repeats may not have shown."""
    if detectable_slip_mm is None:
        return _("Left out: any slip of the set-up.")
    return _("Left out: a slip of the set-up under {size}, which may escape notice.").format(
        size=size(detectable_slip_mm, "mm")
    )


def how_sure(code: str, tally: Tally, p_within: float | None) -> str:
    """How sure the finding is, in one line.

    p_within: of the characteristics that are outside, the largest probability of being within.
    """
    needed = plain(tally.threshold)
    if code == "outside" and p_within is not None:
        text = _(
            "How sure: the least probability of being outside among these is {p}; {c} is needed."
        )
        return text.format(p=probability(1.0 - p_within), c=needed)
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
