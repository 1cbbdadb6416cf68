"""Several names in one line."""

from collections.abc import Sequence

from app.wording.labels import characteristic
from app.wording.translation import _


def listed(names: Sequence[str], most: int | None = None) -> str:
    """Return the names in one line; of more than `most` the first ones, and how many are left.

    Where a name has a comma of its own, semicolons part them.
    """
    shown = names[:most]
    told = ("; " if any("," in name for name in shown) else ", ").join(shown)
    left = len(names) - len(shown)
    return _("{names} and {count} more").format(names=told, count=left) if left else told


def characteristics(keys: Sequence[str], most: int | None = None) -> str:
    """Return the names of the characteristics with these keys in one line."""
    return listed([characteristic(key) for key in keys], most)
