"""What the worker process does: lay out and sign. Answers are values, errors among them."""

from app.documents.certificate import print_certificate, signature_box
from app.documents.content import CertificateContent
from app.documents.draft import print_draft
from app.documents.pango import engine
from app.errors import BadInput, JigbookError, Unavailable
from app.services.order import Failed, Made, Order
from app.signing.checking import check_against
from app.signing.signature import Statement, field_size, sign
from app.signing.trust import Trust


def ready() -> Failed | None:
    """Why documents cannot be made here at all; None when they can."""
    try:
        engine()
    except JigbookError as error:
        return failed(error)
    return None


def make(order: Order) -> Made | Failed:
    """The signed certificate, checked by the same rule as a recipient's."""
    try:
        unsigned = print_certificate(order.content, order.data, order.pictures)
        box = signature_box(order.box, *field_size(unsigned))
        statement = Statement(order.when, order.reason, box)
        made = signed(unsigned, order, statement)
        check_own(made, order)
    except JigbookError as error:
        return failed(error)
    return made


def draft(content: CertificateContent, pictures: dict[str, bytes]) -> bytes | Failed:
    """The pages alone: neither data nor signature."""
    try:
        return print_draft(content, pictures)
    except JigbookError as error:
        return failed(error)


def signed(unsigned: bytes, order: Order, statement: Statement) -> Made:
    """Signed, with a time stamp where one is to be had or the shop does not sign without."""
    service = order.service
    if service is None:
        return Made(sign(unsigned, order.key, statement), None)
    try:
        return Made(sign(unsigned, order.key, statement, service), "stamped")
    except Unavailable as error:
        if error.code != "time_stamp_unreachable" or service.if_unreachable == "refuse":
            raise
    return Made(sign(unsigned, order.key, statement), "unreachable")


def check_own(made: Made, order: Order) -> None:
    """Raise Unavailable unless a recipient would take the file as it is."""
    key, service = order.key, order.service
    stampers = (service.authorities_pem.encode(),) if service else ()
    trust = Trust((key.authority_pem,), frozenset({key.fingerprint}), stampers)
    checked = check_against(made.pdf, trust, order.when)
    if not checked.unaltered:
        raise Unavailable("signing_failed", None, reason=checked.why_not or "")
    is_stamped = checked.stamp is not None and checked.stamp.trusted
    if is_stamped != (made.time_stamp == "stamped"):
        raise Unavailable("signing_failed", None, reason="time stamp not trusted")


def failed(error: JigbookError) -> Failed:
    """The error as a value; of several problems the first."""
    if isinstance(error, BadInput):
        first = error.problems[0]
        return Failed(first.code, first.field, dict(first.facts))
    return Failed(error.code, error.feature, dict(error.facts))
