"""The hidden field that ties a form to the session whose page showed it."""

import hashlib
import hmac

from app.errors import NotAllowed

FIELD = "form_token"


def form_token(secret: str) -> str:
    """The token of a session's forms, worked out from its secret and telling nothing of it."""
    return hmac.new(secret.encode(), b"jigbook form", hashlib.sha256).hexdigest()


def check_form_token(secret: str, sent: str) -> None:
    """Raise NotAllowed unless the form carries the token of this very session."""
    if not hmac.compare_digest(form_token(secret).encode(), sent.encode()):
        raise NotAllowed("form_token_wrong")
