"""A customer as a page or the API sends it."""

from app.schemas.form import Form
from app.schemas.sent import Line, Prose


class CustomerIn(Form):
    name: Line
    address: Prose | None = None
    phone: Line | None = None
    email: Line | None = None
    note: Prose | None = None
