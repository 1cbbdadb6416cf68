"""The colours and letters of drawings: one set for pages, one for print.

A page may be dark: there the ink is `currentColor`, and every coloured element carries a class
that the page's style sheet may recolour: `within`, `outside`, `undecided`, `reference`, `before`,
`accent`, `muted`, `tint`.
"""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Inks:
    ink: str
    muted: str
    accent: str
    """Arrows of deviation and their words."""
    reference: str
    within: str
    outside: str
    undecided: str
    paper: str
    """Inside of hollow marks."""
    family: str
    """Font family of all text."""

    def of_verdict(self, verdict: str) -> str:
        """The colour of a verdict; never the only sign of it."""
        colours = {"within": self.within, "outside": self.outside, "undecided": self.undecided}
        return colours.get(verdict, self.ink)


PRINT_FAMILY = "Jigbook Certificate"

PAGE = Inks(
    ink="currentColor",
    muted="#50565D",
    accent="#0F4C5C",
    reference="#6E747B",
    within="#00527F",
    outside="#8F3200",
    undecided="#5C4700",
    paper="none",
    family="system-ui, sans-serif",
)
PRINT = Inks(
    ink="#1B1F23",
    muted="#50565D",
    accent="#0F4C5C",
    reference="#6E747B",
    within="#00527F",
    outside="#8F3200",
    undecided="#5C4700",
    paper="#FFFFFF",
    family=PRINT_FAMILY,
)
