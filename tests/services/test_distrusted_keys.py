"""A signing key that may be stolen: what is told of certificates that it signed."""

import io
import json
import zipfile
from datetime import timedelta
from pathlib import Path

import pytest

from app.cli import main
from app.cli import verify as verify_command
from app.errors import BadInput, NotAllowed, NotFound, RefusedToIssue, Unavailable
from app.records.scope import scoped
from app.records.tables import Event
from app.services import (
    bundles,
    certificates,
    distrusted_signers,
    register_export,
    signing_keys,
    verification,
)
from app.services.order import Made, Order
from app.services.press import Press
from app.services.register import row_of
from app.services.verification import Verification
from tests.services.certifying import FILE, Bench
from tests.signing.pages import signed_with, unsigned

HOUR = timedelta(hours=1)


@pytest.fixture(autouse=True)
def small_pages(monkeypatch: pytest.MonkeyPatch) -> None:
    """Signed by the shop's key, but not laid out: what they say is not looked at here."""
    page = unsigned()

    def made(press: Press, order: Order, *more: object) -> Made:
        return Made(signed_with(order.key, order.when, page), None)

    monkeypatch.setattr(Press, "make", made)


def mark(bench: Bench, since: timedelta, role: str = "owner") -> tuple[str, ...]:
    """Mark the key that signs now as not to be trusted since so long from now."""
    (newest, *_older) = signing_keys.signer_views(bench.press)
    shop = bench.workshop
    at = shop.now + since
    found: tuple[str, ...] = shop.do(
        signing_keys.distrust_signer, role, newest.sha256, at, "stolen", press=bench.press
    )
    return found


def checked(bench: Bench, pdf: bytes) -> Verification:
    shop = bench.workshop
    return verification.verify(shop.database, pdf, shop.now, press=bench.press)


def test_what_was_issued_before_is_told_by_the_registers_own_copy(done: Bench) -> None:
    number = done.issue().number
    pdf = done.pdf(number)
    done.workshop.now += 2 * HOUR
    assert mark(done, -HOUR) == (), "nothing was signed since"
    found = checked(done, pdf)
    assert (found.unaltered, found.why_not) == (False, "signer_distrusted")
    assert (found.kept_by_shop, found.in_force) == (True, True)
    assert found.distrusted_since == signing_keys.signer_views(done.press)[0].distrusted_since
    forged = checked(done, pdf + b"\n")
    assert (forged.kept_by_shop, forged.in_force) == (False, False)


def test_what_was_issued_since_is_to_be_replaced(done: Bench) -> None:
    number = done.issue().number
    done.workshop.now += 2 * HOUR
    assert mark(done, -3 * HOUR) == (number,)
    found = checked(done, done.pdf(number))
    assert (found.in_register, found.kept_by_shop, found.in_force) == (True, False, False)
    assert found.entry is not None
    assert found.entry.status == "distrusted"


def test_it_is_told_alike_wherever_the_register_is_asked(done: Bench) -> None:
    """The row itself is not rewritten: what is told follows from the key's mark."""
    number = done.issue().number
    shop = done.workshop
    shop.now += 2 * HOUR
    mark(done, -3 * HOUR)
    view = shop.see(certificates.certificate, "desk", number)
    assert (view.status, view.status_since) == ("distrusted", shop.now)
    with shop.rows() as (session, owner):
        assert verification.register_entry(session, number).status == "distrusted"
        assert [one["status"] for one in register_export.entries_of(session, owner)] == [
            "distrusted"
        ]
        assert row_of(session, owner, number).status == "valid"
        assert distrusted_signers.to_issue_anew(session, owner) == (number,)
        assert "trusted no more" in bundles.standing(view, shop.now)
    made = shop.see(bundles.bundle, "desk", number, shop.now, press=done.press)
    with zipfile.ZipFile(io.BytesIO(b"".join(made.archive.pieces()))) as opened:
        assert "trusted no more" in opened.read("how-to-check.txt").decode()


def test_the_command_agrees(
    done: Bench,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    number = done.issue().number
    done.workshop.now += 2 * HOUR
    mark(done, -3 * HOUR)
    folder, file = done.press.data_dir, tmp_path / "certificate.pdf"
    file.write_bytes(done.pdf(number))
    monkeypatch.setattr(verify_command, "utc_now", lambda: done.workshop.now)
    monkeypatch.setenv("JIGBOOK_DATABASE_URL", f"sqlite:///{folder / FILE}")
    assert main(["verify", str(file), "--data", str(folder)]) == verify_command.NOT_TRUSTED
    said = "".join(capsys.readouterr())
    assert "Not in force: its signature is trusted no more" in said
    assert "In force" not in said


def test_a_marked_key_signs_nothing_until_it_is_renewed(done: Bench) -> None:
    old = done.issue().number
    done.workshop.now += HOUR
    mark(done, -2 * HOUR)
    with pytest.raises((Unavailable, RefusedToIssue), match="signing_key_distrusted"):
        done.issue(replaces=old, reason="the key may be stolen")
    assert done.register() == {old: "distrusted"}, "no number was used"
    done.workshop.do(signing_keys.renew, "owner", None, press=done.press)
    new = done.issue(replaces=old, reason="the key may be stolen")
    assert done.register() == {old: "superseded", new.number: "valid"}
    found = checked(done, done.pdf(new.number))
    assert (found.unaltered, found.in_force) == (True, True)
    views = signing_keys.signer_views(done.press)
    assert [one.distrusted_since is None for one in views] == [True, False]
    assert [one.signs_now for one in views] == [True, False]


def test_only_the_owner_marks_with_a_reason_and_not_in_advance(done: Bench) -> None:
    done.issue()
    with pytest.raises(NotAllowed):
        mark(done, -HOUR, role="inspector")
    with pytest.raises(BadInput) as caught:
        mark(done, HOUR)
    assert caught.value.problems[0].field == "since"
    (newest,) = signing_keys.signer_views(done.press)
    words = (newest.sha256, done.workshop.now, "  ")
    with pytest.raises(BadInput):
        done.workshop.do(signing_keys.distrust_signer, "owner", *words, press=done.press)
    with pytest.raises(NotFound, match="no_such_signer"):
        done.workshop.do(
            signing_keys.distrust_signer, "owner", "ff", done.workshop.now, "x", press=done.press
        )
    assert signing_keys.signer_views(done.press)[0].distrusted_since is None


def test_the_event_says_which_key_since_when_and_why(done: Bench) -> None:
    done.issue()
    since = done.workshop.now - HOUR
    mark(done, -HOUR)
    with done.workshop.rows() as (session, owner):
        rows = scoped(session, owner, Event).where(Event.what == "signing_key.distrusted")
        said = json.loads(session.scalars(rows).one().public)
    (newest,) = signing_keys.signer_views(done.press)
    assert said == {"signer": newest.sha256, "since": since.isoformat(), "reason": "stolen"}
    assert (newest.distrusted_since, newest.reason) == (since, "stolen")
