"""Who may do what: one table, from which routes, documentation and tests are made.

Nothing is allowed that does not stand here. A person holds one or more roles, an API token
exactly one.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from enum import StrEnum
from types import MappingProxyType

from app.errors import NotAllowed


class Role(StrEnum):
    DESK = "desk"
    TECHNICIAN = "technician"
    INSPECTOR = "inspector"
    OWNER = "owner"


@dataclass(frozen=True, slots=True)
class Actor:
    """Who acts: a person that is signed in, an API token, or the command line."""

    shop_id: int
    name: str
    roles: frozenset[Role]
    person_id: int | None = None
    token_id: int | None = None
    must_change_password: bool = False
    """Signed in with a one-time password: nothing but changing it is allowed."""
    by_pin: bool = False
    """Came in by PIN on a tablet: of what the own roles include only what a technician may."""

    @property
    def mark(self) -> str:
        """How the event log names the actor: never by a personal name."""
        if self.person_id is not None:
            return f"person:{self.person_id}"
        return "command_line" if self.token_id is None else f"token:{self.token_id}"


def command_line(shop_id: int) -> Actor:
    """Whoever can run commands on the shop's machine has the files anyway: all roles."""
    return Actor(shop_id, "command line", frozenset(Role))


@dataclass(frozen=True, slots=True)
class Permission:
    description: str
    roles: frozenset[Role] = field(default_factory=frozenset)


_DESK, _TECHNICIAN, _INSPECTOR, _OWNER = Role
_EVERYBODY = frozenset(Role)
_MEASURING = frozenset({_TECHNICIAN, _INSPECTOR})
_COUNTER = frozenset({_DESK, _OWNER})


def _table() -> dict[str, Permission]:
    return {
        "account.use": Permission("change the own password, sign out", _EVERYBODY),
        "shop.read": Permission("see the shop's name and settings", _EVERYBODY),
        "shop.write": Permission("change the shop's name and settings", frozenset({_OWNER})),
        "customers.read": Permission("see customers", _EVERYBODY),
        "customers.write": Permission("add and change customers", _COUNTER),
        "customers.tell": Permission("see and hand out all that is kept of a customer", _COUNTER),
        "customers.erase": Permission("erase a customer's personal values", frozenset({_OWNER})),
        "machines.read": Permission("see machines", _EVERYBODY),
        "machines.write": Permission("add and change machines", _COUNTER),
        "insurers.read": Permission("see insurers and claims", _EVERYBODY),
        "insurers.write": Permission("add and change insurers and claims", _COUNTER),
        "jobs.read": Permission("see jobs and search them", _EVERYBODY),
        "jobs.check_in": Permission("check a machine in, change the check-in", _COUNTER),
        "jobs.note": Permission("note something or a call on a job", _EVERYBODY),
        "jobs.choose_reference": Permission("choose the reference of a job", _MEASURING),
        "jobs.send_back": Permission("send a job back to be measured", frozenset({_INSPECTOR})),
        "jobs.answer": Permission("answer why a job was sent back", _MEASURING),
        "jobs.cancel": Permission("cancel and reopen a job", _COUNTER),
        "jobs.hand_over": Permission("hand a machine over", _COUNTER),
        "photos.read": Permission("see the photos of a job", _EVERYBODY),
        "photos.write": Permission(
            "add photos to a job, say what they show, take them out", _EVERYBODY
        ),
        "photos.share": Permission(
            "choose which photos go with a claim", frozenset({_DESK, _INSPECTOR, _OWNER})
        ),
        "photos.erase": Permission("erase photos for good", frozenset({_OWNER})),
        "signatures.read": Permission("see what customers signed", _COUNTER | {_INSPECTOR}),
        "signatures.write": Permission("have a customer sign", _COUNTER),
        "references.read": Permission("see references", _EVERYBODY),
        "references.write": Permission("add and revise references", _MEASURING | {_OWNER}),
        "instruments.read": Permission("see instruments and calibrations", _EVERYBODY),
        "instruments.write": Permission(
            "add and change instruments, record calibrations", frozenset({_INSPECTOR, _OWNER})
        ),
        "instruments.check": Permission(
            "record check-bar readings, gauge studies and handedness checks", _MEASURING
        ),
        "instruments.explain": Permission(
            "explain a check-bar reading that is out of control", frozenset({_INSPECTOR, _OWNER})
        ),
        "drafts.read": Permission("see measurements that are being taken", _MEASURING | {_OWNER}),
        "drafts.write": Permission("take points", _MEASURING),
        "surveys.read": Permission("see measurements and findings", _EVERYBODY),
        "surveys.submit": Permission("submit a measurement", _MEASURING),
        "solve": Permission("evaluate a measurement without storing it", _EVERYBODY),
        "visual_checks.write": Permission("record the visual check", _MEASURING),
        "holds.close": Permission("close a hold", frozenset({_INSPECTOR})),
        "corrections.write": Permission("record what was corrected", _MEASURING),
        "certificates.read": Permission("see and download certificates", _EVERYBODY),
        "certificates.issue": Permission("sign and issue certificates", frozenset({_INSPECTOR})),
        "certificates.withdraw": Permission("withdraw certificates", frozenset({_INSPECTOR})),
        "claim_links.read": Permission("see all claim links and who used them", _COUNTER),
        "claim_links.write": Permission(
            "make, see and revoke the claim links of a job",
            frozenset({_DESK, _INSPECTOR, _OWNER}),
        ),
        "insurer_links.write": Permission(
            "make and revoke links to all claims of an insurer", _COUNTER
        ),
        "signing_keys.write": Permission(
            "renew, load and distrust signing keys, set time stamps", frozenset({_OWNER})
        ),
        "register.export": Permission(
            "export the register of certificates, signed", frozenset({_INSPECTOR, _OWNER})
        ),
        "people.read": Permission("see people and their roles", frozenset({_OWNER})),
        "people.write": Permission(
            "add and disable people, set roles, reset passwords, end sessions",
            frozenset({_OWNER}),
        ),
        "tablets.read": Permission("see the tablets on which a PIN opens", frozenset({_OWNER})),
        "tablets.write": Permission("enrol and revoke tablets", frozenset({_OWNER})),
        "tokens.read": Permission("see API tokens", frozenset({_OWNER})),
        "tokens.write": Permission("make and revoke API tokens", frozenset({_OWNER})),
        "audit.read": Permission("see and check the event log", frozenset({_OWNER})),
        "backups.make": Permission("make backups", frozenset({_OWNER})),
    }


ACTIONS: Mapping[str, Permission] = MappingProxyType(_table())


def allowed(actor: Actor, action: str) -> bool:
    """Whether one of the actor's roles includes the action; KeyError for an unknown action."""
    permission = ACTIONS[action]
    if actor.must_change_password and action != "account.use":
        return False
    if actor.by_pin and _TECHNICIAN not in permission.roles:
        return False
    return not actor.roles.isdisjoint(permission.roles)


def allowed_with_password(actor: Actor, action: str) -> bool:
    """The same as if the person had come in with the password: where a PIN does not reach, the
    way there asks for it."""
    return allowed(replace(actor, by_pin=False), action)


def require(actor: Actor, action: str) -> None:
    """Raise `NotAllowed` unless `allowed`."""
    if allowed(actor, action):
        return
    if actor.must_change_password:
        raise NotAllowed("password_must_change", action)
    if allowed_with_password(actor, action):
        raise NotAllowed("pin_does_not_reach", action)
    raise NotAllowed("not_allowed", action, roles=tuple(sorted(ACTIONS[action].roles)))
