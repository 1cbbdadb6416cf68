"""Who may do what, written out a second time by hand, role by role."""

import ast
from dataclasses import replace
from pathlib import Path

import pytest

import app.services
from app.errors import NotAllowed
from app.services.permissions import ACTIONS, Actor, Role, allowed, command_line, require
from tests.databases import actor_with

READING = {
    "account.use", "shop.read", "customers.read", "machines.read", "insurers.read", "jobs.read",
    "jobs.note", "references.read", "instruments.read", "surveys.read", "solve",
    "certificates.read", "photos.read", "photos.write",
}  # fmt: skip
MEASURING = {
    "jobs.choose_reference", "references.write", "drafts.read", "drafts.write", "surveys.submit",
    "visual_checks.write", "corrections.write", "instruments.check", "jobs.answer",
}  # fmt: skip
COUNTER = {
    "customers.write", "customers.tell", "machines.write", "insurers.write", "jobs.check_in",
    "jobs.cancel", "jobs.hand_over", "claim_links.read", "claim_links.write", "signatures.read",
    "signatures.write", "photos.share", "insurer_links.write",
}  # fmt: skip
EXPECTED = {
    Role.DESK: READING | COUNTER,
    Role.TECHNICIAN: READING | MEASURING,
    Role.INSPECTOR: READING
    | MEASURING
    | {
        "jobs.send_back", "instruments.write", "instruments.explain", "holds.close",
        "certificates.issue", "certificates.withdraw", "claim_links.write", "signatures.read",
        "photos.share", "register.export",
    },
    Role.OWNER: READING
    | COUNTER
    | {
        "shop.write", "customers.erase", "references.write", "instruments.write",
        "instruments.explain", "drafts.read",
        "people.read", "people.write", "tokens.read", "tokens.write", "audit.read",
        "backups.make", "photos.erase", "tablets.read", "tablets.write", "signing_keys.write",
        "register.export",
    },
}  # fmt: skip


@pytest.mark.parametrize("role", Role)
@pytest.mark.parametrize("action", sorted(ACTIONS))
def test_each_role_may_do_what_the_list_says_and_no_more(role: Role, action: str) -> None:
    actor = actor_with(1, role)
    assert allowed(actor, action) == (action in EXPECTED[role])


def test_the_list_names_no_action_that_does_not_exist() -> None:
    assert set().union(*EXPECTED.values()) == set(ACTIONS)


@pytest.mark.parametrize("action", sorted(ACTIONS))
def test_nobody_without_a_role_may_do_anything(action: str) -> None:
    assert not allowed(actor_with(1), action)


@pytest.mark.parametrize("role", Role)
def test_a_pin_reaches_no_further_than_a_technician(role: Role) -> None:
    """And not even there where the person's own roles do not reach."""
    by_pin = replace(actor_with(1, role), by_pin=True)
    reached = {action for action in ACTIONS if allowed(by_pin, action)}
    assert reached == EXPECTED[role] & EXPECTED[Role.TECHNICIAN]


@pytest.mark.parametrize(
    "action", ["certificates.issue", "people.write", "shop.write", "jobs.send_back", "tokens.write"]
)
def test_what_a_pin_does_not_reach_asks_for_the_password(action: str) -> None:
    by_pin = replace(actor_with(1, *Role), by_pin=True)
    with pytest.raises(NotAllowed) as refused:
        require(by_pin, action)
    assert refused.value.code == "pin_does_not_reach"


def test_who_may_not_even_with_a_password_is_not_asked_for_it() -> None:
    by_pin = replace(actor_with(1, Role.TECHNICIAN), by_pin=True)
    with pytest.raises(NotAllowed) as refused:
        require(by_pin, "people.write")
    assert refused.value.code == "not_allowed"


def test_several_roles_add_up_and_only_an_inspector_signs() -> None:
    both = actor_with(1, Role.DESK, Role.TECHNICIAN)
    assert {action for action in ACTIONS if allowed(both, action)} == (
        EXPECTED[Role.DESK] | EXPECTED[Role.TECHNICIAN]
    )
    assert ACTIONS["certificates.issue"].roles == {Role.INSPECTOR}


@pytest.mark.parametrize("action", sorted(ACTIONS))
def test_a_one_time_password_allows_nothing_but_changing_it(action: str) -> None:
    actor = Actor(1, "Ada", frozenset(Role), person_id=1, must_change_password=True)
    assert allowed(actor, action) == (action == "account.use")


def test_a_refusal_names_the_roles_that_may() -> None:
    with pytest.raises(NotAllowed, match="not_allowed") as refused:
        require(actor_with(1, Role.DESK), "instruments.write")
    assert refused.value.facts["roles"] == ("inspector", "owner")
    with pytest.raises(NotAllowed, match="password_must_change"):
        require(Actor(1, "Ada", frozenset(Role), 1, must_change_password=True), "jobs.read")


def test_an_unknown_action_is_a_mistake_and_not_allowed() -> None:
    with pytest.raises(KeyError):
        allowed(command_line(1), "jobs.delete_everything")


def test_the_event_log_names_nobody() -> None:
    assert actor_with(1, Role.DESK, person_id=3).mark == "person:3"
    assert Actor(1, "Ada", frozenset(), token_id=4).mark == "token:4"
    assert command_line(1).mark == "command_line"


def asked_for() -> dict[str, set[str]]:
    """Every action that a service asks `require` for -> files."""
    found: dict[str, set[str]] = {}
    for path in Path(app.services.__path__[0]).glob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if (
                isinstance(node, ast.Call)
                and isinstance(node.func, ast.Name)
                and node.func.id in ("require", "allowed")
            ):
                for word in ast.walk(node.args[1]):
                    if isinstance(word, ast.Constant) and isinstance(word.value, str):
                        found.setdefault(word.value, set()).add(path.name)
    return found


def test_services_ask_only_for_actions_of_the_table() -> None:
    asked = asked_for()
    assert {action: files for action, files in asked.items() if action not in ACTIONS} == {}
    assert len(asked) > 10
