"""What a customer orders and is told when a machine is left here: the texts that are signed."""

from app.wording.translation import _, later

SCOPES: dict[str, str] = {
    "measure": later("measure and report"),
    "correct": later("measure, report, and correct what may be corrected"),
}

BELONGINGS = (
    later("one key"), later("two keys"), later("papers of the machine"), later("top case"),
    later("side cases"), later("tank bag"), later("lock or chain"), later("helmet"),
    later("navigation device"),
)  # fmt: skip
"""What is often left with a machine."""

NOTICE = (
    later("{shop} keeps your name and how to reach you, the data of your machine, what you told of "
          "the accident, photos, measurements and your signature, in order to inspect the machine, "
          "to report on it and to answer for that report later."),
    later("The findings go to your insurer where you named one. Nobody else gets them without your "
          "word, unless the law asks for it."),
    later("You may ask at any time what is kept about you, have it put right, and have it erased "
          "as far as the law lets the shop erase it."),
)  # fmt: skip
"""The notice on personal data, unless the shop has written its own."""


def scope(code: str) -> str:
    """Return what is ordered, as it stands on the job card; an unknown code as it is."""
    return _(SCOPES.get(code, code))


def belongings() -> tuple[str, ...]:
    return tuple(_(one) for one in BELONGINGS)


def notice(shop: str, own: str = "") -> tuple[str, ...]:
    """Return the notice on personal data, a paragraph each: the shop's own where there is one."""
    if own.strip():
        return tuple(line.strip() for line in own.splitlines() if line.strip())
    return tuple(_(paragraph).format(shop=shop) for paragraph in NOTICE)


def authorisation(shop: str, machine: str, ordered: str) -> str:
    """Return the sentence with which the customer lets the shop inspect the machine."""
    said = _("I leave the {machine} to {shop} to be inspected.").format(machine=machine, shop=shop)
    order = _("I order: {ordered}.").format(ordered=ordered.rstrip(".")) if ordered else ""
    parts = _(
        "Parts that stand in the way may be taken off for measuring. What costs more, and any "
        "correction that I did not order, needs my word first."
    )
    return " ".join(filter(None, [said, order, parts]))
