"""The time-stamp service that the shop has chosen, as its folder of keys names it."""

import json
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Literal
from urllib.parse import urlsplit

from cryptography import x509

from app.errors import BadInput, Problem
from app.signing.chain import issued
from app.signing.private_files import write_private
from app.signing.trust import STAMPERS

SETTINGS = "time-stamps.json"
Choice = Literal["refuse", "sign_without"]
"""What happens when no stamp is to be had: no certificate, or one without, which says so."""


@dataclass(frozen=True, slots=True)
class Service:
    """The time-stamp service that the shop uses."""

    address: str
    if_unreachable: Choice
    authorities_pem: str
    """Its authority, signed by itself, and what stands between, if the service sends it not."""


def service_of(folder: Path) -> Service | None:
    """The service that the folder of keys names, if any."""
    try:
        return Service(**json.loads((folder / SETTINGS).read_text(encoding="utf-8")))
    except FileNotFoundError:
        return None


def set_service(folder: Path, service: Service | None) -> None:
    """Use this service from now on, or none. Authorities of earlier ones stay trusted.

    Raises BadInput for an address or a certificate that cannot be used.
    """
    if service is None:
        (folder / SETTINGS).unlink(missing_ok=True)
        return
    check_service(service)
    stampers = folder / STAMPERS
    known = stampers.read_text(encoding="ascii") if stampers.is_file() else ""
    if service.authorities_pem not in known:
        write_private(stampers, (known + service.authorities_pem).encode("ascii"))
    write_private(folder / SETTINGS, json.dumps(asdict(service)).encode())


def check_service(service: Service) -> None:
    """Raise BadInput unless the address and the authority can be used."""
    address = urlsplit(service.address)
    if address.scheme not in ("http", "https") or not address.hostname:
        facts = {"met": service.address[:80]}
        raise BadInput([Problem("time_stamp_address", "time_stamp_address", facts)])
    if not service.authorities_pem.strip():
        raise BadInput([Problem("time_stamp_authority_missing", "time_stamp_authority")])
    try:
        found = x509.load_pem_x509_certificates(service.authorities_pem.encode("ascii"))
    except ValueError:
        found = []
    if not any(issued(one, one) for one in found):
        raise BadInput([Problem("time_stamp_authority", "time_stamp_authority")])
