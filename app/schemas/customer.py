"""A customer as a page or the API sends it."""

from app.schemas.form import Form, Line, Paragraph


class CustomerIn(Form):
    name: Line
    address: Paragraph | None = None
    phone: Line | None = None
    email: Line | None = None
