"""Renewing and changing keys, ended by a crash at each of its steps: all of it, or nothing."""

import os
import shutil
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest

from app.errors import NotAllowed
from app.signing.authority import change_password
from app.signing.checking import check_against
from app.signing.in_one_step import ASIDE, NEXT, finish
from app.signing.keys import SigningKey, open_key
from app.signing.profile import new_key
from app.signing.renewal import renew_authority, renew_signer, use_own
from app.signing.trust import trust_of
from tests.databases import NOW
from tests.signing.conftest import Signed
from tests.signing.pages import signed_with
from tests.signing.test_authority import folder
from tests.signing.test_renewal import OWN, issued_to

__all__ = ["folder"]

LATER = NOW + timedelta(days=30)
NEW = "a password of the owner"
STEPS = ("replace", "rename", "unlink", "rmdir", "fsync")
"""Each of these calls of the operating system changes the folder or makes a change last."""
Act = Callable[[Path], None]
ISSUERS = (new_key(), new_key())
OWN_FILE = issued_to("Brook Lane Frames", ISSUERS).file()
ACTS: dict[str, tuple[Act, str | None]] = {
    "renew the signer": (lambda folder: renew_signer(folder, "Shop", None, LATER), None),
    "renew the authority": (lambda folder: renew_authority(folder, "Shop", None, LATER), None),
    "set a password": (lambda folder: change_password(folder, None, NEW), NEW),
    "load the shop's own": (lambda folder: use_own(folder, OWN_FILE, OWN, LATER), OWN),
}
"""What is done, and the password that opens the keys afterwards."""


class Ended(BaseException):
    """The program ended here: nothing in it may go on."""


def ended_at(step: int, patch: pytest.MonkeyPatch) -> None:
    """Let the program end before the step of this number."""
    done = 0

    def counting(call: Callable[..., Any]) -> Callable[..., Any]:
        def counted(*words: Any, **more: Any) -> Any:
            nonlocal done
            done += 1
            if done > step:
                raise Ended
            return call(*words, **more)

        return counted

    for name in STEPS:
        patch.setattr(os, name, counting(getattr(os, name)))


def opened(folder: Path, password: str | None) -> SigningKey:
    """The keys as the next program finds them: under the old password or the new one."""
    try:
        return open_key(folder, None, LATER)
    except NotAllowed:
        return open_key(folder, password, LATER)


@pytest.mark.parametrize("act", ACTS)
def test_a_crash_at_any_step_leaves_keys_that_sign_and_are_trusted(
    act: str, folder: Path, signed: Signed, tmp_path: Path
) -> None:
    do, password = ACTS[act]
    outcomes = []
    for step in range(100):
        copy = tmp_path / f"copy-{step}"
        shutil.copytree(folder, copy)
        with pytest.MonkeyPatch.context() as patch:
            ended_at(step, patch)
            try:
                do(copy)
                ended = False
            except Ended:
                ended = True
        key, trust = opened(copy, password), trust_of(copy)
        assert {key.fingerprint, signed.key.fingerprint} <= trust.signers, step
        assert {key.authority_pem, signed.authority} <= set(trust.authorities), step
        assert not (copy / NEXT).exists()
        outcomes.append((ended, changed(copy, folder)))
        if not ended:
            break
    assert not outcomes[-1][0], "it came to its end"
    for pdf in (signed_with(key, LATER), signed.pdf):
        assert check_against(pdf, trust, LATER).unaltered
    found = [changed for _ended, changed in outcomes]
    assert found == sorted(found), "once it is done it is not undone"
    assert {*found} == {False, True}
    assert len(outcomes) > 8


def changed(copy: Path, folder: Path) -> bool:
    """Whether the keys are others than before."""
    return (copy / "signer.p12").read_bytes() != (folder / "signer.p12").read_bytes()


def test_what_a_crash_left_aside_is_taken_away_by_the_next(folder: Path) -> None:
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(os, "rename", ended)
        with pytest.raises(Ended):
            renew_authority(folder, "Shop", None, LATER)
    assert list(folder.glob(f"{ASIDE}*"))
    renew_authority(folder, "Shop", None, LATER)
    assert not list(folder.glob(f"{ASIDE}*"))


def ended(*_words: object, **_more: object) -> None:
    raise Ended


def test_two_programs_may_finish_the_same_at_once(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """While one moves the files, another has moved them all."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("app.signing.in_one_step.finish", lambda folder: None)
        renew_authority(folder, "Shop", None, LATER)
    assert (folder / NEXT).is_dir()
    replace, first = os.replace, [True]

    def after_another(*words: Any) -> None:
        if first:
            first.clear()
            finish(folder)
        replace(*words)

    monkeypatch.setattr(os, "replace", after_another)
    finish(folder)
    assert open_key(folder, None, LATER).common_name
