"""Rigid superposition with published answers; numbers in tests/published/rigid.json."""

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from app.geometry.rigid import superpose

Published = Callable[[str, str], dict[str, Any]]
Printed = Callable[[str], Any]


def test_a_mirrored_pattern_agrees_with_umeyama(published: Published, printed: Printed) -> None:
    """IEEE PAMI 13 (1991) 376-380, section IV: the turn of a pattern that is a mirror image.

    The paper also scales; scale and shift follow from the turn, which is what is tested.
    """
    case = published("rigid", "umeyama-1991-example")
    x, y = np.array(case["inputs"]["x"]), np.array(case["inputs"]["y"])
    move = superpose(x, y)
    assert list(move.rotation.ravel()) == [printed(number) for number in case["published"]["R"]]
    from_centre, to_centre = x - x.mean(axis=0), y - y.mean(axis=0)
    scale = np.sum(to_centre * (from_centre @ move.rotation.T)) / np.sum(from_centre**2)
    assert scale == printed(case["published"]["c"])
    shift = y.mean(axis=0) - scale * move.rotation @ x.mean(axis=0)
    assert list(shift) == [printed(number) for number in case["published"]["t"]]


def test_four_atoms_agree_with_biopython(published: Published, printed: Printed) -> None:
    """Biopython, Bio.SVDSuperimposer; it prints the transposed matrix (rms from memory)."""
    case = published("rigid", "kabsch-biopython-example")
    fixed, moving = (np.array(case["inputs"][key]) for key in ("reference_x", "moving_y"))
    move = superpose(moving, fixed)
    answer = case["published"]
    assert list(move.rotation.T.ravel()) == [
        printed(number) for number in answer["rot_printed(row_form)"]
    ]
    assert list(move.translation) == [printed(number) for number in answer["tran"]]
    rms = np.sqrt(np.mean(np.sum((move(moving) - fixed) ** 2, axis=1)))
    assert rms == printed(answer["rms"])


def test_a_known_screw_motion_is_found(published: Published) -> None:
    """A turn of 30° about a known axis and a shift along it (constructed, exact)."""
    case = published("rigid", "constructed-rigid-motion-helical-axis")
    given = case["inputs"]
    move = superpose(np.array(given["X"]), np.array(given["Y"]))
    axis = np.array(given["axis"])
    assert move.rotation @ axis == pytest.approx(axis, abs=1e-12)
    assert np.degrees(np.arccos((np.trace(move.rotation) - 1.0) / 2.0)) == pytest.approx(30.0)
    on_axis = np.array(given["axis_point"])
    assert move(on_axis) - on_axis == pytest.approx(given["shift_along_axis"] * axis, abs=1e-10)
