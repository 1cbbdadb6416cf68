"""References: what machines are judged against, in revisions that are kept."""

import json
from dataclasses import dataclass
from typing import ClassVar

from fastapi import Request
from starlette.responses import Response

from app.errors import BadInput, Problem
from app.metrology.rounding import rounded
from app.schemas.characteristic_keys import unit_of
from app.schemas.json_text import text_of
from app.schemas.reference import ReferenceIn
from app.services import references
from app.services.permissions import allowed
from app.services.references import ReferenceView, RevisionView
from app.web.again import shown_again
from app.web.database import Read, Write
from app.web.door import pages
from app.web.form_state import FormState
from app.web.forms import Form, Sent
from app.web.pages.download import attachment
from app.web.pages.words import Fact
from app.web.rendering import Page, see, show
from app.web.visits import Here
from app.wording import jobs as words
from app.wording import labels, levelling, numbers
from app.wording.moments import moment
from app.wording.translation import _

MOST_SHOWN = 500
PATTERN: dict[str, object] = {
    "format": "jigbook.reference/1",
    "machine": {"make": "", "model": "", "years": ""},
    "materials": {"frame": "steel"},
    "levelling": "by_height",
    "provenance": {"kind": "measured_machines", "detail": ""},
    "characteristics": {
        "head_twist": {"nominal": 0.0, "lower": -0.3, "upper": 0.3, "required": True},
        "head_offset": {"nominal": 0.0, "lower": -2.0, "upper": 2.0, "required": True},
    },
}
"""What a new reference begins with."""


@dataclass(frozen=True, slots=True)
class Line:
    """One reference in the list."""

    id: int
    name: str
    detail: str


@dataclass(frozen=True, slots=True)
class Value:
    """One characteristic of a reference."""

    name: str
    nominal: str
    unit: str
    allowed: str
    required: str
    source: str


@dataclass(frozen=True, kw_only=True)
class ReferencesPage(Page):
    template: ClassVar[str] = "pages/references.html"
    sought: str
    lines: tuple[Line, ...]
    may_write: bool


@dataclass(frozen=True, kw_only=True)
class ReferencePage(Page):
    template: ClassVar[str] = "pages/reference.html"
    id: int
    revision: int
    latest: bool
    used: bool
    revisions: tuple[int, ...]
    facts: tuple[Fact, ...]
    values: tuple[Value, ...]
    control_points: tuple[Fact, ...]
    levelling: str
    may_write: bool


@dataclass(frozen=True, kw_only=True)
class ReferenceFormPage(Page):
    template: ClassVar[str] = "pages/reference_form.html"
    id: int | None
    button: str


@pages.add("GET", "/references", "references.read")
def references_list(request: Request, visit: Here, session: Read) -> Response:
    """All references, or those that fit a search."""
    sought = request.query_params.get("q", "")[:200].strip()
    found = references.find(session, visit.person, sought, limit=MOST_SHOWN)
    page = ReferencesPage(
        title=_("References"),
        sought=sought,
        lines=tuple(line_of(one) for one in found),
        may_write=allowed(visit.person, "references.write"),
    )
    return show(request, visit, page)


@pages.add("GET", "/references/new", "references.write")
def new_reference_form(request: Request, visit: Here) -> Response:
    """A pattern to fill in, or a file to send."""
    text = json.dumps(PATTERN, indent=2, ensure_ascii=False)
    return show(request, visit, form_page(None, FormState({"table": text})))


@pages.add("POST", "/references", "references.write")
def new_reference(request: Request, visit: Here, session: Write, form: Sent) -> Response:
    """Enters a new reference."""
    values = {"table": form.text("table")}
    with shown_again(request, visit, values, lambda s: form_page(None, s), ("document",), "table"):
        made = references.create(session, visit.person, sent_text(form), visit.now)
    return see("reference", reference=made.id)


@pages.add("GET", "/references/{reference}", "references.read")
def reference(request: Request, visit: Here, session: Read, reference: int) -> Response:
    """One reference, in the revision that the address asks for."""
    asked = request.query_params.get("revision", "")
    number = int(asked) if asked.isascii() and asked.isdecimal() and len(asked) < 9 else None
    found = references.read(session, visit.person, reference)
    revision = references.read_revision(session, visit.person, reference, number)
    may_write = allowed(visit.person, "references.write")
    return show(request, visit, page_of(found, revision, may_write))


@pages.add("GET", "/references/{reference}/document", "references.read")
def reference_document(visit: Here, session: Read, request: Request, reference: int) -> Response:
    """The document exactly as it was sent."""
    found = references.read_revision(session, visit.person, reference)
    text = json.dumps(found.document, indent=2, ensure_ascii=False)
    name = f"reference-{reference}-revision-{found.number}.json"
    return attachment(text.encode(), "application/json", name)


@pages.add("GET", "/references/{reference}/revise", "references.write")
def revise_form(request: Request, visit: Here, session: Read, reference: int) -> Response:
    """The latest revision as text, to be changed into the next one."""
    found = references.read_revision(session, visit.person, reference)
    text = json.dumps(found.document, indent=2, ensure_ascii=False)
    return show(request, visit, form_page(reference, FormState({"table": text})))


@pages.add("POST", "/references/{reference}/revise", "references.write")
def revise(request: Request, visit: Here, session: Write, form: Sent, reference: int) -> Response:
    """Enters the next revision; jobs keep the one that was fixed for them."""
    values = {"table": form.text("table")}
    with shown_again(
        request, visit, values, lambda s: form_page(reference, s), ("document",), "table"
    ):
        references.revise(session, visit.person, reference, sent_text(form), visit.now)
    return see("reference", reference=reference)


def sent_text(form: Form) -> str:
    """The file, or what stands in the field. Raises BadInput when there is neither."""
    sent = form.file("document")
    if sent is not None:
        return text_of(sent.content)
    if not form.text("table"):
        raise BadInput([Problem("no_reference_sent", "table")], "no_reference_sent")
    return form.text("table")


def form_page(reference: int | None, state: FormState) -> ReferenceFormPage:
    """The form for a new reference or a new revision."""
    new = reference is None
    return ReferenceFormPage(
        title=_("New reference") if new else _("New revision"),
        form=state,
        id=reference,
        button=_("Enter this reference") if new else _("Enter this revision"),
    )


def line_of(one: ReferenceView) -> Line:
    """A reference in the list."""
    source = source_of(one.latest.reference)
    detail = _("revision {number} · {source}").format(number=one.latest.number, source=source)
    return Line(one.id, one.name, detail)


def source_of(found: ReferenceIn) -> str:
    """Where the values come from."""
    return words.provenance(found.provenance.kind) if found.provenance else _("source not stated")


def page_of(found: ReferenceView, revision: RevisionView, may_write: bool) -> ReferencePage:
    """A revision in words."""
    document = revision.reference
    return ReferencePage(
        title=found.name,
        id=found.id,
        revision=revision.number,
        latest=revision.latest,
        used=revision.used,
        revisions=found.revisions,
        facts=facts_of(revision),
        values=tuple(value_of(key, document) for key in document.characteristics),
        control_points=tuple(
            Fact(labels.named(name), ", ".join(shown(part) for part in position))
            for name, position in document.control_points.items()
        ),
        levelling=levelling.sentence(document.levelling),
        may_write=may_write,
    )


def facts_of(revision: RevisionView) -> tuple[Fact, ...]:
    """Where it comes from and what the frame is made of."""
    document = revision.reference
    detail = document.provenance.detail if document.provenance else None
    source = ": ".join(filter(None, [source_of(document), detail]))
    entered = " · ".join(filter(None, [moment(revision.created_at), revision.created_by]))
    lines = [
        Fact(_("Where the values come from"), source),
        Fact(_("Entered"), entered),
    ]
    lines += [
        Fact(labels.named(part), labels.named(material))
        for part, material in document.materials.items()
    ]
    return tuple(lines)


def value_of(key: str, document: ReferenceIn) -> Value:
    """One characteristic with what is allowed."""
    line = document.characteristics[key]
    unit = unit_of(key) or "mm"
    return Value(
        name=labels.characteristic(key),
        nominal="" if line.nominal is None else shown(line.nominal),
        unit="°" if unit == "deg" else "mm",
        allowed=numbers.limits(line.lower, line.upper, unit) if line.has_limit else "",
        required=_("required") if required(line.required, line.has_limit) else "",
        source=line.source or "",
    )


def required(stated: bool | None, has_limit: bool) -> bool:
    """A characteristic with a limit is required unless the reference says otherwise."""
    return has_limit if stated is None else stated


def shown(value: float) -> str:
    """A number of a document as short as it can be said, with its sign: it is data, no finding."""
    return rounded(value, 3).rstrip("0").rstrip(".")
