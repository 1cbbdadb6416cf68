"""The one door of the formulas: associated features and a reference in, quantities out."""

from collections.abc import Collection
from dataclasses import dataclass

from app.chassis.associated import Associated
from app.chassis.formulas.machine_axes import MachineAxes
from app.chassis.result import Caveat
from app.chassis.survey import Reference
from app.geometry.dual import Scalar, Vector


@dataclass(frozen=True, slots=True)
class Computed:
    """values: characteristics in order, mm and rad, by key; handling: its figures, by name.

    Every one has slopes with derivatives, and (trials,) values over trials, even where it is a
    constant. ahead: X by the rule of the head, the arm or the levelling points, before levelling;
    axes: levelled where `levelled` names the rule that did it, else with X ahead; None without.
    """

    values: dict[str, Scalar]
    handling: dict[str, Scalar]
    ahead: Vector | None
    axes: MachineAxes | None
    levelled: str | None
    warnings: list[Caveat]


def computed(
    associated: Associated,
    reference: Reference,
    *,
    only: Collection[str] | None = None,
    without: Collection[str] = (),
) -> Computed:
    """All that the associated features tell.

    only: keys of characteristics wanted, None for all; without: keys that are not wanted because
    another path gives them. Raises Refusal `levelling_not_determined`, with derivatives only.
    """
    raise NotImplementedError
