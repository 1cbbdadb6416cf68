"""What is said when a machine leaves the shop with something still open."""

from collections.abc import Sequence

from app.wording import damage
from app.wording.enumeration import listed
from app.wording.translation import _, counted, later
from app.wording.verdicts import finding

ROAD = later("Whether it may go on the road is for the licensed inspection of the place.")


def left_open(verdict: str | None, holds: int) -> str:
    """Return what is open, in one line; empty where all was found within.

    verdict: of the last finding that stands, None: nothing was measured; holds: open ones.
    """
    left = []
    if verdict is None:
        left.append(_("nothing measured"))
    elif verdict != "within":
        left.append(finding(verdict))
    if holds:
        left.append(counted("{count} open hold", "{count} open holds", holds).format(count=holds))
    return ", ".join(left)


def as_it_came(
    damaged: Sequence[str], not_rideable: bool, most: int | None = None
) -> tuple[str, ...]:
    """What is told of the machine as it came: zones that nothing on record followed, and that it
    came in as not rideable; of more zones than `most` the first are named, and how many more."""
    told = []
    if damaged:
        zones = listed([damage.zone(one) for one in damaged], most)
        told.append(
            _("Damaged when it came, no correction on record: {zones}.").format(zones=zones)
        )
    if not_rideable:
        told.append(_("It came in as not rideable."))
    return tuple(told)


def left_with(verdict: str | None, holds: int) -> tuple[str, ...]:
    """What whoever fetched it signs to have read, on the receipt; nothing where nothing is open."""
    open_now = left_open(verdict, holds)
    if not open_now:
        return ()
    told = [f"{open_now}."]
    if verdict == "outside" or holds:
        told.append(_("It is not to be ridden before that is put right."))
    return (*told, _(ROAD))


def leaves_with(verdict: str | None, holds: int) -> tuple[str, ...]:
    """What whoever fetches it must be told; nothing where nothing is open."""
    if verdict == "within" and not holds:
        return ()
    told = []
    if verdict == "outside" or holds:
        open_now = left_open(verdict or "within", holds)
        told.append(
            _(
                "It leaves with this open: {what}. Tell whoever fetches it, and that it is not to "
                "be ridden before that is put right."
            ).format(what=open_now)
        )
    elif verdict is not None:
        told.append(
            _(
                "It leaves with this open: {what}. Tell whoever fetches it: until that is settled, "
                "nobody can say that the chassis is sound."
            ).format(what=left_open(verdict, 0))
        )
    if verdict is None:
        told.append(
            _("Nothing was measured: how the chassis stands is not known. Tell whoever fetches it.")
        )
    return (*told, _(ROAD))
