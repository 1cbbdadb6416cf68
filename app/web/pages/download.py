"""A file of the records as a download."""

from urllib.parse import quote

from starlette.background import BackgroundTask
from starlette.responses import Response, StreamingResponse

from app.services.bundles import Bundle
from app.services.certificates import CertificateFile


def pdf_download(found: CertificateFile) -> Response:
    """The signed PDF, byte for byte, under a name of our own making."""
    return attachment(found.pdf, "application/pdf", found.filename)


def attachment(content: bytes, media_type: str, name: str) -> Response:
    """A download under this name; in both spellings of RFC 6266, nothing in it is special."""
    headers = {"Content-Disposition": disposition(name)}
    return Response(content, media_type=media_type, headers=headers)


def disposition(name: str) -> str:
    """What tells a browser to keep the answer as a file."""
    plain = "".join(c if c.isascii() and (c.isalnum() or c in "-_.") else "_" for c in name)
    return f"attachment; filename=\"{plain}\"; filename*=UTF-8''{quote(name, safe='')}"


def archive_download(found: Bundle) -> Response:
    """A zip, piece by piece from its temporary file."""
    return StreamingResponse(
        found.archive.pieces(),
        media_type="application/zip",
        headers={
            "Content-Disposition": disposition(found.filename),
            "Content-Length": str(found.archive.size),
        },
        # Whoever hangs up before the first piece leaves no file behind either.
        background=BackgroundTask(found.archive.file.close),
    )
