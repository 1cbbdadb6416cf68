"""While a certificate is being made: failures, crashes, and what comes up meanwhile."""

import threading

import pytest

from app.errors import Conflict, RefusedToIssue, Unavailable
from app.services import certificates, issuing, issuing_finish, issuing_progress, issuing_tasks
from app.services.order import Made, Order
from tests.services.certifying import Bench, see_cracks
from tests.services.documents import survey_document

MEASURED_AT = "2026-03-02T09:00:00+01:00"


def test_what_fails_for_good_becomes_void_with_its_reason(
    done: Bench, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:

    def broken(press: object, order: Order, beat: object = None) -> Made:
        raise Unavailable("render_refused", None, reason="a picture was cut short")

    with monkeypatch.context() as patch:
        patch.setattr("app.services.press.Press.make", broken)
        with pytest.raises(Unavailable, match="render_refused"):
            done.issue()
    (view,) = done.workshop.see(certificates.certificates, "owner")
    assert (view.number, view.status) == ("C-2026-0001", "void")
    assert view.status_reason == "The file could not be made (render_refused)."
    assert "a picture was cut short" in caplog.text, "the cause stands in the log"
    with pytest.raises(Conflict, match="certificate_has_no_file"):
        done.pdf("C-2026-0001")
    monkeypatch.setattr(
        "app.services.press.Press.make", lambda press, order, beat=None: Made(b"%PDF", None)
    )
    assert done.issue().number == "C-2026-0002"
    assert done.register() == {"C-2026-0002": "valid", "C-2026-0001": "void"}


def test_an_error_nobody_thought_of_makes_it_void_too(
    done: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:

    def broken(press: object, order: Order, beat: object = None) -> Made:
        raise ZeroDivisionError("unforeseen")

    monkeypatch.setattr("app.services.press.Press.make", broken)
    with pytest.raises(ZeroDivisionError):
        done.issue()
    (view,) = done.workshop.see(certificates.certificates, "owner")
    assert (view.number, view.status) == ("C-2026-0001", "void")
    assert view.status_reason == "The file could not be made (internal_error)."


def quick_file(press: object, order: Order, beat: object = None) -> Made:
    return Made(b"%PDF " + order.data, None)


def test_a_form_sent_twice_at_once_issues_one_certificate(
    done: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Both were found fit before either had its number; the second meets the first's."""
    both = threading.Barrier(2, timeout=10.0)

    def ready(press: object, content: object, box: object) -> tuple[()]:
        both.wait()
        return ()

    monkeypatch.setattr("app.services.press.Press.problems_with", ready)
    monkeypatch.setattr("app.services.press.Press.make", quick_file)
    outcomes: list[object] = []

    def send() -> None:
        try:
            outcomes.append(done.issue().number)
        except RefusedToIssue as error:
            outcomes.append([(one.code, one.facts["number"]) for one in error.reasons])

    threads = [threading.Thread(target=send) for _ in range(2)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(map(str, outcomes)) == [
        "C-2026-0001",
        "[('certificate_already_there', 'C-2026-0001')]",
    ]
    assert done.register() == {"C-2026-0001": "valid"}


def test_a_second_one_of_the_same_kind_takes_the_place_of_the_first_or_is_refused(
    done: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("app.services.press.Press.make", quick_file)
    first = done.issue().number
    with pytest.raises(RefusedToIssue) as caught:
        done.issue()
    (problem,) = caught.value.reasons
    assert (problem.code, problem.field) == ("certificate_already_there", "kind")
    report = done.issue("report").number
    second = done.issue(replaces=first, reason="plate misread").number
    assert done.register() == {second: "valid", report: "valid", first: "superseded"}
    with pytest.raises(RefusedToIssue):
        done.issue("completion", replaces=report, reason="the other kind")


def test_after_withdrawing_another_may_be_issued(
    done: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("app.services.press.Press.make", quick_file)
    done.workshop.do(certificates.withdraw, "inspector", done.issue().number, "wrong machine")
    assert done.issue().status == "valid"


def test_our_own_file_is_checked_before_it_is_stored(
    done: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("app.services.printing.sign", lambda pdf, *rest: pdf + b"% not signed")
    with pytest.raises(Unavailable, match="signing_failed"):
        done.issue()
    assert done.register() == {"C-2026-0001": "void"}


def test_numbers_that_nothing_is_left_to_do_for_are_closed_at_the_next_start(
    done: Bench, quick: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    """As earlier versions left them, which knew no tasks."""

    def killed(*words: object) -> None:
        raise SystemExit

    with monkeypatch.context() as patch:
        patch.setattr(issuing_finish, "enter", killed)
        with pytest.raises(SystemExit):
            done.issue()
    assert done.register() == {"C-2026-0001": "issuing"}
    shop = done.workshop
    assert issuing.heal(shop.database, shop.now) == (), "it is left to whoever goes on with it"
    with shop.database.write() as session:
        task = issuing_tasks.task_of(session, shop.people["owner"], "C-2026-0001")
        session.delete(task)
    assert issuing.heal(shop.database, shop.now) == ("C-2026-0001",)
    assert issuing.heal(shop.database, shop.now) == ()
    (view,) = shop.see(certificates.certificates, "owner")
    assert view.status == "void"
    assert view.status_reason == "The program ended before this certificate was finished."
    assert done.issue().number == "C-2026-0002"


def test_a_number_given_up_meanwhile_is_not_issued_after_all(
    done: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:

    def slow(press: object, order: Order, beat: object = None) -> Made:
        done.workshop.do(issuing_progress.give_up, "inspector", "C-2026-0001", "wrong job")
        return Made(b"%PDF", None)

    monkeypatch.setattr("app.services.press.Press.make", slow)
    with pytest.raises(Conflict, match="certificate_no_longer_issuing"):
        done.issue()
    (view,) = done.workshop.see(certificates.certificates, "owner")
    assert (view.status, view.status_reason) == ("void", "wrong job")


def test_while_the_file_is_made_the_shop_goes_on_working_and_what_comes_up_counts(
    done: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A hold is opened meanwhile, in a writing unit of its own: no transaction stood open."""

    def slow(press: object, order: Order, beat: object = None) -> Made:
        see_cracks(done)
        return Made(b"%PDF", None)

    monkeypatch.setattr("app.services.press.Press.make", slow)
    with pytest.raises(RefusedToIssue) as caught:
        done.issue()
    assert [problem.code for problem in caught.value.reasons] == ["hold_open"]
    assert done.register() == {"C-2026-0001": "void"}


def test_a_measurement_submitted_meanwhile_makes_it_void(
    done: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:

    def slow(press: object, order: Order, beat: object = None) -> Made:
        done.measure("after", survey_document(seed=5, measured_at=MEASURED_AT))
        return Made(b"%PDF", None)

    monkeypatch.setattr("app.services.press.Press.make", slow)
    with pytest.raises(RefusedToIssue) as caught:
        done.issue()
    assert [problem.code for problem in caught.value.reasons] == ["measured_meanwhile"]


def test_characters_that_cannot_be_printed_are_told_before_a_number_is_used(done: Bench) -> None:
    with pytest.raises(RefusedToIssue) as caught:
        done.issue(opinion="looks fine \U0001f600")
    (problem,) = caught.value.reasons
    assert (problem.code, problem.field) == ("characters_not_printable", "opinions")
    assert problem.facts["characters"] == ("U+1F600 GRINNING FACE",)
    assert done.register() == {}


def test_the_lines_of_the_signature_are_looked_at_before_a_number_is_used(
    done: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A key that was made elsewhere may be called by letters that the font lacks."""

    def foreign(wish: object, tools: object, content: object) -> tuple[str, ...]:
        return ("Ansel Brook", "\u4e0a\u6d77")

    monkeypatch.setattr(issuing, "box_lines", foreign)
    with pytest.raises(RefusedToIssue) as caught:
        done.issue()
    (problem,) = caught.value.reasons
    assert (problem.code, problem.field) == ("characters_not_printable", "signature_box")
    assert done.register() == {}


def test_without_pango_no_number_is_used(done: Bench, monkeypatch: pytest.MonkeyPatch) -> None:

    def missing() -> None:
        raise Unavailable("pdf_needs_pango", None, apt="apt-get install …")

    monkeypatch.setattr("app.services.printing.engine", missing)
    with pytest.raises(Unavailable, match="pdf_needs_pango"):
        done.issue()
    assert done.register() == {}
