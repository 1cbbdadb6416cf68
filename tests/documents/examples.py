"""A certificate's content, every name in it invented."""

import dataclasses

from app.documents.content import (
    CertificateContent,
    CharacteristicLine,
    Correction,
    Line,
    People,
    Reading,
    VisualCheck,
)
from app.drawings.tolerance_bar import Bar
from tests.drawings.frames import outline


def line(
    key: str, name: str, limits: str, now: Reading, before: Reading, bar: Bar
) -> CharacteristicLine:
    return CharacteristicLine(key, name, "from here to there", "0°", limits, True, now, before, bar)


TWIST = line(
    "head_twist",
    "head twist",
    "± 0.3°",
    Reading(
        "0.05°",
        "0.05° anticlockwise seen from behind, square to the head",
        "± 0.10°",
        "1.96",
        "> 0.9999",
        "within",
        "within",
        "within",
    ),
    Reading(
        "0.91°",
        "0.91° clockwise seen from behind, square to the head",
        "± 0.10°",
        "1.96",
        "< 0.0001",
        "outside",
        "outside, above the upper limit",
        "outside",
    ),
    Bar(-0.05, 0.1, -0.3, 0.3, "within", 0.91),
)
REACH = line(
    "head_reach",
    "head reach",
    "± 2 mm",
    Reading(
        "560.4 mm",
        "0.4 mm forward of the reference",
        "± 0.6 mm",
        "1.97",
        "0.998",
        "within",
        "within",
        "within",
    ),
    Reading(
        "553.8 mm",
        "6.2 mm rearward of the reference",
        "± 0.6 mm",
        "1.97",
        "< 0.0001",
        "outside",
        "outside, below the lower limit",
        "outside",
    ),
    Bar(0.4, 0.6, -2.0, 2.0, "within", -6.2),
)
OFFSET = line(
    "head_offset",
    "head offset",
    "± 2 mm",
    Reading(
        "0.3 mm",
        "0.3 mm to the left of the middle",
        "± 0.5 mm",
        "1.96",
        "0.9998",
        "within",
        "within",
        "within",
    ),
    Reading(
        "3.1 mm",
        "3.1 mm to the left of the middle",
        "± 0.5 mm",
        "1.96",
        "0.0021",
        "outside",
        "outside, above the upper limit",
        "outside",
    ),
    Bar(0.3, 0.5, -2.0, 2.0, "within", 3.1),
)

EARLIER = CertificateContent(
    number="C-2026-0001",
    kind="completion",
    title="Completion certificate",
    language="en",
    shop=("Brook Lane Frames (invented)", "4 Brook Lane, Milltown", "frames@brooklane.example"),
    finding="within",
    finding_words="within the tolerances",
    finding_sentence=(
        "All 3 required characteristics are within the tolerances of reference "
        "Ortega Brisa 600, 2019-2022, revision 1: head twist, head offset, head"
        " reach. Probability that all that are required are so at once: 0.9978 "
        "(needed: 0.95). This says nothing of cracks, hidden damage or anything"
        " that is not listed."
    ),
    replaces="",
    machine=(
        Line("Make and model", "Ortega Brisa 600, 2021 (invented)"),
        Line("Frame number", "ZZ9BRISA0M1000017"),
        Line("Plate", "MT 4711"),
        Line("Odometer", "21 340 km"),
        Line(
            "Condition as received",
            "cannot be ridden; fork tubes bent, left tank dented, headlight broken",
        ),
    ),
    claim=(
        Line("Customer", "Ilse Maren"),
        Line("Insurer", "Harbour Mutual (invented)"),
        Line("Claim number", "HM-88-1203"),
        Line("Job", "J-2026-0004"),
    ),
    dates=(
        Line("Received", "2 March 2026"),
        Line("Measured", "4 March 2026, 09:40"),
        Line("Issued", "5 March 2026, 16:20"),
    ),
    people=People("Tove Lind", "Ansel Brook", "inspector", same_person=False),
    characteristics=(TWIST, OFFSET, REACH),
    outline=outline(back=-0.4, left=0.3),
    outline_before=outline(back=6.2, left=3.1),
    decision_rule=(
        "Within or outside is said when its probability is at least 0.95, given the value and its"
        " uncertainty; between the two the finding is undecided.",
    ),
    instrument=(
        Line("Instrument", "arm 2, measuring arm, serial number 0417"),
        Line("Calibrated", "10 January 2026, due 10 January 2027"),
        Line("Calibration certificate", "K-2041 of Northfield Calibration (invented)"),
    ),
    conditions=(
        Line("Part temperature", "24.0 °C"),
        Line("Mounting", "engine in, wheels out, on side stands"),
    ),
    method=(
        "The frame was levelled by its head height: it was turned about the pivot axis until the "
        "head stood as high as the reference says.",
    ),
    not_measured=("Not measured: swing arm, wheels and fork.", "Not examined: the inside."),
    parts_not_measured="Not measured: swing arm, wheels and fork.",
    notices=(),
    visual_check=VisualCheck(
        seen=(Line("bent or marked fork tubes", "both tubes, replaced"),),
        not_seen=("cracks in the frame", "damaged welds of the frame"),
        not_checked=("play in the swing-arm pivot",),
        holds=(
            Line(
                "wrinkled or stretched metal in the frame",
                "closed on 4 March 2026 by Ansel Brook: paint only",
            ),
        ),
    ),
    opinions=("This certificate contains no opinions or interpretations.",),
    cautions=("Findings speak of geometry only; good geometry is not proof of a sound frame.",),
    scope=("The results concern only this machine, as it was when it was measured.",),
    issued_at="2026-03-05T16:20:00+01:00",
    check_address="https://frames.brooklane.example/verify/C-2026-0001",
    authority_sha256="ab" * 32,
)
"""Content as it was stored before later fields were added."""

CONTENT = dataclasses.replace(
    EARLIER,
    machine=EARLIER.machine[:4],
    characteristics=tuple(
        dataclasses.replace(one, not_the_makers=one.key == "head_reach")
        for one in EARLIER.characteristics
    ),
    visual_check=dataclasses.replace(
        EARLIER.visual_check,
        looked="Looked at by Tove Lind, 3 items, last answer on 3 March 2026, 09:10 UTC+01:00.",
        in_brief="Visual check on 3 March 2026 by Tove Lind: 1 of 3 seen: bent or marked fork "
        "tubes. 1 not checked.",
    ),
    not_told_apart="Without control points a bent head and a bent pivot look alike.",
    received_words="Damage told here is what the desk saw on 2 March 2026, when the machine came.",
    headline=(
        "All 3 required characteristics are within the tolerances of reference Ortega Brisa 600, "
        "2019-2022, revision 1: head twist, head offset, head reach."
    ),
    how_sure=(
        "How sure: the probability that all required ones are within at once is 0.9978; 0.95 is "
        "needed. This says nothing of cracks, hidden damage or anything that is not listed."
    ),
    before_headline=(
        "Outside the tolerances of reference Ortega Brisa 600, 2019-2022, revision 1: head twist, "
        "head offset, head reach."
    ),
    measured=(
        Line("Measured earlier", "3 March 2026, 09:40 UTC+01:00"),
        Line("Measured", "4 March 2026, 09:40 UTC+01:00"),
        Line("Measured by", "Tove Lind"),
        Line("Instrument", "arm 2, measuring arm, serial number 0417"),
        Line("In calibration", "yes, due 10 January 2027"),
    ),
    in_force=(
        Line("Received", "2 March 2026"),
        Line("Corrections", "2 noted, listed under “Corrections made”"),
        Line("Issued", "5 March 2026, 16:20 UTC+01:00"),
        Line("In force", "from then until replaced or withdrawn"),
        Line("Authorised by", "Ansel Brook, inspector"),
    ),
    received=(
        Line("Received", "2 March 2026, 08:15 UTC+01:00, Dora Lund"),
        Line(
            "As received", "cannot be ridden; fork tubes bent, left tank dented, headlight broken"
        ),
    ),
    corrections=(
        Correction(
            "3 March 2026",
            "steering head",
            "pulled cold",
            "Frame held at the pivot and at both engine mounts, head pulled forward by 6.5 mm in "
            "four steps, measured after each.",
            "noted by Tove Lind",
            "Maker's instruction followed: repair handbook (invented), section 6, page 12",
        ),
        Correction(
            "4 March 2026",
            "fork",
            "part replaced",
            "Both tubes and the lower yoke replaced by new ones.",
            "Milltown Forks (invented); noted by Tove Lind",
            "",
        ),
    ),
    corrections_words="All of these were noted before the measurement that the results come from.",
    corrections_caution=(
        "Follow the maker's instruction on repair or replacement: many makers forbid "
        "straightening aluminium frames, forks and wheels."
    ),
    before=(
        Line("Measured earlier", "3 March 2026, 09:40 UTC+01:00"),
        Line("Measured by", "Tove Lind"),
        Line("Instrument", "arm 2, measuring arm, serial number 0417"),
        Line("Temperature", "22.5 °C"),
        Line("Mounting", "engine in, wheels out, on side stands"),
    ),
    before_method=("The frame was levelled by its head height.",),
    signer_sha256="c9" * 32,
)
