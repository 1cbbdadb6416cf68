"""The register as a signed file, for insurers without access to the shop's pages."""

from dataclasses import dataclass
from typing import ClassVar

from fastapi import Request
from starlette.responses import Response

from app.services import register_export, signing_keys
from app.web.again import shown_again
from app.web.database import Write
from app.web.door import pages
from app.web.form_state import FormState
from app.web.forms import Sent
from app.web.pages.download import archive_download
from app.web.rendering import Page, show
from app.web.visits import Here
from app.wording.how_to_check import Step, of_register
from app.wording.translation import _


@dataclass(frozen=True, kw_only=True)
class ExportPage(Page):
    template: ClassVar[str] = "pages/register_export.html"
    has_own_password: bool
    steps: tuple[Step, ...]
    """How a recipient checks it; empty before the first certificate."""


@pages.add("GET", "/register/export", "register.export")
def register_export_form(request: Request, visit: Here) -> Response:
    """What is exported, and how it is checked."""
    return show(request, visit, page_for(request, FormState()))


@pages.add("POST", "/register/export", "register.export")
def export_register(request: Request, visit: Here, session: Write, form: Sent) -> Response:
    """Signs the register as it is now, and gives it out."""
    with shown_again(request, visit, {}, lambda state: page_for(request, state), ("key_password",)):
        made = register_export.export(
            session,
            visit.person,
            form.exact("key_password") or None,
            visit.now,
            press=request.app.state.press,
        )
    return archive_download(made)


def page_for(request: Request, state: FormState) -> ExportPage:
    """The page."""
    press = request.app.state.press
    found = signing_keys.authority_if_any(press)
    return ExportPage(
        title=_("Signed export of the register"),
        form=state,
        has_own_password=signing_keys.has_own_password(press),
        steps=of_register(found.sha256) if found else (),
    )
