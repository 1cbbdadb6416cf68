"""Where other devices reach these pages: what a code for the camera of a tablet must hold."""

from fastapi import Request

from app.settings import LOOPBACK_NAMES, Settings, bracketed


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
