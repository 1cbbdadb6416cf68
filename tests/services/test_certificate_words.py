"""Each item of a certificate's content, changed on record, stands in the printed file.

One job as the other tests have it is certified, and one in which every value was recorded
otherwise: a report of the machine as it came, a report and a completion after the correction.
Every item is looked for in the text of the second job's files, and must not stand in the first's.
All names are invented.
"""

import dataclasses
import re
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from app.schemas.visual_check import ITEMS
from app.services import visual_checks
from app.services.press import Press
from app.signing.authority import FOLDER, authority_pem, fingerprint
from app.signing.keys import open_key
from app.wording.digests import in_fours
from tests.services.certifying import Bench, Benches, by_columns, text_of
from tests.services.changed_job import changed_job, corrected_and_measured, measured_before

ZONE = "Europe/Helsinki"
"""Of the second shop."""


def told(hour: int, minute: int) -> str:
    """A moment of 2 March 2026, given in UTC, as the shop's clock shows it."""
    moment = datetime(2026, 3, 2, hour, minute, tzinfo=UTC).astimezone(ZoneInfo(ZONE))
    return f"2 March 2026, {moment:%H:%M} UTC+02:00"


OF_THE_SHOP: dict[str, str] = {
    "shop's name": "Harbour Frames (invented)",
    "shop's address": "Saltport",
    "shop's telephone": "+00 98 76-54",
    "shop's mail": "quay@example.invalid",
    "shop's time zone": "UTC+02:00",
    "own statement": "The shop itself states: we belong to the invented Guild of Frame Menders",
}
OF_THE_JOB: dict[str, str] = {
    "customer": "Bo Different",
    "insurer": "Quayside Cover (invented)",
    "claim number": "QC-4711",
    "day of the loss": "Happened on 19 February 2026",
    "job": "J-2026-0002",
    "make, model, year": "Saltwerk Brisa 400 2017",
    "frame number": "YYYOTHER0A2000023",
    "plate": "SP-77 QX",
    "colour": "orange",
    "odometer": "40404 km",
    "order": "measure, and correct the head alone; Bo Different",
    "condition": "can be ridden; right foot rest torn off",
    "photo's caption": "as it stood in the yard",
    "photo of a place": "frame: paint thrown off at the head",
    "photos left out": "2 of the 3 photos that the shop keeps of this job",
    "what a hold is": "keeps the machine from a completion certificate until",
    "seen": "bent wheel axles: welded before, long ago",
    "visual check, who": f"Looked at by Tove, {len(ITEMS) - 1} items, last answer on 2 March 2026",
    "damage not followed": "what became of it is not on record here: foot rest, pedals.",
    "source of a limit": "sheet 7, line 3, of those works (head twist)",
    "material": "Material on record: frame aluminium.",
    "maker's word": "Straightening: permitted by the maker, as the reference says, up to 1.5 mm.",
    "reference, its years": "Saltwerk Brisa 400 2015-2018, revision 1",
    "reference, its source": "sheet 7 of the invented works",
    "levelling rule": "levelled by its head angle",
    "tolerance": "± 0.41°",
    "calibrated": "11 February 2026",
    "laboratory": "Saltport Calibration (invented)",
    "calibration certificate": "SC-5512",
    "instrument's uncertainty": "0.09 mm",
    "instrument's scale": "15 ppm",
    "opinion, marked as such": "Opinion of Ida Signer, not a measured result: a rare machine",
}
AS_IT_CAME: dict[str, str] = {
    "instrument": "arm 9, portable arm, serial number AR-0044",
    "in calibration": "yes, due 4 August 2026",
    "temperature": "14.5 °C",
    "mounting": "on its wheels",
    "who measured": "Ib Earlier",
    "moment of the measurement": told(11, 47),
    "finding": "Outside the tolerances of reference Saltwerk Brisa 400",
    "how sure": "the least probability of being outside among these is",
    "what damage means": "damaged welds mean replacement, not straightening; the maker's",
    "what figures do not show": "what was seen stands below.",
}
"""Of the machine as it came: in a report of it alone, and beside what was measured later."""
AS_IT_CAME_ALONE: dict[str, str] = {
    "title": "Measurement report",
    "hold, open": "still open",
    "visual check in brief": f"Visual check on 2 March 2026 by Tove: 2 of {len(ITEMS) - 1} seen: "
    "bent wheel axles, cracks in the swing arm. 1 not checked.",
    "hold on the first page": "On hold: cracks in the swing arm. Seen, and not settled.",
    "no corrections": "None was noted.",
    "measurements of the job": "Measurements of this job: no. 1 before (this report).",
    "corrections in brief": "Corrections none noted",
}
CORRECTED: dict[str, str] = {
    "instrument": "tower 5, total station, serial number TS-0099",
    "in calibration": "yes, due 12 August 2026",
    "temperature": "21.5 °C, after a ride-in",
    "mounting": "on the lift, engine out",
    "moment of the measurement": told(12, 5),
    "finding": "within the tolerances of reference Saltwerk Brisa 400",
    "what was wrong before": "Before the correction: Outside the tolerances of reference Saltwerk",
    "who authorised, with title": "Ida Signer, master of frames",
    "one person": "One person measured and authorised.",
    "hold, settled": "the swing arm was replaced",
    "corrections in brief": "3 noted, listed under “Corrections made”",
    "correction: what": "pulled by 7 mm, held at the pivot",
    "correction: part and method": "steering head pulled cold",
    "correction: part replaced": "part replaced",
    "visual check not repeated": "Visual check on 2 March 2026 by Tove, before the correction and "
    f"not repeated: 2 of {len(ITEMS) - 1} seen",
    "correction: who is not recorded": "who did it is not recorded; noted by Tove",
    "new part, not measured": "Replaced, and not measured: fork.",
    "rounding of changes": "Changes are worked out before rounding",
    "correction: who": "Quay Forks (invented); noted by Tove",
    "all measurements of the job": "no. 1 before (set beside it), no. 2 after (this",
    "label of the earlier measurement": "Measured earlier",
    "correction: instruction": "Maker's instruction followed: works handbook 400, page 31",
    "correction by force without one": "Maker's instruction: none named.",
    "corrections and results": "noted before the measurement that the results come from",
    "both by one reference": "The earlier measurement was judged by the same reference",
}
ON_EVERY_CERTIFICATE: dict[str, str] = {
    "received": "Received",
    "damage as the desk saw it": "Damage told here is what the desk saw on 2 March 2026",
    "issued": "Issued",
    "since when in force": "from then until replaced or withdrawn",
    "expanded uncertainty": "U ± ",
    "coverage factor": "k = ",
    "decision rule with its threshold": "at least 0.95",
    "joint probability": "all required ones are within at once is",
    "set-up": "The set-up stood still as far as the repeats show.",
    "not measured": "swing arm and rear axle, fork, wheels",
    "what looks alike, page 1": "Without control points a bent head and a bent pivot look alike.",
    "limits beside the finding": "Reference values and limits are not from the maker",
    "slip, in no probability": "Left out: a slip of the set-up under",
    "what required means": "any one outside, required or not, makes the finding outside",
    "set by levelling, below": "Set by levelling, not measured: head",
    "steering target": "Steering target: a mark on what turns with the steering",
    "limits not the maker's": "† Limits not from the maker.",
    "set by levelling": "made equal to the reference by levelling",
    "off the scale": "triangle at an end: beyond the scale",
    "what pdfsig must print": "“Signature is Valid” and “Total document signed”",
    "what not to accept": "“Not total document signed”",
    "issuer not known yet": "“isn't Trusted” is to be expected until",
    "fingerprint by another way": "only when you hear the same from the shop by another way",
    "what cannot be told": "a bent steering head cannot be told from a bent swing-arm pivot",
    "only this machine": "The results concern only the machine with this frame number",
    "cautions": "good geometry is not proof of a sound frame",
    "side view": "Seen from the right side",
    "view from above": "Seen from above",
    "view from behind": "Seen from behind",
    "exaggeration": "Deviations drawn",
    "how to check": "How to check this",
    "data taken out": "“sha256sum measurement.json” must print the digest below",
    "code on paper": "telephone's camera reads",
    "whose key": "Signed with the shop's key",
    "who authorised": ", authorised by I",
    "a free tool for it": "pdfsig of poppler-utils",
    "is it in force": "Is it still in force?",
    "arithmetic, not a motorcycle's engine": "calculated by Jigbook, version 1 of its method",
    "in calibration when measured": "In calibration when measured",
}


@dataclasses.dataclass(frozen=True)
class Texts:
    plain: str
    came: str
    """Report of the machine as it came."""
    report: str
    completion: str
    authority: str
    signer: str

    @property
    def changed(self) -> tuple[str, ...]:
        return (self.came, self.report, self.completion)


@pytest.fixture(scope="module")
def texts(benches: Benches, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Texts]:
    folder: Path = tmp_path_factory.mktemp("words")
    done = benches.copy(folder)
    plain = text_of(done.pdf(done.issue("report").number), folder)
    changed = changed_job(done, ZONE)
    changed.press = Press(folder, "https://frames.example.invalid", own_process=False)

    def text(kind: str) -> str:
        number = changed.issue(kind, opinion="a rare machine").number  # type: ignore[arg-type]
        return text_of(changed.pdf(number), folder)

    measured_before(changed)
    came = text("report")
    (hold,) = done.workshop.see(visual_checks.holds, "technician", changed.number)
    reason = "the swing arm was replaced"
    done.workshop.do(visual_checks.close_hold, "inspector", changed.number, hold.id, reason)
    corrected_and_measured(changed)
    report, completion = text("report"), text("completion")
    authority = fingerprint(authority_pem(folder / FOLDER))
    signer = open_key(folder / FOLDER, None, changed.workshop.now).fingerprint
    yield Texts(plain, came, report, completion, authority, signer)
    done.workshop.database.close()


def squeezed(text: str) -> str:
    """Without white space: a narrow column breaks its text anywhere between words."""
    return "".join(text.split())


def printed(wanted: str, *texts: str) -> list[bool]:
    return [squeezed(wanted) in squeezed(text) for text in texts]


@pytest.mark.parametrize("item", OF_THE_SHOP | OF_THE_JOB)
def test_what_is_changed_on_record_is_printed(texts: Texts, item: str) -> None:
    wanted = (OF_THE_SHOP | OF_THE_JOB)[item]
    assert printed(wanted, *texts.changed) == [True, True, True]
    assert printed(wanted, texts.plain) == [False]


@pytest.mark.parametrize("item", AS_IT_CAME)
def test_what_was_found_before_is_printed_alone_and_beside_what_came_later(
    texts: Texts, item: str
) -> None:
    beside = item != "how sure"
    assert printed(AS_IT_CAME[item], *texts.changed) == [True, beside, beside]
    assert printed(AS_IT_CAME[item], texts.plain) == [False]


@pytest.mark.parametrize("item", AS_IT_CAME_ALONE)
def test_a_report_of_the_machine_as_it_came_says_so(texts: Texts, item: str) -> None:
    wanted = AS_IT_CAME_ALONE[item]
    assert printed(wanted, texts.came, texts.completion) == [True, False]


@pytest.mark.parametrize("item", CORRECTED)
def test_what_was_done_and_found_since_is_printed_on_both_kinds(texts: Texts, item: str) -> None:
    wanted = CORRECTED[item]
    in_both = item in ("who authorised, with title",)
    assert printed(wanted, *texts.changed) == [in_both, True, True]


def test_kind_and_number_are_told(texts: Texts) -> None:
    assert "Completion certificate C-2026-0004" in texts.completion
    assert "Measurement report C-2026-0003" in texts.report
    assert "Completion certificate" not in texts.report
    address = "frames.example.invalid/verify/C-2026-000"
    for number, text in enumerate(texts.changed, 2):
        assert squeezed(f"{address}{number}") in squeezed(text)


def test_a_certificate_that_replaces_another_names_it_its_digest_and_why(done: Bench) -> None:
    first = done.issue()
    second = done.issue(replaces=first.number, reason="the insurer was another")
    text = text_of(done.pdf(second.number), done.press.data_dir)
    words = f"Replaces {first.number} (its file has SHA-256 {first.pdf_sha256})"
    assert squeezed(f"{words}: the insurer was another") in squeezed(text)


def test_a_correction_that_was_put_right_stands_in_its_new_words_alone(texts: Texts) -> None:
    assert "17 mm" not in texts.completion
    assert "pulled by 7 mm" in texts.completion


def test_a_correction_says_when_and_what_the_maker_may_forbid(texts: Texts) -> None:
    days = "bracket set again 2 March 2026 2 March 2026"
    """Of the two for which no day was named: the day on which they were noted."""
    forbidden = "many makers forbid straightening aluminium frames"
    for text in (texts.report, texts.completion):
        assert days in by_columns(text)
        assert by_columns(text).count(forbidden) == 2
    assert by_columns(texts.came).count(forbidden) == 1
    assert days not in by_columns(texts.came)


def test_a_photo_that_nobody_chose_is_not_on_it(texts: Texts) -> None:
    assert not any("kept in the shop" in text for text in texts.changed)
    assert "Photos" not in texts.plain


def test_three_views_are_drawn_of_each_measurement(texts: Texts) -> None:
    views = ("Seen from the right side", "Seen from above", "Seen from behind")
    # The text is read twice, by lines and by columns; the side view stands on page 1 as well.
    assert [texts.came.count(view) for view in views] == [4, 2, 2]
    for text in (texts.report, texts.completion):
        assert [text.count(view) for view in views] == [6, 4, 4]
        assert "Before the correction, in three views" in text
        assert "Now, in three views" in text


@pytest.mark.parametrize("item", ON_EVERY_CERTIFICATE)
def test_what_every_certificate_says_is_printed(texts: Texts, item: str) -> None:
    wanted = ON_EVERY_CERTIFICATE[item]
    assert all(printed(wanted, texts.plain, *texts.changed))


def test_it_names_no_accreditation_unless_the_shop_states_its_own(texts: Texts) -> None:
    assert "claims no accreditation" in texts.plain
    for text in texts.changed:
        assert "claims no accreditation" not in text
    for text in (texts.plain, *texts.changed):
        assert "ISO" not in text
        assert "17025" not in text


def test_two_people_are_not_called_one(texts: Texts) -> None:
    assert "One person measured" not in texts.plain
    assert "Measured by Tove" in texts.plain
    assert "Authorised by Ines" in texts.plain
    assert "One person measured" not in texts.came


def test_a_report_does_not_call_itself_a_certificate(texts: Texts) -> None:
    for text in (texts.came, texts.report):
        assert "this certificate" not in text
        assert "How to check this report" in text
    assert "How to check this certificate" in texts.completion


def test_every_time_says_its_zone(texts: Texts) -> None:
    times = re.findall(r"\d{4}, \d\d:\d\d(.{5})", texts.completion)
    assert len(times) >= 4
    assert set(times) == {" UTC+"}


def test_what_was_not_checked_is_listed_as_such(texts: Texts) -> None:
    for text in texts.changed:
        after = text.split("Not checked", 1)[1]
        assert "cracked or bent fork yokes" in after[:60]


def test_both_fingerprints_are_printed_to_be_read_out(texts: Texts) -> None:
    """In full at the end; the key's beginning stands in the signature box on the first page."""
    for text in texts.changed:
        end = text[text.index("SHA-256 of the attached data") :]
        for digest in (texts.authority, texts.signer):
            assert in_fours(digest) in end
        assert f"SHA-256 {in_fours(texts.signer[:24])} …" in text


def test_no_number_carries_a_bare_minus_sign(texts: Texts) -> None:
    for text in (texts.plain, *texts.changed):
        words = text.split()
        assert not [word for word in words if word.startswith(("-", "−")) and word[1:2].isdigit()]
