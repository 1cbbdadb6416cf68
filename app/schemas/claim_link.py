"""A link for an adjuster or an insurer, as a program asks for one."""

from app.schemas.form import Form, Whole
from app.schemas.sent import Line


class ClaimLinkIn(Form):
    note: Line
    """For whom it is made."""
    valid_days: Whole | None = None
    """For how many days; the shop's usual time unless told."""
