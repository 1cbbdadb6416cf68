"""What a certificate says, words and numbers ready. Nothing here decides or computes.

The content is stored as it was printed; pages that show a certificate read it from there.
"""

import dataclasses
import itertools
from collections.abc import Iterator
from dataclasses import dataclass

from app.drawings.tolerance_bar import Bar
from app.schemas.result import OutlineOut
from app.wording.labels import feature
from app.wording.translation import _


@dataclass(frozen=True, slots=True)
class Line:
    """One labelled fact."""

    label: str
    value: str


@dataclass(frozen=True, slots=True)
class Reading:
    """A characteristic as one measurement gave it; all numbers as text with their units."""

    value: str
    deviation: str
    """With its direction in words."""
    uncertainty: str
    """Empty where levelling has set the value: nothing was measured that could be uncertain."""
    coverage_factor: str
    probability: str
    """Of being within; empty without a limit."""
    verdict: str
    """Code."""
    finding: str
    """The verdict in words, with the side where it is outside."""
    word: str
    """The verdict in one word."""
    figure: str = ""
    """The value as a number alone, where `value` may have words for its direction."""


@dataclass(frozen=True, slots=True)
class CharacteristicLine:
    key: str
    name: str
    description: str
    nominal: str
    limits: str
    required: bool
    now: Reading
    before: Reading | None
    """Before the correction, where a completion sets both side by side."""
    bar: Bar | None
    section: str = ""
    """Title of the section that it stands in."""
    sources: str = ""
    """Where its uncertainty comes from, the largest first."""
    change: str = ""
    """What the correction changed, with the uncertainty of that."""
    not_the_makers: bool = False
    """Whether it has limits that the reference does not have from the maker."""
    no_source: bool = False
    """Whether these limits have no source at all."""

    @property
    def mark(self) -> str:
        """What stands behind its limits: † not from the maker, †† without a source."""
        return "††" if self.no_source else "†" if self.not_the_makers else ""


@dataclass(frozen=True, slots=True)
class Section:
    """Characteristics that stand under one title; without one in certificates of earlier days."""

    title: str
    lines: tuple[CharacteristicLine, ...]


@dataclass(frozen=True, slots=True)
class HandlingLine:
    """One figure for information."""

    name: str
    description: str
    value: str
    """With its direction in words."""
    uncertainty: str


@dataclass(frozen=True, slots=True)
class VisualCheck:
    """The list of what was looked for, by answer, and when and by whom."""

    seen: tuple[Line, ...]
    """What was seen, with its note."""
    not_seen: tuple[str, ...]
    not_checked: tuple[str, ...]
    holds: tuple[Line, ...]
    """Holds, open or closed: what opened it, and what became of it."""
    looked: str = ""
    """Who looked at how many items, and when."""
    in_brief: str = ""
    """First page: when, who, how many items, and what was seen."""

    @property
    def count(self) -> int:
        """How many items the list has."""
        return len(self.seen) + len(self.not_seen) + len(self.not_checked)


@dataclass(frozen=True, slots=True)
class People:
    """Who stands behind the certificate."""

    measured_by: str
    authorised_by: str
    authorised_title: str
    same_person: bool


@dataclass(frozen=True, slots=True)
class Correction:
    """What was done to the machine."""

    when: str
    part: str
    method: str
    words: str
    who: str
    instruction: str
    """The maker's instruction that was followed, or that none was named."""


@dataclass(frozen=True, slots=True)
class PrintedPhoto:
    """A photo that the certificate shows."""

    name: str
    caption: str
    beside: str
    """When it was added, and by whom."""
    sha256: str
    """Of the photo as the shop keeps it; the printed one is smaller."""
    photo: int
    """The number by which the shop's records know it."""


@dataclass(frozen=True, slots=True)
class CertificateContent:
    """Everything that is printed, in the order of the pages."""

    number: str
    kind: str
    """`report` or `completion`."""
    title: str
    language: str
    shop: tuple[str, ...]
    """Name, then address and further lines."""
    finding: str
    """Code of the overall finding."""
    finding_words: str
    finding_sentence: str
    replaces: str
    """The sentence that names the certificate which this one replaces, or empty."""
    machine: tuple[Line, ...]
    claim: tuple[Line, ...]
    dates: tuple[Line, ...]
    people: People
    characteristics: tuple[CharacteristicLine, ...]
    outline: OutlineOut
    outline_before: OutlineOut | None
    decision_rule: tuple[str, ...]
    instrument: tuple[Line, ...]
    conditions: tuple[Line, ...]
    method: tuple[str, ...]
    not_measured: tuple[str, ...]
    notices: tuple[str, ...]
    """Warnings of the measurement."""
    visual_check: VisualCheck
    opinions: tuple[str, ...]
    cautions: tuple[str, ...]
    scope: tuple[str, ...]
    issued_at: str
    """ISO 8601, for the file's own properties."""
    check_address: str
    """Where outsiders check the certificate; empty when the shop has no public address."""
    authority_sha256: str
    """Fingerprint of the shop authority's certificate."""
    handling: tuple[HandlingLine, ...] = ()
    handling_caveat: str = ""
    fork_bends: tuple[str, ...] = ()
    """How far each fork leg is bent, by its readings on V-blocks."""
    parts_not_measured: str = ""
    """The parts of the chassis that the measurement left out, in one line of the first page."""
    not_told_apart: str = ""
    """What cannot be told without control points, in one line of the first page."""
    no_change_because: str = ""
    """Why the change from before to now cannot be told."""
    time_zone: str = ""
    """Name of the zone in which days and times are told; they print its difference to UTC."""
    headline: str = ""
    """The finding in one sentence, the largest of the page."""
    about_reference: str = ""
    """Beside the finding: that the limits are not the maker's, or the reference is of another
    machine."""
    how_sure: str = ""
    on_hold: str = ""
    """What was seen that no finding hides, as long as nobody has settled it."""
    on_damage: str = ""
    """What damage means that figures do not show: replacement, and whose word goes first."""
    before_headline: str = ""
    """The same of the measurement before the correction."""
    measured: tuple[Line, ...] = ()
    """First page: when, by whom, with what, and whether that was in calibration."""
    in_force: tuple[Line, ...] = ()
    """First page: since when, under whose name, after which corrections."""
    received: tuple[Line, ...] = ()
    """The machine's condition as it came."""
    received_words: str = ""
    """Who saw that and when, apart from the visual check."""
    corrections: tuple[Correction, ...] = ()
    corrections_words: str = ""
    """What stands in the place of corrections, or above them."""
    corrections_caution: str = ""
    """What goes with methods of force or heat."""
    before: tuple[Line, ...] = ()
    """How the measurement before the correction was made: its instrument and conditions."""
    before_method: tuple[str, ...] = ()
    phase: str = "after"
    """When what is certified was measured: `before`, `during` or `after` a correction."""
    photos: tuple[PrintedPhoto, ...] = ()
    photos_words: str = ""
    """How many of how many photos are printed."""
    subtitle: str = ""
    """Below the title: that no correction was ordered or noted."""
    signer_sha256: str = ""
    """Fingerprint of the certificate of the key that signs; its beginning stands in the visible
    signature."""

    @property
    def sections(self) -> tuple[Section, ...]:
        """The characteristics section by section, in their order."""
        groups = itertools.groupby(self.characteristics, key=lambda line: line.section)
        return tuple(Section(title, tuple(lines)) for title, lines in groups)

    @property
    def marks(self) -> frozenset[str]:
        """The marks that stand behind limits."""
        return frozenset(line.mark for line in self.characteristics) - {""}

    @property
    def before_name(self) -> str:
        """What the measurement set beside is called: of a correction only where one is noted."""
        return _("Before the correction") if self.corrections else _("Earlier measurement")

    @property
    def names_steering_targets(self) -> bool:
        """Whether any row has its uncertainty from steering targets."""
        return any(feature("steer_target") in line.sources for line in self.characteristics)

    @property
    def lists_along_axis(self) -> bool:
        """Whether the first page lists how far the head face stands along the steering axis."""
        return any(line.key == "face_position" for line in self.listed)

    @property
    def listed(self) -> tuple[CharacteristicLine, ...]:
        """What the first page lists: all that is required, and what is outside besides."""
        return tuple(
            line for line in self.characteristics if line.required or line.now.verdict == "outside"
        )

    @property
    def required(self) -> tuple[CharacteristicLine, ...]:
        """The characteristics that the overall finding rests on."""
        return tuple(line for line in self.characteristics if line.required)


def texts_of(content: CertificateContent) -> Iterator[tuple[str, str]]:
    """Every text of the content with the place where it stands."""
    for field in dataclasses.fields(content):
        for text in texts_in(getattr(content, field.name)):
            yield field.name, text


def texts_in(value: object) -> Iterator[str]:
    """Every text in a value and in what it holds."""
    if isinstance(value, str):
        yield value
    elif isinstance(value, tuple | list):
        for one in value:
            yield from texts_in(one)
    elif isinstance(value, dict):
        for one in value.values():
            yield from texts_in(one)
    elif dataclasses.is_dataclass(value):
        for field in dataclasses.fields(value):
            yield from texts_in(getattr(value, field.name))
