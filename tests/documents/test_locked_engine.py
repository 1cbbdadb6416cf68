"""The layout engine loads its own named assets and nothing else, whatever the page asks for.

Every way is tried with a file of this machine and with a server of this test, under an eye on each
file that Python opens and each connection that it makes.
"""

import http.server
import sys
import threading
import urllib.request
from collections.abc import Iterator
from pathlib import Path

import pytest

from app.documents.certificate import assets
from app.documents.engine import to_pdf
from app.errors import Unavailable

SECRET = "TOP-SECRET-LINE"
ASKED = {
    "image": '<img src="{url}">',
    "image_set": '<img srcset="{url} 2x" src="{url}">',
    "object": '<object data="{url}"></object>',
    "embed": '<embed src="{url}">',
    "style_sheet": '<link rel="stylesheet" href="{url}">',
    "attachment_link": '<link rel="attachment" href="{url}">',
    "attachment_anchor": '<a rel="attachment" href="{url}">x</a>',
    "import": '<style>@import url("{url}");</style>',
    "font": '<style>@font-face {{ font-family: F; src: url("{url}") }}'
    " p {{ font-family: F }}</style>",
    "font_local": '<style>@font-face {{ font-family: F; src: local("Arial") }}'
    " p {{ font-family: F }}</style>",
    "background": '<p style="background: url({url})">x</p>',
    "list_mark": '<ul style="list-style-image: url({url})"><li>x</ul>',
    "border_image": '<p style="border: 3px solid; border-image: url({url}) 1">x</p>',
    "content": '<style>p::before {{ content: url("{url}") }}</style>',
    "svg_image": '<svg width="9" height="9"><title>t</title><image href="{url}" width="9" '
    'height="9"/></svg>',
    "svg_image_old": '<svg xmlns:xlink="http://www.w3.org/1999/xlink" width="9" height="9">'
    '<title>t</title><image xlink:href="{url}" width="9" height="9"/></svg>',
    "base": '<base href="file:///"><img src="etc/hostname">',
    "data": "<img src=\"data:image/svg+xml,%3Csvg xmlns='http://www.w3.org/2000/svg'/%3E\">",
    "relative": '<img src="../../secret.txt">',
    "asset_climbing": '<img src="asset:///../secret.txt">',
    "asset_unknown": '<img src="asset:///unknown.png">',
    "media_query": '<style>@media print {{ p {{ background: url("{url}") }} }}</style>',
    "page_background": "<style>@page {{ background: url({url}) }}</style>",
    "page_margin": '<style>@page {{ @top-left {{ content: url("{url}") }} }}</style>',
    "colour_profile": '<style>@color-profile --c {{ src: url("{url}") }} p {{ color: '
    "color(--c 1 0 0) }}</style>",
    "attribute_as_address": "<style>b::before {{ content: attr(title url) }}</style>"
    '<b title="{url}">x</b>',
}
"""Ways that ask for an address: each refuses the document."""

UNASKED = {
    "frame": '<iframe src="{url}"></iframe>',
    "script": '<script src="{url}"></script>',
    "video": '<video src="{url}" poster="{url}"></video>',
    "sound": '<audio src="{url}"></audio>',
    "picture_source": '<picture><source srcset="{url}"></picture>',
    "button_image": '<input type="image" src="{url}" alt="x">',
    "refresh": '<meta http-equiv="refresh" content="0; url={url}">',
    "icon": '<link rel="icon" href="{url}">',
    "body_background": '<table background="{url}"><tr><td>x</table>',
    "link": '<a href="{url}">x</a>',
    "xml_style_sheet": '<?xml-stylesheet href="{url}"?>',
    "entity": '<!DOCTYPE svg [<!ENTITY e SYSTEM "{url}">]><svg width="9" height="9"><title>t'
    "</title><text font-family='Jigbook Certificate'>&e;</text></svg>",
    "svg_use": '<svg width="9" height="9"><title>t</title><use href="{url}#a"/></svg>',
    "svg_mask": '<svg width="9" height="9"><title>t</title><rect mask="url({url}#a)" width="9" '
    'height="9"/></svg>',
    "svg_filter": '<svg width="9" height="9"><title>t</title><rect filter="url({url}#a)" '
    'width="9" height="9"/></svg>',
    "svg_filter_image": '<svg width="9" height="9"><title>t</title><filter id="f"><feImage '
    'href="{url}"/></filter><rect filter="url(#f)" width="9" height="9"/></svg>',
    "svg_fill": '<svg width="9" height="9"><title>t</title><rect fill="url({url}#a)" width="9" '
    'height="9"/></svg>',
    "svg_style_sheet": '<svg width="9" height="9"><title>t</title><style>@import "{url}";'
    '</style><rect width="9" height="9"/></svg>',
    "svg_font": '<svg width="9" height="9"><title>t</title><style>@font-face {{ font-family: F; '
    'src: url({url}) }}</style><text font-family="F">x</text></svg>',
    "svg_foreign": '<svg width="9" height="9"><title>t</title><foreignObject><img src="{url}"/>'
    "</foreignObject></svg>",
    "cursor": '<p style="cursor: url({url}), auto">x</p>',
    "mask": '<p style="mask-image: url({url})">x</p>',
    "filter": '<p style="filter: url({url}#a)">x</p>',
    "clip": '<p style="clip-path: url({url}#a)">x</p>',
    "shape": '<p style="shape-outside: url({url})">x</p>',
}
"""Ways that the engine does not know, and refuses or passes over."""


class Watch:
    """What Python opened and connected to while it was on."""

    def __init__(self) -> None:
        self.on = False
        self.opened: list[str] = []
        self.connected: list[str] = []

    def __call__(self, event: str, details: tuple[object, ...]) -> None:
        if not self.on:
            return
        if event == "open":
            self.opened.append(str(details[0]))
        elif event in ("socket.connect", "socket.getaddrinfo", "urllib.Request"):
            self.connected.append(repr(details))


WATCH = Watch()


@pytest.fixture(scope="module", autouse=True)
def _watching() -> Iterator[None]:
    """A hook cannot be taken out again, so it is put in for these tests alone and once."""
    to_pdf(page(""), assets())
    sys.addaudithook(WATCH)
    WATCH.on = True
    yield
    WATCH.on = False


@pytest.fixture(autouse=True)
def _fresh() -> None:
    WATCH.opened.clear()
    WATCH.connected.clear()


@pytest.fixture
def secret(tmp_path: Path) -> Path:
    file = tmp_path / "secret.svg"
    file.write_text(f'<svg xmlns="http://www.w3.org/2000/svg"><text>{SECRET}</text></svg>')
    WATCH.opened.clear()
    return file


@pytest.fixture(scope="module")
def server() -> Iterator[tuple[str, list[str]]]:
    """A server of this test that notes every request."""
    asked: list[str] = []

    class Note(http.server.BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            asked.append(self.path)
            self.send_response(200)
            self.end_headers()

        def log_message(self, *words: object) -> None:
            """Say nothing."""

    made = http.server.ThreadingHTTPServer(("127.0.0.1", 0), Note)
    thread = threading.Thread(target=made.serve_forever)
    thread.start()
    yield f"http://127.0.0.1:{made.server_port}/x.png", asked
    made.shutdown()
    thread.join()
    made.server_close()


def page(body: str) -> str:
    """A page that is sound but for the body: what refuses it is the body."""
    return (
        '<html lang="en"><head><meta charset="utf-8"><title>t</title>'
        '<link rel="stylesheet" href="asset:///certificate.css"></head>'
        f"<body><h1>x</h1><p>x</p>{body}</body></html>"
    )


def refused(way: str, url: str) -> None:
    """The document is refused, or for what the engine does not know made without it."""
    html = page((ASKED | UNASKED)[way].format(url=url))
    if way in ASKED:
        with pytest.raises(Unavailable, match="render_refused") as caught:
            to_pdf(html, assets())
        # The font of the machine that `local()` names is found by the system's library.
        assert ("foreign font" in str(caught.value.facts["reason"])) == (way == "font_local")
        return
    try:
        made = to_pdf(html, assets())
    except Unavailable:
        return
    assert SECRET.encode() not in made


def test_the_watch_sees_what_it_is_to_see(secret: Path, server: tuple[str, list[str]]) -> None:
    secret.read_text()
    assert WATCH.opened == [str(secret)]
    with urllib.request.urlopen(server[0].replace("x.png", "seen")) as answer:
        answer.read()
    assert WATCH.connected
    assert server[1] == ["/seen"]
    server[1].clear()


def test_enough_ways_are_tried() -> None:
    assert len(ASKED | UNASKED) == len(ASKED) + len(UNASKED) >= 50


@pytest.mark.parametrize("way", ASKED | UNASKED)
def test_no_way_reads_a_file(way: str, secret: Path) -> None:
    refused(way, secret.as_uri())
    assert [path for path in WATCH.opened if "secret" in path or "hostname" in path] == []


@pytest.mark.parametrize("way", ASKED | UNASKED)
def test_no_way_reaches_the_network(way: str, server: tuple[str, list[str]]) -> None:
    url, asked = server
    refused(way, url)
    assert (asked, WATCH.connected) == ([], [])


@pytest.mark.parametrize(
    "body",
    [
        '<p style="colr: red">x</p>',
        '<img src="asset:///broken.png">',
        '<a href="#nowhere">x</a>',
    ],
)
def test_any_warning_of_the_engine_refuses_the_document(body: str) -> None:
    with pytest.raises(Unavailable, match="render_refused") as caught:
        to_pdf(page(body), {**assets(), "broken.png": b"no picture"})
    assert caught.value.facts["reason"]
