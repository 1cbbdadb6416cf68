"""Lists in pages: how many, from where, and where the next page is."""

from collections.abc import Callable, Sequence
from typing import Annotated
from urllib.parse import urlencode

from fastapi import Query
from starlette.responses import Response

from app.web.api.call import Call, answer

MOST = 200
LARGEST_OFFSET = 1_000_000

Limit = Annotated[int, Query(ge=1, le=MOST)]
Offset = Annotated[int, Query(ge=0, le=LARGEST_OFFSET)]
Words = Annotated[str, Query(max_length=200)]


def listed(
    call: Call, find: Callable[[int, int], Sequence[object]], limit: int, offset: int
) -> Response:
    """One page of what `find(limit, offset)` gives, and the address of the next one."""
    found = find(limit + 1, offset)
    return page(call, found[:limit], limit, offset, more=len(found) > limit)


def sliced(call: Call, found: Sequence[object], limit: int, offset: int) -> Response:
    """One page of what was found all at once."""
    shown = found[offset : offset + limit]
    return page(call, shown, limit, offset, more=len(found) > offset + limit)


def page(call: Call, items: Sequence[object], limit: int, offset: int, *, more: bool) -> Response:
    following = None
    if more:
        asked = dict(call.request.query_params) | {"limit": limit, "offset": offset + limit}
        following = f"{call.request.url.path}?{urlencode(asked)}"
    return answer({"items": list(items), "limit": limit, "offset": offset, "next": following})
