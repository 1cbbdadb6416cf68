"""How two measurements were made, side by side: when, by whom, with what, in which conditions."""

from dataclasses import dataclass

from app.documents.content import CertificateContent, Line
from app.wording.translation import _

NOTHING = "–"
"""Where nothing is on record for one of the two."""


@dataclass(frozen=True, slots=True)
class MadeLine:
    """One fact of both measurements."""

    label: str
    before: str
    now: str


def both_made(content: CertificateContent) -> tuple[MadeLine, ...]:
    """Every fact of either measurement, in the order of the later one."""
    of_now = {line.label: line.value for line in made_now(content)}
    of_before = {label(line): line.value for line in content.before}
    return tuple(
        MadeLine(name, of_before.get(name, NOTHING), of_now.get(name, NOTHING))
        for name in {**of_now, **of_before}
    )


def made_apart(content: CertificateContent) -> tuple[MadeLine, ...]:
    """The facts in which both measurements differ."""
    return tuple(line for line in both_made(content) if line.before != line.now)


def made_alike(content: CertificateContent) -> tuple[Line, ...]:
    """The facts that are the same of both, each told once."""
    return tuple(
        Line(line.label, line.now) for line in both_made(content) if line.before == line.now
    )


def made_now(content: CertificateContent) -> tuple[Line, ...]:
    """The facts of what is certified."""
    measured = [line for line in content.measured or content.dates if line.label == _("Measured")]
    by = Line(_("Measured by"), content.people.measured_by)
    return (*measured, by, *content.instrument, *content.conditions)


def label(line: Line) -> str:
    """Under what name the earlier measurement's fact stands beside the later one's."""
    return _("Measured") if line.label == _("Measured earlier") else line.label
