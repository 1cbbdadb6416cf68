"""A certificate with every characteristic there is and long words everywhere, all invented."""

import dataclasses

from app.documents.content import CertificateContent, Line
from app.services.certificate_first_page import headline, how_sure
from app.services.certificate_results import characteristic_lines, handling_lines
from app.wording import checks, handling, verdicts
from app.wording.cautions import on_damage
from tests.documents.examples import CONTENT
from tests.services.whole_result import result


def whole(*, completion: bool = True) -> CertificateContent:
    """After a correction with the measurement before beside it, or the finding before it alone."""
    before, now = result(after=False), result(after=True)
    shown = now if completion else before
    beside = before if completion else None
    return dataclasses.replace(
        CONTENT,
        kind="completion" if completion else "report",
        title="Completion certificate" if completion else "Report",
        finding=shown["finding"]["verdict"],
        finding_words=verdicts.finding(shown["finding"]["verdict"]),
        finding_sentence=shown["finding"]["sentence"],
        headline=headline(shown),
        how_sure=how_sure(shown),
        before_headline=headline(beside) if beside else "",
        before=CONTENT.before if beside else (),
        before_method=CONTENT.before_method if beside else (),
        phase="after" if completion else "before",
        characteristics=characteristic_lines(shown, beside, None),
        outline=shown["outline"],
        outline_before=beside["outline"] if beside else None,
        handling=handling_lines(shown),
        handling_caveat=handling.caveat(),
        fork_bends=checks.fork_bends(before["fork_bend_mm"]),
    )


def wordy(content: CertificateContent) -> CertificateContent:
    """The same with long names and addresses on its first page."""
    return dataclasses.replace(
        content,
        on_hold="cracks in the swing arm, wrinkled or stretched metal in the frame. Seen, and not "
        "settled.",
        on_damage=on_damage(),
        parts_not_measured=(
            "Not measured: swing arm, fork, wheels, control points, symmetric pairs."
        ),
        visual_check=dataclasses.replace(
            content.visual_check,
            in_brief="Visual check from 28 February 2026 to 3 March 2026 by Tove-Annelise "
            "Lind-Abrahamsdottir, Ansel-Maximilian Brook-Holstebroe and 2 more: 5 of 16 seen: "
            "bent or marked fork tubes, play in the swing-arm pivot, damaged welds of the frame "
            "and 2 more. 3 not checked.",
        ),
        shop=(
            "Brook Lane Frames and Forks, Straightening and Measuring of Motorcycles (invented)",
            "Building 14, Rear Entrance, 4417 Old Brook Lane Industrial Estate North",
            "98 765 Milltown-upon-Brook, Far Province of Invention",
            "+00 98 76-54 32 10, certificates.and.claims@brook-lane-frames.example.invalid",
        ),
        replaces=(
            "Replaces C-2026-0017 (its file has SHA-256 " + "ab" * 32 + "): the first one named "
            "the wrong insurer"
        ),
        machine=(
            Line("Make and model", "Ortega-Montserrat Brisa Grande Turismo 1100 (invented), 2021"),
            Line("Frame number", "ZZ9BRISA0M1000017"),
            Line("Plate", "MT 4711"),
            Line("Colour", "midnight blue with silver stripes"),
            Line("Odometer", "121 340 km"),
        ),
        claim=(
            Line("Customer", "Ilse-Charlotte Maren-Holstebroe, for the Milltown Riding Club"),
            Line("Insurer", "Harbour Mutual Marine and General Insurance Society (invented)"),
            Line("Claim number", "HM-88-1203/2026-INV-000417"),
            Line("Job", "J-2026-0004"),
        ),
        measured=(
            Line("Measured earlier", "3 March 2026, 09:40 UTC+01:00"),
            Line("Measured", "4 March 2026, 09:40 UTC+01:00"),
            Line("Measured by", "Tove-Annelise Lind-Abrahamsdottir of the Far Province"),
            Line(
                "Instrument",
                "portable measuring arm of the north hall, seven joints, serial number "
                "INV-0417-2026-A",
            ),
            Line("In calibration", "yes, due 10 January 2027"),
        ),
        in_force=(
            Line("Received", "2 March 2026"),
            Line("Corrections", "12 noted, listed under “Corrections made”"),
            Line("Issued", "5 March 2026, 16:20 UTC+01:00"),
            Line("In force", "from then until replaced or withdrawn"),
            Line(
                "Authorised by",
                "Ansel-Maximilian Brook-Holstebroe, master of frames and forks, sworn inspector "
                "of the Far Province (invented). One person measured and authorised.",
            ),
        ),
    )


LONGEST = 200
"""Letters of one line that the records take."""


def long(letters: int) -> str:
    """Invented words of that length."""
    return ("Long-worded Brook & Sons of the Far Province " * 9)[:letters].strip()


def longest(content: CertificateContent) -> CertificateContent:
    """Every name as long as it may be, every characteristic required."""

    def stretched(lines: tuple[Line, ...], *labels: str) -> tuple[Line, ...]:
        return tuple(
            Line(line.label, long(LONGEST)) if line.label in labels else line for line in lines
        )

    content = wordy(content)
    return dataclasses.replace(
        content,
        shop=(long(LONGEST), *(long(80) for _ in range(6))),
        replaces=content.replaces + ", " + long(LONGEST),
        machine=stretched(content.machine, "Make and model", "Colour"),
        claim=stretched(content.claim, "Customer", "Insurer", "Claim number"),
        measured=stretched(content.measured, "Measured by", "Instrument"),
        in_force=stretched(content.in_force, "Authorised by"),
        characteristics=tuple(
            dataclasses.replace(line, required=True) for line in content.characteristics
        ),
    )
