"""Keys that are opened while they are renewed: those of before or those of after, never a mix."""

import threading
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest

from app.errors import NotAllowed
from app.signing import in_one_step
from app.signing.authority import change_password, opened_signer
from app.signing.checking import check_against
from app.signing.in_one_step import NEXT, finish
from app.signing.keys import open_key
from app.signing.renewal import renew_authority, renew_signer
from app.signing.trust import fingerprint_of, signers, trust_of
from tests.databases import NOW
from tests.signing.conftest import Signed
from tests.signing.pages import signed_with
from tests.signing.test_authority import folder

__all__ = ["folder"]

LATER = NOW + timedelta(days=30)
PATIENCE_S = 30.0


def between_two_files(patch: pytest.MonkeyPatch, act: Callable[[], None]) -> threading.Thread:
    """Begin this in another thread once the signer's file was read, and before the authority's."""
    meanwhile = threading.Thread(target=act)

    def reading(*words: Any) -> Any:
        found = opened_signer(*words)
        if not meanwhile.ident:
            meanwhile.start()
            meanwhile.join(0.2)
        return found

    patch.setattr("app.signing.keys.opened_signer", reading)
    return meanwhile


def test_a_renewal_waits_for_who_is_opening_the_keys(
    folder: Path, signed: Signed, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Without that the key of before would be held against the authority of after."""
    renewal = between_two_files(monkeypatch, lambda: renew_authority(folder, "Shop", None, LATER))
    found = open_key(folder, None, LATER)
    assert found.fingerprint == signed.key.fingerprint
    renewal.join(PATIENCE_S)
    assert not renewal.is_alive()
    assert open_key(folder, None, LATER).fingerprint != signed.key.fingerprint
    for key in (found, open_key(folder, None, LATER)):
        assert check_against(signed_with(key, LATER), trust_of(folder), LATER).unaltered


def test_a_password_set_meanwhile_is_asked_for_and_not_called_wrong(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    new = "a password of the owner"
    meanwhile = between_two_files(monkeypatch, lambda: change_password(folder, None, new))
    assert open_key(folder, None, LATER).common_name
    meanwhile.join(PATIENCE_S)
    with pytest.raises(NotAllowed, match="signing_password_needed"):
        open_key(folder, None, LATER)
    assert open_key(folder, new, LATER).common_name


def test_many_open_the_keys_while_they_are_renewed_again_and_again(folder: Path) -> None:
    ends = threading.Event()
    wrong: list[Exception] = []
    opened: list[str] = []

    def opening() -> None:
        while not ends.is_set():
            try:
                opened.append(open_key(folder, None, LATER).fingerprint)
                trust_of(folder)
            except Exception as error:
                wrong.append(error)

    threads = [threading.Thread(target=opening) for _ in range(3)]
    for one in threads:
        one.start()
    try:
        for turn in range(8):
            renew = renew_authority if turn % 2 else renew_signer
            renew(folder, "Shop", None, LATER)
    finally:
        ends.set()
        for one in threads:
            one.join(PATIENCE_S)
    assert wrong == []
    assert set(opened) <= trust_of(folder).signers
    assert len(signers(folder)) == 9
    newest = signers(folder)[-1]
    assert fingerprint_of(newest) == open_key(folder, None, LATER).fingerprint


@pytest.mark.parametrize("after", [0, 1, 2])
def test_of_two_that_move_the_same_files_each_goes_on_where_the_other_was_first(
    folder: Path, after: int
) -> None:
    """One is overtaken after any number of moves, and the other is not done with all of them."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("app.signing.in_one_step.finish", lambda folder: None)
        renew_authority(folder, "Shop", None, LATER)
    moved = sorted(path for path in (folder / NEXT).iterdir() if path.name != "gone.json")
    assert len(moved) == 3
    ahead, original = moved[after], in_one_step.move
    with pytest.MonkeyPatch.context() as patch:
        first = [True]

        def overtaken(path: Path, place: Path) -> None:
            if first:
                first.clear()
                ahead.replace(folder / ahead.name)
            original(path, place)

        patch.setattr(in_one_step, "move", overtaken)
        finish(folder)
    assert not (folder / NEXT).exists()
    assert open_key(folder, None, LATER).common_name
