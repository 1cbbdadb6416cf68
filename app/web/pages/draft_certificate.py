"""Before signing: the pages as they would be printed, and a note that loses nothing typed."""

from fastapi import Request
from starlette.responses import Response

from app.schemas.note import NoteIn
from app.schemas.reading import checked
from app.services import notes
from app.services.composing import Wish
from app.services.draft_certificate import draft_certificate
from app.web.again import shown_again
from app.web.database import Records, Write
from app.web.door import pages
from app.web.form_state import FormState
from app.web.forms import Form, Sent
from app.web.pages.download import attachment
from app.web.pages.sign_off import kind_of, page_for
from app.web.rendering import Page, show
from app.web.visits import Here

TYPED = ("kind", "opinion", "replaces", "reason")
"""What the form for signing keeps; passwords are typed anew."""


@pages.add("POST", "/jobs/{number}/certificates/draft", "certificates.issue")
def draft_of_certificate(
    request: Request, visit: Here, database: Records, form: Sent, number: str
) -> Response:
    """The certificate's pages as a PDF that says on each of them that it is a draft."""

    def again(state: FormState) -> Page:
        with database.read() as session:
            return page_for(request, session, visit, number, state)

    with shown_again(request, visit, typed(form), again, (), "kind"):
        wish = Wish(
            visit.person,
            number,
            kind_of(form),
            visit.now,
            form.text("replaces") or None,
            form.text("reason") or None,
            form.text("opinion"),
        )
        pdf = draft_certificate(database, wish, request.app.state.press)
    return attachment(pdf, "application/pdf", f"draft-{number}.pdf")


@pages.add("POST", "/jobs/{number}/sign-off", "certificates.issue")
def note_before_signing(
    request: Request, visit: Here, session: Write, form: Sent, number: str
) -> Response:
    """Notes something, and shows the page again with what stood in its other fields."""

    def again(state: FormState) -> Page:
        return page_for(request, session, visit, number, state)

    values = {**typed(form), "words": form.text("words")}
    with shown_again(request, visit, values, again):
        note = checked(NoteIn, {"words": form.text("words")})
        notes.add(session, visit.person, number, note, visit.now)
    return show(request, visit, page_for(request, session, visit, number, FormState(typed(form))))


def typed(form: Form) -> dict[str, str]:
    """What is typed and chosen already."""
    return {name: form.text(name) for name in TYPED}
