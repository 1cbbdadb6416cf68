"""The register as a signed file, through the API."""

from starlette.responses import Response

from app.schemas.requests import RegisterExportIn
from app.services import register_export
from app.web.api.call import ZIP, Calling
from app.web.api.described import Described, route
from app.web.pages.download import archive_download


@route(
    "POST",
    "/register/export",
    "register.export",
    Described(sends=RegisterExportIn, answer_type=ZIP),
)
def export_register(call: Calling) -> Response:
    """Sign the register as it is now, and give it out; each call is one more event."""
    sent = call.sent(RegisterExportIn)
    with call.database.write() as session:
        made = register_export.export(
            session, call.actor, sent.key_password, call.now, press=call.request.app.state.press
        )
    return archive_download(made)
