"""What the worker process does: lay out and sign. Answers are values, errors among them."""

from app.documents.certificate import letters_missing, print_certificate, signature_box
from app.documents.content import CertificateContent
from app.documents.pango import engine
from app.errors import BadInput, JigbookError, Problem, Unavailable
from app.services.order import Failed, Order
from app.signing.checking import check
from app.signing.signature import Statement, field_size, sign


def ready(content: CertificateContent) -> tuple[Problem, ...] | Failed:
    """What of the content cannot be printed; or why documents cannot be made here at all."""
    try:
        engine()
    except JigbookError as error:
        return failed(error)
    return letters_missing(content)


def make(order: Order) -> bytes | Failed:
    """The signed certificate, checked by the same rule as a recipient's."""
    try:
        unsigned = print_certificate(order.content, order.data)
        box = signature_box(order.box, *field_size(unsigned))
        signed = sign(unsigned, order.key, Statement(order.when, order.reason, box))
        checked = check(signed, [order.key.authority_pem], order.when)
        if not checked.unaltered or checked.signer_sha256 != order.key.fingerprint:
            raise Unavailable("signing_failed", None, reason=checked.why_not or "other signer")
    except JigbookError as error:
        return failed(error)
    return signed


def failed(error: JigbookError) -> Failed:
    """The error as a value; of several problems the first."""
    if isinstance(error, BadInput):
        first = error.problems[0]
        return Failed(first.code, first.field, dict(first.facts))
    return Failed(error.code, error.feature, dict(error.facts))
