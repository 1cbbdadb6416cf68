"""What is kept about a customer, in words that are fit to be handed to them."""

from app.wording.translation import _, counted, later

GROUPS: dict[str, tuple[str, str]] = {
    "reach": (
        later("Name and how to reach you"),
        later("To know whose machine it is, and to reach you about it."),
    ),
    "machines": (
        later("Your machines"),
        later("To tell the machine apart, in reports and when it comes again."),
    ),
    "jobs": (
        later("What was done for you"),
        later("To inspect the machine, to report on it, and to answer for that report later."),
    ),
    "named": (
        later("Where else your name may stand"),
        later(
            "In what was noted of the machine and of the work on it, to answer for it later; it "
            "cannot be changed."
        ),
    ),
    "log": (
        later("In the event log"),
        later(
            "The shop writes down every change, so that nobody can alter the records unseen. What "
            "of it speaks of you stands here; erasing empties it."
        ),
    ),
}
"""Each group's title, and why the shop keeps it."""

NAMES_YOU = later("it names you, the machine and the claim, and is signed: it cannot be changed")


def group(code: str) -> tuple[str, str]:
    """Return a group's title, and why it is kept."""
    title, why = GROUPS[code]
    return _(title), _(why)


def given(way: str, moment: str) -> str:
    """Return when what is kept was given to the customer, and how."""
    ways = {"paper": _("given on paper, {moment}"), "file": _("given as a file, {moment}")}
    return ways[way].format(moment=moment)


def how_long(uses_days: int, answers_days: int) -> tuple[str, ...]:
    """Return for how long it is kept, a sentence each."""
    return (
        _("No day is set on which it ends: it is kept until the shop erases it."),
        _(
            "Signed certificates stay in the register: others may hold them, and the shop answers "
            "for what they say."
        ),
        _("Uses of links, by others than the shop, are deleted after {count} days.").format(
            count=uses_days
        ),
        _(
            "Answers that were given to the shop's own programs are kept for {count} days, in case "
            "one asks for them twice."
        ).format(count=answers_days),
        _(
            "Backups of the records hold what was kept when they were made, as long as the shop "
            "keeps them. What was signed or printed on paper is not in these records."
        ),
    )


def photos(count: int, shared: int, gone: int) -> str:
    """Return how many photos are kept, and where."""
    if not count and not gone:
        return _("none")
    told = [
        counted(
            "{count} photo, in the shop's records", "{count} photos, in the shop's records", count
        ).format(count=count)
    ]
    if shared:
        told.append(
            counted(
                "{count} of them goes with the claim to whoever has a link to it",
                "{count} of them go with the claim to whoever has a link to it",
                shared,
            ).format(count=shared)
        )
    if gone:
        told.append(_("{count} erased").format(count=gone))
    return "; ".join(told)


def measured(surveys: int, answers: int, corrections: int) -> str:
    """Return how much is on record of the machine, which speaks of nobody."""
    parts = (
        counted("{count} measurement", "{count} measurements", surveys).format(count=surveys),
        counted("{count} answer of the visual check", "{count} answers of the visual check",
                answers).format(count=answers),
        counted("{count} correction", "{count} corrections", corrections).format(
            count=corrections
        ),
    )  # fmt: skip
    return ", ".join(parts)
