"""Small pieces that several pages show: verdicts with their mark, holds, names of machines."""

from dataclasses import dataclass

from app.services.machines import MachineView
from app.wording.jobs import machine as machine_in_words
from app.wording.translation import _, counted
from app.wording.verdicts import SAYS_NOTHING_OF, finding


@dataclass(frozen=True, slots=True)
class Mark:
    """A verdict: its code, which chooses the shape, and its word, which always stands beside."""

    code: str
    word: str


@dataclass(frozen=True, slots=True)
class Fact:
    """One labelled fact."""

    label: str
    value: str


def mark(verdict: str) -> Mark:
    """The mark of an overall finding."""
    return Mark(verdict, finding(verdict))


def opened(holds: int) -> str:
    """How many holds are open; empty when none is."""
    if not holds:
        return ""
    return counted("{count} open hold", "{count} open holds", holds).format(count=holds)


def machine_name(machine: MachineView) -> str:
    """Make, model and year in one line."""
    return machine_in_words(machine.make, machine.model, machine.year)


@dataclass(frozen=True, slots=True)
class Said:
    """A finding's sentence, and what it says that it does not say."""

    sentence: str
    caveat: str


def said_apart(sentence: str) -> Said:
    """The sentence without its standing last part, which a page shows smaller below it."""
    caveat = _(SAYS_NOTHING_OF)
    return Said(sentence.removesuffix(caveat).strip(), caveat)


def or_not_stated(value: str | int | None) -> str:
    """A value, or that nobody stated it."""
    return str(value) if value not in (None, "") else _("not stated")
