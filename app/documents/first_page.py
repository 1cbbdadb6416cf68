"""How much goes on the first page: the signature, with what an adjuster asks first, stands there.

Names, addresses and the list of what is required may be long. The page is tried with ever less
room for what is told again elsewhere, never with less of what is only told here.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from app.documents.content import CertificateContent, CharacteristicLine

NOT_WITHIN_FIRST = {"outside": 0, "undecided": 1}


@dataclass(frozen=True, slots=True)
class Fit:
    """One way to lay the page out."""

    name: str
    """`roomy`, `close`, `closest`: a class of the style sheet."""
    bars: int
    """Most required characteristics that the page lists."""
    drawing: bool = True

    @property
    def two_lines(self) -> bool:
        """Whether a bar has a second line, with its limits and how it was before."""
        return self.name == "roomy"

    def shop(self, lines: Sequence[str]) -> Sequence[str]:
        """The shop's lines; where room is short, the address in one."""
        if self.name != "closest":
            return lines
        return (lines[0], ", ".join(lines[1:])) if lines[1:] else lines

    def required(self, content: CertificateContent) -> tuple[CharacteristicLine, ...]:
        """The characteristics that the page lists, in their order."""
        by_need = sorted(
            content.required, key=lambda line: NOT_WITHIN_FIRST.get(line.now.verdict, 2)
        )
        kept = {line.key for line in by_need[: self.bars]}
        return tuple(line for line in content.required if line.key in kept)


ROOMY_BARS, CLOSE_BARS, MOST_BARS = 7, 12, 24
STEP = 2
SMALLEST = Fit("closest", 0, drawing=False)


def fits(content: CertificateContent) -> Iterator[Fit]:
    """Ways to lay the page out, from the roomiest on that there is a chance for.

    The side view gives way before a bar does: all views are drawn on a later page.
    """
    count = len(content.required)
    if count <= ROOMY_BARS:
        yield Fit("roomy", count)
    if count <= CLOSE_BARS:
        yield Fit("close", count)
        yield Fit("closest", count)
    for bars in range(min(count, MOST_BARS), 0, -STEP):
        yield Fit("closest", bars, drawing=False)
    yield SMALLEST
