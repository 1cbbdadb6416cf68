"""The shop authority's certificate: what a recipient needs to check files without this shop."""

from dataclasses import dataclass

from fastapi import Request
from starlette.responses import Response

from app.errors import NotFound
from app.services import signing_keys
from app.web.door import pages
from app.web.pages.download import attachment
from app.web.routes import OPEN, path_to

PEM = "application/x-pem-file"


@dataclass(frozen=True, slots=True)
class Authority:
    """Where it is, and its fingerprint, to be compared by another way."""

    href: str
    sha256: str


@pages.add("GET", "/authority.pem", OPEN)
def authority_certificate(request: Request) -> Response:
    """The certificate as a file. It holds no secret."""
    found = signing_keys.authority_if_any(request.app.state.press)
    if found is None:
        raise NotFound("no_certificate_yet")
    return attachment(found.pem, PEM, "shop-authority.pem")


def authority_of(request: Request) -> Authority | None:
    """The link for a page; None before the first certificate."""
    found = signing_keys.authority_if_any(request.app.state.press)
    return Authority(path_to("authority_certificate"), found.sha256) if found else None
