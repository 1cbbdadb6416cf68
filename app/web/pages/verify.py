"""Checking a certificate: by its file, or by its number. Open to everybody."""

from dataclasses import dataclass
from typing import ClassVar

from fastapi import Request
from starlette.responses import Response

from app.errors import BadInput, NotFound, Problem
from app.records.session import Database
from app.services import verification
from app.services.certificate_asked import asked
from app.services.verification import RegisterEntry, Verification
from app.web.again import shown_again
from app.web.database import Records
from app.web.door import pages
from app.web.form_state import FormState
from app.web.forms import Form, Sent
from app.web.pages.authority import Authority, authority_of
from app.web.pages.words import Fact, Mark, mark
from app.web.rendering import Page, show
from app.web.routes import OPEN
from app.web.visits import Here, Visit
from app.wording import jobs as words
from app.wording.moments import moment_with_zone
from app.wording.translation import _
from app.wording.verification import (
    belong_together,
    distrusted,
    in_force,
    kept_by_shop,
    kept_too_late,
    stamped,
    unaltered,
    without_stamp,
)

PROVES_NOTHING = frozenset(
    {"too_large", "unreadable", "not_signed", "signer_expired", "signer_not_yet_valid"}
)
"""Codes of files that speak neither for a certificate nor against one."""


ENDED = "no_tolerance"
"""The code of a finding that is certified no longer: no shape, no colour."""
STANDING = {"valid": "good", "distrusted": "bad"}
"""Shapes of the second answer; what has ended in order is told without alarm."""


@dataclass(frozen=True, slots=True)
class Answer:
    """The two answers, kept apart: is it unaltered, and is it in force."""

    unaltered: Mark | None
    """None when no file was sent."""
    in_force: Mark | None
    """None when the file is not the shop's own, so that the register says nothing of it."""
    together: Mark | None
    """Whether number and digest of the data belong together; None when no digest was sent."""
    facts: tuple[Fact, ...]
    finding: Mark | None
    """Without shape and colour where the certificate is not in force."""
    newer: str
    """Number of the certificate that took its place; else empty."""


@dataclass(frozen=True, kw_only=True)
class VerifyPage(Page):
    template: ClassVar[str] = "pages/verify.html"
    answer: Answer | None
    sought: str
    authority: Authority | None


@pages.add("GET", "/verify", OPEN)
def verify_form(request: Request, visit: Here) -> Response:
    """The form; a number that was typed leads to its page."""
    return show(request, visit, page_for(request, FormState(), None))


@pages.add("POST", "/verify", OPEN)
def verify(request: Request, visit: Here, database: Records, form: Sent) -> Response:
    """Checks a file, or looks a number up; a file is looked at outside of any session."""
    values = {"number": form.text("number")}
    with shown_again(
        request,
        visit,
        values,
        lambda state: page_for(request, state, None),
        ("document",),
        "document",
    ):
        answer = answer_to(request, visit, database, form)
    return show(request, visit, page_for(request, FormState(values), answer))


@pages.add("GET", "/verify/{number}", OPEN)
def verify_number(request: Request, visit: Here, database: Records, number: str) -> Response:
    """What the register says of a number: in force, replaced, withdrawn."""
    entry = verification.look_up(database, number, visit.now, address=visit.address)
    return show(
        request,
        visit,
        page_for(request, FormState({"number": number}), by_number(entry, number), number),
    )


def answer_to(request: Request, visit: Visit, database: Database, form: Form) -> Answer:
    """The answer to what was sent. Raises BadInput when nothing was."""
    sent = form.file("document")
    if sent is not None:
        press = request.app.state.press
        return by_file(
            verification.check_file(
                database, sent.content, visit.now, press=press, address=visit.address
            )
        )
    number = form.text("number")
    if not number:
        raise BadInput([Problem("nothing_to_check", "document")], "nothing_to_check")
    try:
        entry = verification.look_up(database, number, visit.now, address=visit.address)
        return by_number(entry, number)
    except NotFound as error:
        problem = Problem(error.code, "number", error.facts)
        raise BadInput([problem], error.code) from error


def by_file(found: Verification) -> Answer:
    """Both answers about a file."""
    entry = found.entry
    facts = [
        Fact(_("SHA-256 of the file"), found.pdf_sha256),
    ]
    if found.signed_by and found.signed_at:
        facts.insert(
            0, Fact(_("Signed by"), f"{found.signed_by}, {moment_with_zone(found.signed_at)}")
        )
    if found.stamped_at:
        said = stamped(
            moment_with_zone(found.stamped_at), found.stamped_by or "", found.stamp_trusted
        )
        facts.append(Fact(_("Time stamp"), said))
    facts += [Fact(_("The shop's copy"), said) for said in copy_words(found)]
    if found.distrusted_since:
        facts.append(Fact(_("The key"), distrusted(moment_with_zone(found.distrusted_since))))
    return Answer(
        unaltered=Mark(mark_of_file(found.why_not), unaltered(found.why_not)),
        in_force=standing_of(entry) if found.unaltered or entry else None,
        together=None,
        facts=(*(entry_facts(entry) if entry else ()), *facts, *key_facts(found)),
        finding=finding_of(entry),
        newer=newer_than(entry),
    )


def key_facts(found: Verification) -> list[Fact]:
    """The fingerprint that a recipient compares."""
    if not found.authority_sha256:
        return []
    return [Fact(_("SHA-256 of the authority"), found.authority_sha256)]


def copy_words(found: Verification) -> list[str]:
    """What the register's own copy says of a file that its signature alone does not prove."""
    if found.unaltered or found.entry is None:
        return []
    if found.kept_by_shop:
        return [kept_by_shop(found.distrusted_since is not None)]
    return [kept_too_late()]


def by_number(entry: RegisterEntry, text: str) -> Answer:
    """What the register says; whether a file is unaltered only the file can tell. text: as it
    was asked, perhaps with the digest of the data that stands beside the number on paper."""
    digests = [Fact(_("SHA-256 of the file"), entry.pdf_sha256)] if entry.pdf_sha256 else []
    return Answer(
        unaltered=None,
        in_force=standing_of(entry),
        together=together_of(entry, text),
        facts=(*entry_facts(entry), *digests),
        finding=finding_of(entry),
        newer=newer_than(entry),
    )


def finding_of(entry: RegisterEntry | None) -> Mark | None:
    """What was found, as a mark only while the certificate says so."""
    if entry is None:
        return None
    found = mark(entry.finding)
    return found if entry.status == "valid" else Mark(ENDED, found.word)


def newer_than(entry: RegisterEntry | None) -> str:
    """The number of what took its place."""
    return (entry.replaced_by or "") if entry and entry.status == "superseded" else ""


def together_of(entry: RegisterEntry, text: str) -> Mark | None:
    """Whether the digest that was sent with the number is that of its data."""
    sent = asked(text).data_sha256
    if sent is None:
        return None
    same = sent == entry.data_sha256
    return Mark("good" if same else "bad", belong_together(same))


def mark_of_file(why_not: str | None) -> str:
    """The shape and colour of the first answer; a file that is no certificate proves nothing."""
    if why_not is None:
        return "good"
    return "unknown" if why_not in PROVES_NOTHING else "bad"


def standing_of(entry: RegisterEntry | None) -> Mark:
    """Whether it is in force, and since when no longer."""
    if entry is None:
        return Mark("unknown", in_force(None))
    words_of = in_force(entry.status, entry.replaced_by, moment_with_zone(entry.status_since))
    return Mark(STANDING.get(entry.status, "unknown"), words_of)


def entry_facts(entry: RegisterEntry) -> tuple[Fact, ...]:
    """What an outsider may know of a certificate."""
    without = without_stamp(entry.time_stamp)
    return (
        Fact(_("Certificate"), f"{entry.number}, {words.kind(entry.kind)}"),
        Fact(_("Machine"), entry.machine),
        Fact(
            _("Issued"), moment_with_zone(entry.issued_at) if entry.issued_at else _("not issued")
        ),
        *([Fact(_("Time stamp"), without)] if without else []),
    )


def page_for(
    request: Request, state: FormState, answer: Answer | None, number: str = ""
) -> VerifyPage:
    """The page, with an answer when something was asked."""
    return VerifyPage(
        title=_("Check a certificate"),
        form=state,
        answer=answer,
        sought=number,
        authority=authority_of(request),
    )
