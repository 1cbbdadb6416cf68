"""Remarks for the signer: told before signing, and nobody is kept from signing by them."""

from collections.abc import Mapping
from datetime import timedelta
from pathlib import Path

from app.errors import Fact
from app.schemas.correction import CorrectionIn
from app.schemas.visual_check import ITEMS, VisualCheckIn
from app.services import certificates, corrections, visual_checks
from app.wording.errors import explain
from tests.services.certifying import Bench, Benches
from tests.services.documents import SOUND, survey_document


def remarks_of(job: Bench) -> dict[str, Mapping[str, Fact]]:
    shop = job.workshop
    with shop.database.read() as session:
        found = certificates.remarks(
            session, shop.people["inspector"], job.number, "completion", shop.now
        )
    assert all("–" not in explain(one).sentence for one in found)
    return {one.code: one.facts for one in found}


def test_items_that_nobody_looked_at_are_counted(benches: Benches, tmp_path: Path) -> None:
    job = benches.copy(tmp_path)
    left_out = [
        VisualCheckIn.model_validate({"item": item, "answer": "not_checked"}) for item in ITEMS[:2]
    ]
    job.workshop.do(visual_checks.answer, "technician", job.number, left_out)
    assert remarks_of(job)["visual_check_incomplete"] == {"count": 2, "of": len(ITEMS)}
    assert job.codes() == []


def looked_again(benches: Benches, tmp_path: Path) -> Bench:
    """The fork that came bent is a new one, and everything was looked at since."""
    job = benches.copy(tmp_path)
    new = CorrectionIn(text="both tubes new", part="fork", method="replaced")
    job.workshop.do(corrections.note, "technician", job.number, new)
    again = {"answer": "not_seen", "note": "looked at again"}
    every = [VisualCheckIn.model_validate({"item": one, **again}) for one in ITEMS]
    job.workshop.do(visual_checks.answer, "technician", job.number, every)
    return job


def test_nothing_to_remark(benches: Benches, tmp_path: Path) -> None:
    assert remarks_of(looked_again(benches, tmp_path)) == {}


def test_a_check_that_was_not_repeated_and_one_that_check_in_contradicts(
    benches: Benches, tmp_path: Path
) -> None:
    job = benches.copy(tmp_path)
    found = remarks_of(job)
    assert found["visual_check_before_correction"] == {"count": len(ITEMS), "of": len(ITEMS)}
    assert found["visual_check_contradicts_check_in"] == {"zones": "fork"}
    assert job.codes() == []


def test_measured_before_the_machine_came(benches: Benches, tmp_path: Path) -> None:
    job = looked_again(benches, tmp_path)
    early = (job.workshop.now - timedelta(days=9)).isoformat()
    number = job.measure("after", survey_document(SOUND, measured_at=early)).number
    found = remarks_of(job)
    assert list(found) == ["measured_before_received"]
    assert found["measured_before_received"]["number"] == number


def test_measured_in_the_future(benches: Benches, tmp_path: Path) -> None:
    job = looked_again(benches, tmp_path)
    late = (job.workshop.now + timedelta(hours=3)).isoformat()
    job.measure("after", survey_document(SOUND, measured_at=late))
    assert list(remarks_of(job)) == ["measured_in_future"]
    job.workshop.now += timedelta(hours=4)
    assert remarks_of(job) == {}
