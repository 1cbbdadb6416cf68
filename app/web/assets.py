"""Style sheets, scripts and the small pictures: few and small, so held in memory.

An address carries the digest of its file: browsers may keep it for a year, and a new release is
seen at once. A script is written in small files, one purpose each, and served as one.
"""

import gzip
import hashlib
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType

from fastapi import APIRouter, Request
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
ASK_AGAIN = "public, no-cache"
"""Kept, but never shown without asking whether it still is the newest."""
SCRIPT = "app.js"
"""Of every page."""
SCRIPTS = MappingProxyType({SCRIPT: "script", "desk.js": "script/desk"})
"""Each with the folder of the files that it is made of; the second serves check-in and order."""

router = APIRouter()


@dataclass(frozen=True, slots=True)
class Asset:
    """One file with the digest that stands in its address."""

    content: bytes
    media_type: str
    digest: str
    packed: bytes
    """Compressed once: holds nothing secret, which is why it may be where pages may not."""


@cache
def assets() -> MappingProxyType[str, Asset]:
    """The files of the static folder by name; what has another ending is not served."""
    found = {}
    for path in sorted(resources.static().iterdir()):
        if path.suffix in MEDIA_TYPES:
            found[path.name] = asset_of(path.read_bytes(), path.suffix)
    for name in SCRIPTS:
        found[name] = asset_of(script(name), ".js")
    return MappingProxyType(found)


def asset_of(content: bytes, suffix: str) -> Asset:
    """Content with its media type and digest."""
    digest = hashlib.sha256(content).hexdigest()[:16]
    return Asset(content, MEDIA_TYPES[suffix], digest, gzip.compress(content, mtime=0))


def script(name: str) -> bytes:
    """The files of a script's folder in the order of their names, as one.

    Each is one function that is called at once and strict for itself: none sees the others' names.
    """
    folder = resources.static() / SCRIPTS[name]
    return b"\n".join(path.read_bytes() for path in sorted(folder.glob("*.js")))


def asset(name: str) -> str:
    """The address of a file of the static folder. Raises KeyError when there is none."""
    return f"/static/{assets()[name].digest}/{name}"


@router.get("/static/{digest}/{name}", include_in_schema=False)
def static_file(request: Request, digest: str, name: str) -> Response:
    """One file, kept by browsers for a year: its address changes with its content."""
    found = assets().get(name)
    if found is None or found.digest != digest:
        raise NotFound("no_such_page")
    headers = {"Cache-Control": FOR_A_YEAR, "Vary": "Accept-Encoding"}
    if not takes_packed(request.headers.get("accept-encoding", "")):
        return Response(found.content, media_type=found.media_type, headers=headers)
    headers["Content-Encoding"] = "gzip"
    return Response(found.packed, media_type=found.media_type, headers=headers)


def takes_packed(accepted: str) -> bool:
    """Whether a client that sends this Accept-Encoding names gzip and does not refuse it."""
    for one in accepted.lower().replace(" ", "").split(","):
        name, _, weight = one.partition(";q=")
        if name == "gzip":
            return weight == "" or weight.strip("0.") != ""
    return False


@router.get("/static/app.js", include_in_schema=False)
def bare_script(request: Request) -> Response:
    """The script by its plain name: asked for again each time, sent again only when it changed."""
    found = assets()[SCRIPT]
    mark = f'"{found.digest}"'
    headers = {"Cache-Control": ASK_AGAIN, "ETag": mark}
    if mark in request.headers.get("if-none-match", ""):
        return Response(status_code=304, headers=headers)
    return Response(found.content, media_type=found.media_type, headers=headers)


@router.get("/favicon.ico", include_in_schema=False)
def favicon() -> Response:
    """What browsers ask for by themselves, also where no page named an icon."""
    icon = assets()["icon.svg"]
    headers = {"Cache-Control": FOR_A_DAY}
    return Response(icon.content, media_type=icon.media_type, headers=headers)


@router.get("/robots.txt", include_in_schema=False)
def robots() -> Response:
    """No robot has anything to look for in a shop."""
    return Response(
        "User-agent: *\nDisallow: /\n",
        media_type="text/plain",
        headers={"Cache-Control": FOR_A_DAY},
    )
