"""How far down the first page will reach, foreseen from the letters alone.

Laying a page out takes a tenth of a second and more. This foresees, to a few millimetres, which of
the ways holds it, so that one layout is enough; what it says is checked there. The lengths are
those of the style sheet, and a test holds both together.
"""

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from app.documents.content import CertificateContent, Line
from app.documents.first_page import Fit
from app.documents.fonts import letter_widths
from app.documents.line_ends import kept_together

MM = 25.4 / 72.0
Runs = tuple[tuple[str, bool], ...]
"""Words one after the other, and whether they are bold."""

TOP_MM, WIDTH_MM, COLUMN_MM = 15.0, 176.0, 84.0
LABEL_MM, VALUE_MM = 23.0, 58.1
FIELD_MM, CODE_MM = 19.0, 20.0
TITLE_MM = (18.0 * 1.15 + 11.0 * 1.38) * MM + 1.0
KEY = (
    "Bar: reference in the centre, limits as upright strokes, deviation as dot (diamond: outside) "
    "on its uncertainty (hatched: undecided), triangle at an end: beyond the scale."
)
KEY_OF_SOME = (
    "12 of the 24 that are required or outside, those that are not within first; all of them stand "
    "under Results."
)
KEY_OF_AXIS = "Up the steering axis is not straight up."
MARKS = {"†": "† Limits not from the maker.", "††": "†† Limits without a source."}
NOT_REQUIRED = ", not required"
VIEW_BOX = re.compile(r'viewBox="\S+ \S+ (\S+) (\S+)"')


@dataclass(frozen=True, slots=True)
class Density:
    """Letters in points, lengths in mm."""

    letter: float
    line: float
    below_head: float
    below_finding: float
    shop: float
    heading: float
    below_heading: float
    label: float
    between: float
    above_bars: float
    bars: float
    row: float
    """Above and below the words of a bar."""
    above_bottom: float
    drawing: float
    above_check: float


DENSITIES = {
    "roomy": Density(9, 1.38, 4, 4.5, 8.5, 11, 1.6, 8.5, 4, 4, 8.5, 0.8, 4, 88, 2.5),
    "snug": Density(8.5, 1.32, 3, 3, 8.5, 10, 0.8, 8, 2.5, 2.5, 8, 0.5, 2.5, 74, 2.5),
    "close": Density(9, 1.38, 4, 4.5, 8.5, 11, 1.6, 8.5, 4, 3, 8.5, 0.5, 4, 70, 2.5),
    "closest": Density(8, 1.3, 3, 3, 7.5, 9, 0.8, 7.5, 2, 2, 7.5, 0.5, 2, 70, 1.5),
}


@dataclass(frozen=True, slots=True)
class Drawn:
    """Height of a drawing by its width."""

    side: float
    bar: float


def aspect(svg: str) -> float:
    """Height by width of a drawing."""
    found = VIEW_BOX.search(svg)
    return float(found[2]) / float(found[1]) if found else 0.0


def foreseen_mm(content: CertificateContent, fit: Fit, drawn: Drawn) -> float:
    """How far from the paper's upper edge the page will reach, about."""
    one = DENSITIES[fit.name]
    shop = sum(rows(line, one.shop, 78.0) for line in fit.shop(content.shop))
    return (
        TOP_MM
        + max(title_mm(content, one), shop * one.shop * 1.32 * MM)
        + one.below_head
        + finding_mm(content, one)
        + one.below_finding
        + answers_mm(content, one)
        + bars_mm(content, fit, one, drawn)
        + bottom_mm(fit, one, drawn)
    )


def title_mm(content: CertificateContent, one: Density) -> float:
    """Title and number, with what stands below them."""
    below = rows(content.subtitle, one.letter, WIDTH_MM - 78.0) if content.subtitle else 0
    return TITLE_MM + below * one.letter * one.line * MM


def finding_mm(content: CertificateContent, one: Density) -> float:
    """The box with the finding."""
    inside = WIDTH_MM - 5.1
    large = 14.0 if content.headline else 12.0
    words = list(paragraphs(content))
    small = sum(
        runs_rows(runs, one.letter, inside) * one.letter * one.line * MM + 1.0 for runs in words
    )
    sentence = rows(content.headline or content.finding_sentence, large, inside) * large * 1.2 * MM
    return 0.8 + 9.0 * one.line * MM + 0.5 + sentence + small


def paragraphs(content: CertificateContent) -> Iterator[Runs]:
    """What stands below the finding, each paragraph with what of it is bold."""
    if content.headline:
        yield (content.about_reference, True), (content.how_sure, False)
    if content.on_hold or content.on_damage:
        hold = "On hold: " * bool(content.on_hold) + content.on_hold
        yield ((f"{hold} {content.on_damage}", True),)
    if content.before_headline:
        yield (f"{content.before_name}:", True), (content.before_headline, False)
    yield ((content.visual_check.in_brief or "Visual check of 19 items: 0 seen.", False),)
    if content.parts_not_measured or content.not_told_apart:
        yield (content.parts_not_measured, True), (content.not_told_apart, False)
    if content.replaces:
        yield ((content.replaces, True),)


def answers_mm(content: CertificateContent, one: Density) -> float:
    """Machine, claim, measurement, certificate."""
    upper = max(facts_mm(content.machine, one), facts_mm(content.claim, one))
    left, right = content.measured or content.dates, content.in_force
    lower = max(facts_mm(left, one), facts_mm(right, one))
    heading = one.heading * one.line * MM + one.below_heading
    return 2.0 * heading + upper + one.between + lower


def facts_mm(lines: Iterable[Line], one: Density) -> float:
    """Labelled facts below each other."""
    return sum(
        max(
            rows(line.value, one.letter, VALUE_MM) * one.letter,
            rows(line.label, one.label, LABEL_MM) * one.label,
        )
        * 1.3
        * MM
        + 0.6
        for line in lines
    )


def bars_mm(content: CertificateContent, fit: Fit, one: Density, drawn: Drawn) -> float:
    """The list of what is required, with what explains it."""
    lines = fit.listed(content)
    if not lines:
        return 0.0
    name, bar, verdict = (38.0, 30.0, 17.0) if fit.two_lines else (54.0, 24.0, 14.0)
    words = WIDTH_MM - name - verdict - bar - (4.0 if fit.two_lines else 3.0) - 2.0
    height = one.above_bars + 2.0 * 8.0 * one.line * MM + 0.8
    for line in lines:
        if fit.two_lines:
            left = rows(line.name, one.bars, name - 2.0, bold=True) + 1 + (not line.required)
        else:
            mark = f"\N{NO-BREAK SPACE}{line.mark}" if line.mark else ""
            allowed = f"{line.limits}{mark}{'' if line.required else NOT_REQUIRED}"
            left = runs_rows(((line.name, True), (allowed, False)), one.bars, name - 2.0)
        right = rows(f"{line.now.deviation} ({line.now.uncertainty})", one.bars, words)
        right += bool(line.before and (fit.two_lines or fit.was))
        found = rows(line.now.word, one.bars, verdict, bold=True)
        text = max(left, right, found) * one.bars * 1.25 * MM
        height += max(text, bar * drawn.bar if line.bar else 0.0) + 2.0 * one.row + 0.1
    return height + rows(key_words(content, len(lines)), 7.5, WIDTH_MM) * 7.5 * 1.3 * MM + 1.2


def key_words(content: CertificateContent, shown: int) -> str:
    """What explains the bars, as long as the template says it."""
    words = [KEY]
    if shown < len(content.listed):
        words.insert(0, KEY_OF_SOME)
    if content.outline_before is not None:
        words.append("Ring or hollow triangle: before.")
    if content.lists_along_axis:
        words.append(KEY_OF_AXIS)
    words += [words_of for mark, words_of in MARKS.items() if mark in content.marks]
    return " ".join(words)


def bottom_mm(fit: Fit, one: Density, drawn: Drawn) -> float:
    """The side view beside signature and code; without it, these beside each other."""
    heading = 11.0 * one.line * MM + 1.6
    if not fit.drawing:
        return one.above_bottom + heading + CODE_MM
    beside = heading + FIELD_MM + one.above_check + CODE_MM
    return one.above_bottom + max(one.drawing * drawn.side, beside)


def rows(text: str, letter: float, width_mm: float, *, bold: bool = False) -> int:
    """How many lines a text takes when its words fill lines of that width."""
    return runs_rows(((text, bold),), letter, width_mm)


def runs_rows(runs: Runs, letter: float, width_mm: float) -> int:
    """The same of words of which some are bold."""
    words = []
    for text, bold in runs:
        widths = letter_widths("bold.ttf" if bold else "regular.ttf")
        words += [wide(word, widths) for word in kept_together(text).split(" ") if word]
    space = letter_widths("regular.ttf")[ord(" ")]
    return lines_of(words, space, width_mm / MM / letter)


def lines_of(words: Sequence[float], space: float, room: float) -> int:
    """Lines that words of these widths fill; a word wider than a line is broken."""
    count, filled = 1, 0.0
    for word in words:
        needed = word if not filled else filled + space + word
        if needed > room and filled:
            count, needed = count + 1, word
        while needed > room:
            count, needed = count + 1, needed - room
        filled = needed
    return count


def wide(word: str, widths: dict[int, float]) -> float:
    """Width of a word in heights of its letters."""
    return sum(widths.get(ord(letter), 0.6) for letter in word)
