"""A file of the records as a download."""

from urllib.parse import quote

from starlette.responses import Response

from app.services.certificates import CertificateFile


def pdf_download(found: CertificateFile) -> Response:
    """The signed PDF, byte for byte, under a name of our own making."""
    return attachment(found.pdf, "application/pdf", found.filename)


def attachment(content: bytes, media_type: str, name: str) -> Response:
    """A download; the name in both spellings of RFC 6266, so that nothing in it is special."""
    plain = "".join(c if c.isascii() and (c.isalnum() or c in "-_.") else "_" for c in name)
    disposition = f"attachment; filename=\"{plain}\"; filename*=UTF-8''{quote(name, safe='')}"
    return Response(content, media_type=media_type, headers={"Content-Disposition": disposition})
