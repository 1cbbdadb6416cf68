"""How much goes on the first page: the signature, with what an adjuster asks first, stands there.

Names, addresses and the list of what is required may be long. The page is tried with ever less
room for what is told again elsewhere, never with less of what is only told here.
"""

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from app.documents.content import CertificateContent, CharacteristicLine

BY_NEED = ("outside", "undecided", "within", "no_tolerance")


@dataclass(frozen=True, slots=True)
class Fit:
    """One way to lay the page out."""

    name: str
    """`roomy`, `snug`, `close`, `closest`, `least`: a class of the style sheet."""
    bars: int
    """Most characteristics that the page lists."""
    drawing: bool = True
    two_lines: bool = False
    """Whether a bar has a second line, with its limits and how it was before."""
    was: bool = False
    """Whether how it was before stands in a second line, and the limits in the first."""

    def shop(self, lines: Sequence[str]) -> Sequence[str]:
        """The shop's lines; where room is short, the address in one."""
        if self.name in ("roomy", "snug", "close"):
            return lines
        return (lines[0], ", ".join(lines[1:])) if lines[1:] else lines

    def listed(self, content: CertificateContent) -> tuple[CharacteristicLine, ...]:
        """The characteristics that the page lists, required or outside, in their order."""
        by_need = sorted(content.listed, key=lambda line: BY_NEED.index(line.now.verdict))
        kept = {line.key for line in by_need[: self.bars]}
        return tuple(line for line in content.listed if line.key in kept)


ROOMY_BARS, CLOSE_BARS, MOST_BARS, LEAST_BARS = 7, 12, 24, 8
"""Most bars that there is any chance for, or any use of, in each way."""
FEWEST = 3
"""Where the page holds fewer in small letters, smaller ones hold more."""
ROOM_MM = 297.0 - 21.0
"""From the paper's upper edge to where the running foot begins, as in the style sheet."""
ROW_MM = 4.3
"""Height of a bar in one line."""


def with_all(content: CertificateContent) -> Iterator[Fit]:
    """Ways to lay the page out with every characteristic to be listed, the roomiest first.

    The side view gives way before a bar does: all views are drawn on the next page.
    """
    count = len(content.listed)
    beside = content.outline_before is not None
    if count <= ROOMY_BARS:
        yield Fit("roomy", count, two_lines=True)
        if beside:
            yield Fit("snug", count, two_lines=True)
            yield Fit("closest", count, two_lines=True)
            yield Fit("closest", count, was=True)
    if count <= CLOSE_BARS:
        yield Fit("close", count)
        yield Fit("closest", count)
        if beside:
            yield Fit("closest", count, drawing=False, two_lines=True)
    yield Fit("closest", min(count, MOST_BARS), drawing=False)


def fitting(ways: Iterator[Fit], extent_mm: Callable[[Fit], float]) -> Fit:
    """The first way that the page holds; else the last of them with fewer bars, in the end in the
    smallest letters.

    extent_mm: how far from the paper's upper edge a way of laying it out reaches.
    """
    last = Fit("closest", MOST_BARS, drawing=False)
    for last in ways:
        if extent_mm(last) <= ROOM_MM:
            return last
    fewer = with_fewer(last, extent_mm)
    if fewer.bars >= FEWEST:
        return fewer
    return with_fewer(Fit("least", min(last.bars, LEAST_BARS), drawing=False), extent_mm)


def with_fewer(fit: Fit, extent_mm: Callable[[Fit], float]) -> Fit:
    """The same with as many bars as the page holds; without any where it holds none."""
    while fit.bars and (over := extent_mm(fit) - ROOM_MM) > 0.0:
        fit = Fit(fit.name, max(0, fit.bars - math.ceil(over / ROW_MM)), fit.drawing)
    return fit
