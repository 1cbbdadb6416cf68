"""The headers that every answer carries, whoever made it."""

from starlette.datastructures import MutableHeaders
from starlette.types import Message, Send

CONTENT_SECURITY_POLICY = "; ".join(
    [
        "default-src 'none'",
        "script-src 'self'",
        "style-src 'self'",
        "img-src 'self'",
        "font-src 'self'",
        "connect-src 'self'",
        "form-action 'self'",
        "base-uri 'none'",
        "frame-ancestors 'none'",
    ]
)
ALWAYS = {
    "Content-Security-Policy": CONTENT_SECURITY_POLICY,
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    # Not "no-referrer": that makes browsers send "Origin: null" with our own forms.
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    # Nothing of a shop belongs into an index: neither its pages nor a claim that was linked to.
    "X-Robots-Tag": "noindex, nofollow, noarchive",
    "Permissions-Policy": "camera=(), geolocation=(), microphone=(), payment=(), usb=()",
}
SECRET_ADDRESSES = "/claim/"
"""Addresses that let their reader in: what is opened from there must not learn them."""
STRICT_TRANSPORT = "max-age=31536000"


def always(path: str) -> dict[str, str]:
    """The headers that every answer at an address carries."""
    if path.startswith(SECRET_ADDRESSES):
        return {**ALWAYS, "Referrer-Policy": "no-referrer"}
    return ALWAYS


def guarded(send: Send, path: str, *, over_tls: bool) -> Send:
    """A `send` that puts the headers on the answer as it leaves."""

    async def send_guarded(message: Message) -> None:
        if message["type"] == "http.response.start":
            headers = MutableHeaders(scope=message)
            for name, value in always(path).items():
                headers[name] = value
            headers.setdefault("Cache-Control", "no-store")
            if over_tls:
                headers["Strict-Transport-Security"] = STRICT_TRANSPORT
        await send(message)

    return send_guarded


def closing(send: Send) -> Send:
    """A `send` whose answer is the last one on its connection."""

    async def send_closing(message: Message) -> None:
        if message["type"] == "http.response.start":
            MutableHeaders(scope=message)["Connection"] = "close"
        await send(message)

    return send_closing
