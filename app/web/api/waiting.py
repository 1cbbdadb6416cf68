"""Work that goes on after the answer, and clients that rather wait for it (RFC 7240)."""

import json
import re
import time
from collections.abc import Callable

import anyio
import anyio.to_thread
from starlette.responses import Response

from app.errors import Conflict
from app.services import certificates
from app.services.register import CertificateView
from app.web.api.call import Call, answer
from app.web.routes import path_to

LONGEST_WAIT_S = 60
ONE_LOOK_S = 0.2
WAIT = re.compile(r"(?:^|,)\s*wait\s*=\s*\"?(\d{1,6})\"?\s*(?:[,;]|$)")
PREFER = "Prefer"


def seconds_to_wait(preference: str) -> int:
    """What a client is ready to wait; 0 when it says nothing of it."""
    found = WAIT.search(preference.lower())
    return min(int(found[1]), LONGEST_WAIT_S) if found else 0


async def signed_for(call: Call, work: Callable[[], CertificateView]) -> Response:
    """202 with the certificate's line as soon as its number is taken; 201 when it is finished
    within the time that the client waits. No thread is kept while it waits.

    Raises Conflict `certificate_not_made` when meanwhile it became void.
    """
    first = await anyio.to_thread.run_sync(call.write_in_units, work, 202)
    number = json.loads(bytes(first.body))["number"]
    first.headers["Location"] = path_to("api_read_certificate", number=number)
    wait_s = seconds_to_wait(call.request.headers.get(PREFER, ""))
    view = await finished(call, number, wait_s) if wait_s else None
    if view is None or view.status == "issuing":
        return first
    if view.status == "void":
        why = view.status_reason or ""
        raise Conflict("certificate_not_made", None, number=number, why=why)
    done = answer(view, 201)
    done.headers["Location"] = first.headers["Location"]
    done.headers["Preference-Applied"] = f"wait={wait_s}"
    return done


async def finished(call: Call, number: str, wait_s: int) -> CertificateView:
    """The certificate's line when nothing goes on any more, or the time is over."""
    end = time.monotonic() + wait_s

    def look() -> CertificateView:
        return call.read(lambda session: certificates.certificate(session, call.actor, number))

    while (view := await anyio.to_thread.run_sync(look)).status == "issuing":
        if time.monotonic() >= end:
            break
        await anyio.sleep(ONE_LOOK_S)
    return view
