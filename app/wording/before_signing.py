"""What is still open before a job is signed, told to those who can see to it."""

from collections.abc import Sequence

from app.wording import jobs
from app.wording.enumeration import listed
from app.wording.translation import _

MOST_NAMED = 6


def not_checked(items: Sequence[str]) -> str:
    """Return what nobody has looked for; empty where all was."""
    if not items:
        return ""
    return _("Not looked for: {items}.").format(items=listed([jobs.item(one) for one in items]))


def not_again(items: Sequence[str], of: int) -> str:
    """Return which items were not looked at again after the correction."""
    if len(items) == of:
        return _(
            "All {of} items were looked at before the correction, and not again since."
        ).format(of=of)
    named = listed([jobs.item(one) for one in items], MOST_NAMED)
    return _(
        "{count} of {of} items were looked at before the correction and not again since: {items}."
    ).format(count=len(items), of=of, items=named)


def contradicts_check_in(zones: str) -> str:
    """Return which damage was noted at check-in and not seen since."""
    return _(
        "Noted damaged at check-in, and nothing of it seen in the visual check: {zones}. Look "
        "again."
    ).format(zones=zones)
