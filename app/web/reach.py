"""Where others reach these pages: the address in a code for a tablet, and of a claim's link."""

from fastapi import Request

from app.settings import LOOPBACK_NAMES, Settings, bracketed
from app.web.routes import path_to


def address_for_others(request: Request) -> str | None:
    """The address without a slash at the end; None when nobody but this machine reaches it.

    The shop's own word goes first; then the name under which this very page was asked for, which
    the shop's network evidently knows; then this machine's address on that network.
    """
    settings: Settings = request.app.state.settings
    if settings.public_url is not None:
        return settings.public_url
    if bracketed(request.url.hostname or "") not in LOOPBACK_NAMES:
        return str(request.base_url).rstrip("/")
    return settings.address_for_others


def address_of_claim(request: Request, token: str) -> str:
    """The whole address of a claim link, as outsiders reach it."""
    public = request.app.state.settings.public_url
    base = public or f"{request.url.scheme}://{request.url.netloc}"
    return f"{base}{path_to('claim', token=token)}"
