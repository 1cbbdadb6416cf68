"""Photos of a job through the API, one file a call; and what customers signed."""

from starlette.responses import Response

from app.schemas.photo import PhotoIn
from app.schemas.requests import ReasonIn
from app.services import photo_sharing, photos, signatures
from app.services.darkroom import Darkroom
from app.services.photos import PhotoView
from app.services.signatures import SignatureView
from app.web.api.call import Call, Calling, answer
from app.web.api.described import Described, route
from app.web.api.listing import Limit, Offset, Words, sliced

OF_JOB = "/jobs/{number}/photos"
ONE = OF_JOB + "/{photo_id}"
JPEG = "image/jpeg"
TAKEN = (JPEG, "image/png", "image/webp")


@route("GET", OF_JOB, "photos.read", Described(answers=PhotoView, many=True))
def list_photos(call: Calling, number: str, limit: Limit = 50, offset: Offset = 0) -> Response:
    """The photos of a job, also those that were taken out or erased."""
    found = call.read(lambda session: photos.listing(session, call.actor, number))
    return sliced(call, found, limit, offset)


@route(
    "POST",
    OF_JOB,
    "photos.write",
    Described(sends=bytes, answers=PhotoView, status=201, media_types=TAKEN, repeatable=True),
)
def add_photo(call: Calling, number: str, about: Words = "", caption: Words = "") -> Response:
    """Add a photo; it is turned upright, re-encoded, and what the camera wrote is removed."""
    call.require_media_type(*TAKEN)
    repeated = call.answered()
    if repeated is not None:
        return repeated
    call.read(lambda session: photos.listing(session, call.actor, number))
    prepared = _darkroom(call).prepare(call.body)
    return call.write(
        lambda session: photos.add(
            session, call.actor, number, prepared, about or None, caption or None, call.now
        ),
        201,
    )


@route("GET", ONE, "photos.read", Described(answers=PhotoView))
def read_photo(call: Calling, number: str, photo_id: int) -> Response:
    """What is known of one photo."""
    return answer(call.read(lambda session: photos.read(session, call.actor, number, photo_id)))


@route("GET", ONE + "/whole", "photos.read", Described(answer_type=JPEG))
def download_photo(call: Calling, number: str, photo_id: int) -> Response:
    """The photo itself, as a JPEG."""
    found = call.read(lambda session: photos.file(session, call.actor, number, photo_id))
    return Response(found.content, media_type=JPEG)


@route("GET", ONE + "/thumbnail", "photos.read", Described(answer_type=JPEG))
def download_thumbnail(call: Calling, number: str, photo_id: int) -> Response:
    """The photo in small, as a JPEG."""
    found = call.read(
        lambda session: photos.file(session, call.actor, number, photo_id, thumbnail=True)
    )
    return Response(found.content, media_type=JPEG)


@route("PUT", ONE, "photos.write", Described(sends=PhotoIn, answers=PhotoView, repeatable=True))
def describe_photo(call: Calling, number: str, photo_id: int) -> Response:
    """Put what it shows, and the caption, in place of the old ones."""
    sent = call.sent(PhotoIn)
    return call.write(
        lambda session: photos.describe(
            session, call.actor, number, photo_id, sent.about, sent.caption, call.now
        )
    )


@route("POST", ONE + "/share", "photos.share", Described(answers=PhotoView, repeatable=True))
def share_photo(call: Calling, number: str, photo_id: int) -> Response:
    """Let a photo go with the claim."""
    return call.write(
        lambda session: photo_sharing.share(session, call.actor, number, photo_id, call.now)
    )


@route("POST", ONE + "/keep-back", "photos.share", Described(answers=PhotoView, repeatable=True))
def keep_photo_back(call: Calling, number: str, photo_id: int) -> Response:
    """Let a photo stay in the shop from now on."""
    return call.write(
        lambda session: photo_sharing.keep_back(session, call.actor, number, photo_id, call.now)
    )


@route(
    "POST",
    ONE + "/take-out",
    "photos.write",
    Described(sends=ReasonIn, answers=PhotoView, repeatable=True),
)
def take_photo_out(call: Calling, number: str, photo_id: int) -> Response:
    """Take a photo out of the gallery, with the reason."""
    sent = call.sent(ReasonIn)
    return call.write(
        lambda session: photos.take_out(
            session, call.actor, number, photo_id, sent.reason, call.now
        )
    )


@route(
    "POST",
    ONE + "/erase",
    "photos.erase",
    Described(sends=ReasonIn, answers=PhotoView, repeatable=True),
)
def erase_photo(call: Calling, number: str, photo_id: int) -> Response:
    """Erase a photo for good, with the reason."""
    sent = call.sent(ReasonIn)
    return call.write(
        lambda session: photos.erase(session, call.actor, number, photo_id, sent.reason, call.now)
    )


@route(
    "GET",
    "/jobs/{number}/signatures",
    "signatures.read",
    Described(answers=SignatureView, many=True),
)
def list_signatures(call: Calling, number: str, limit: Limit = 50, offset: Offset = 0) -> Response:
    """What a job's customer signed, in the order of signing."""
    found = call.read(lambda session: signatures.listing(session, call.actor, number))
    return sliced(call, found, limit, offset)


def _darkroom(call: Call) -> Darkroom:
    made: Darkroom = call.request.app.state.darkroom
    return made
