"""Style sheets, the script and the small pictures: few and small, so held in memory.

An address carries the digest of its file: browsers may keep it for a year, and a new release is
seen at once.
"""

import hashlib
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType

from fastapi import APIRouter
from starlette.responses import Response

from app import resources
from app.errors import NotFound

MEDIA_TYPES = MappingProxyType(
    {
        ".css": "text/css; charset=utf-8",
        ".js": "text/javascript; charset=utf-8",
        ".svg": "image/svg+xml",
        ".png": "image/png",
    }
)
FOR_A_YEAR = "public, max-age=31536000, immutable"
FOR_A_DAY = "public, max-age=86400"

router = APIRouter()


@dataclass(frozen=True, slots=True)
class Asset:
    """One file with the digest that stands in its address."""

    content: bytes
    media_type: str
    digest: str


@cache
def assets() -> MappingProxyType[str, Asset]:
    """The files of the static folder by name; what has another ending is not served."""
    found = {}
    for path in sorted(resources.static().iterdir()):
        if path.suffix in MEDIA_TYPES:
            content = path.read_bytes()
            digest = hashlib.sha256(content).hexdigest()[:16]
            found[path.name] = Asset(content, MEDIA_TYPES[path.suffix], digest)
    return MappingProxyType(found)


def asset(name: str) -> str:
    """The address of a file of the static folder. Raises KeyError when there is none."""
    return f"/static/{assets()[name].digest}/{name}"


@router.get("/static/{digest}/{name}", include_in_schema=False)
def static_file(digest: str, name: str) -> Response:
    """One file, kept by browsers for a year: its address changes with its content."""
    found = assets().get(name)
    if found is None or found.digest != digest:
        raise NotFound("no_such_page")
    headers = {"Cache-Control": FOR_A_YEAR}
    return Response(found.content, media_type=found.media_type, headers=headers)


@router.get("/favicon.ico", include_in_schema=False)
def favicon() -> Response:
    """What browsers ask for by themselves, also where no page named an icon."""
    icon = assets()["icon.svg"]
    headers = {"Cache-Control": FOR_A_DAY}
    return Response(icon.content, media_type=icon.media_type, headers=headers)
