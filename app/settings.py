"""Where the data lies and how the program is reached: read once at the start, never changed.

The command line goes first, then the environment, then the defaults.
"""

import os
import socket
from collections.abc import Mapping
from dataclasses import dataclass
from ipaddress import ip_network
from pathlib import Path
from urllib.parse import quote, urlsplit
from zoneinfo import available_timezones

import platformdirs

from app.errors import BadInput, Problem, Unavailable

DEFAULT_HOST = "127.0.0.1"
DEFAULT_PORT = 8417
LOOPBACK_NAMES = ("127.0.0.1", "localhost", "[::1]")
WILDCARDS = ("0.0.0.0", "::", "")


@dataclass(frozen=True, slots=True)
class Settings:
    """All that is configured from outside.

    `plain_http_on_lan` is the owner's explicit word that passwords may cross the shop's own
    network unencrypted; the pages then show a banner and the cookie cannot be `Secure`.
    """

    data_dir: Path
    database_url: str
    host: str = DEFAULT_HOST
    port: int = DEFAULT_PORT
    public_url: str | None = None
    plain_http_on_lan: bool = False
    tls_cert: Path | None = None
    tls_key: Path | None = None
    further_hosts: tuple[str, ...] = ()
    is_demonstration: bool = False
    proxies: tuple[str, ...] = ()
    """Addresses or networks of the proxies whose word on who asks is believed."""

    @property
    def loopback_only(self) -> bool:
        """True when nobody but this machine can reach the server."""
        return self.host in ("127.0.0.1", "localhost", "::1")

    @property
    def over_tls(self) -> bool:
        """True when browsers reach the pages by https, from here or from a proxy before it."""
        return self.tls_cert is not None or (self.public_url or "").startswith("https://")

    @property
    def address(self) -> str:
        """The address to open in a browser on this machine, without a slash at the end."""
        host = "127.0.0.1" if self.host in WILDCARDS else bracketed(self.host)
        return f"{'https' if self.tls_cert else 'http'}://{host}:{self.port}"

    @property
    def address_for_others(self) -> str | None:
        """Where tablets of the shop reach the pages, without a slash at the end; None when nobody
        but this machine does."""
        if self.public_url is not None:
            return self.public_url
        host = own_address() if self.host in WILDCARDS else self.host
        if self.loopback_only or host is None:
            return None
        return f"{'https' if self.tls_cert else 'http'}://{bracketed(host)}:{self.port}"

    @property
    def allowed_hosts(self) -> tuple[str, ...]:
        """Host names (without port) that a request may name; all others are refused.

        A list that is configured, not the request's own Host header: else a foreign page whose
        name is made to resolve to this machine would pass the guard.
        """
        names = [*LOOPBACK_NAMES, *self.further_hosts]
        if self.host in WILDCARDS:
            names += own_names()
        else:
            names.append(bracketed(self.host))
        if self.public_url and (public := urlsplit(self.public_url).hostname):
            names.append(bracketed(public))
        return tuple(dict.fromkeys(name.casefold() for name in names))

    @property
    def allowed_origins(self) -> tuple[str, ...]:
        """Values of the Origin header that a writing request may carry."""
        scheme = "https" if self.tls_cert else "http"
        default_port = 443 if self.tls_cert else 80
        port = "" if self.port == default_port else f":{self.port}"
        origins = [f"{scheme}://{name}{port}" for name in self.allowed_hosts]
        if self.public_url:
            public = urlsplit(self.public_url)
            origins.append(f"{public.scheme}://{public.netloc}".casefold())
        return tuple(dict.fromkeys(origins))


def bracketed(host: str) -> str:
    """The host as it stands in an address: an IPv6 address in square brackets."""
    return f"[{host}]" if ":" in host and not host.startswith("[") else host


def own_names() -> list[str]:
    """Names and addresses under which the shop's network may know this machine."""
    name = socket.gethostname()
    address = own_address()
    return [name, f"{name}.local", *([address] if address else [])]


def own_address() -> str | None:
    """This machine's address on its network; None when it is on none."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            # Connecting a datagram socket sends nothing: it only asks which of this machine's
            # addresses a packet would leave from. The address is one reserved for documentation.
            probe.connect(("192.0.2.1", 9))
        except OSError:
            return None
        return str(probe.getsockname()[0])


def own_time_zone(environment: Mapping[str, str] = os.environ) -> str:
    """The name of this machine's time zone; UTC where it has none that others know."""
    named = environment.get("TZ", "").removeprefix(":")
    linked = os.path.realpath("/etc/localtime").partition("/zoneinfo/")[2]
    name = named or linked
    return name if name in available_timezones() else "UTC"


def default_data_dir() -> Path:
    """The folder for the shop's data in the user's own data directory."""
    return Path(platformdirs.user_data_path("jigbook", appauthor=False))


def sqlite_url(data_dir: Path) -> str:
    """The address of the one-file database in `data_dir`."""
    return "sqlite:///" + quote(str(data_dir / "jigbook.sqlite3"))


def read_settings(
    environment: Mapping[str, str] = os.environ,
    *,
    data_dir: Path | None = None,
    database_url: str | None = None,
    host: str | None = None,
    port: int | None = None,
    public_url: str | None = None,
    plain_http_on_lan: bool = False,
    tls_cert: Path | None = None,
    tls_key: Path | None = None,
    further_hosts: tuple[str, ...] = (),
    is_demonstration: bool = False,
) -> Settings:
    """Settings from the command line's words, else the environment, else the defaults.

    Raises BadInput when an address, a port or a pair of TLS files cannot be used.
    """
    folder = data_dir or Path(environment.get("JIGBOOK_DATA") or default_data_dir())
    folder = folder.expanduser().absolute()
    settings = Settings(
        data_dir=folder,
        database_url=database_url or environment.get("JIGBOOK_DATABASE_URL") or sqlite_url(folder),
        host=host or DEFAULT_HOST,
        port=DEFAULT_PORT if port is None else port,
        public_url=(public_url or environment.get("JIGBOOK_PUBLIC_URL") or "").rstrip("/") or None,
        plain_http_on_lan=plain_http_on_lan,
        tls_cert=tls_cert,
        tls_key=tls_key,
        further_hosts=further_hosts or listed(environment.get("JIGBOOK_ALLOWED_HOSTS", "")),
        is_demonstration=is_demonstration,
        proxies=listed(environment.get("JIGBOOK_PROXY", "")),
    )
    if problems := problems_of(settings):
        raise BadInput(problems)
    return settings


def listed(text: str) -> tuple[str, ...]:
    """The words of a comma-separated list."""
    return tuple(word.strip() for word in text.split(",") if word.strip())


def problems_of(settings: Settings) -> list[Problem]:
    """What in the settings cannot be used."""
    problems = []
    if not 0 <= settings.port <= 65535:
        problems.append(Problem("port_out_of_range", "port", {"met": settings.port}))
    public = urlsplit(settings.public_url or "")
    if settings.public_url and (public.scheme not in ("http", "https") or not public.hostname):
        problems.append(Problem("not_an_address", "public_url", {"met": settings.public_url}))
    if (settings.tls_cert is None) != (settings.tls_key is None):
        problems.append(Problem("tls_pair_incomplete", "tls_cert"))
    problems += [
        Problem("not_a_proxy", "JIGBOOK_PROXY", {"met": proxy[:80]})
        for proxy in settings.proxies
        if not is_network(proxy)
    ]
    return problems


def is_network(text: str) -> bool:
    """Whether the text is an address, or a network as its first address and a length."""
    try:
        ip_network(text)
    except ValueError:
        return False
    return True


def prepare_data_dir(settings: Settings) -> Path:
    """Make the data folder, readable by its owner alone; an existing one keeps its mode.

    Raises Unavailable when it cannot be made or written to.
    """
    folder = settings.data_dir
    before = os.umask(0o077)
    try:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    except OSError as error:
        raise Unavailable(
            "data_dir_unusable", None, path=str(folder), reason=error.strerror or ""
        ) from error
    finally:
        os.umask(before)
    if not os.access(folder, os.W_OK | os.X_OK):
        raise Unavailable("data_dir_unusable", None, path=str(folder), reason="not writable")
    return folder
