"""Which hosts this app answers for, and from which pages a form may come."""

import re
from dataclasses import dataclass
from urllib.parse import urlsplit

from starlette.datastructures import Headers
from starlette.types import Scope

from app.settings import Settings, bracketed

SAFE_METHODS = frozenset({"GET", "HEAD", "OPTIONS"})
HOST_HEADER = re.compile(r"(?P<name>\[[0-9a-f:.]+\]|[a-z0-9._-]+)(:[0-9]{1,5})?")


@dataclass(frozen=True, slots=True)
class Origins:
    """The configured names, worked out once at the start.

    The list is configured and never read from a request's own Host header: else a foreign page
    whose name is made to resolve to this machine would count as our own.
    """

    hosts: frozenset[str]
    origins: frozenset[str]
    secure_hosts: frozenset[str]
    """Hosts that browsers reach by https only, through a proxy that ends the TLS."""

    def serves(self, headers: Headers) -> bool:
        """True when the request names exactly one host, and it is one of ours."""
        named = headers.getlist("host")
        return len(named) == 1 and host_name(named[0]) in self.hosts

    def admits(self, method: str, headers: Headers) -> bool:
        """True when the request may change something: it comes from one of our own pages.

        Browsers on plain http send no Sec-Fetch-Site, so the Origin alone must serve there; a
        request with neither does not come from a form of a browser of today.
        """
        if method in SAFE_METHODS:
            return True
        site, origin = headers.getlist("sec-fetch-site"), headers.getlist("origin")
        if site and site != ["same-origin"]:
            return False
        if origin:
            return len(origin) == 1 and origin[0].casefold() in self.origins
        return bool(site)

    def is_secure(self, scope: Scope) -> bool:
        """True when the browser reached us by https, here or at the proxy before us."""
        host = host_name(Headers(scope=scope).get("host", ""))
        return scope.get("scheme") == "https" or host in self.secure_hosts


def host_name(header: str) -> str | None:
    """The name in a Host header, without its port; None when it is not one."""
    match = HOST_HEADER.fullmatch(header.casefold())
    return match["name"] if match else None


def configured_origins(settings: Settings) -> Origins:
    """The names under which the settings say that the app is reached."""
    public = urlsplit(settings.public_url or "")
    behind_tls = public.scheme == "https" and public.hostname is not None
    return Origins(
        hosts=frozenset(settings.allowed_hosts),
        origins=frozenset(settings.allowed_origins),
        secure_hosts=frozenset({bracketed(public.hostname or "")} if behind_tls else ()),
    )
