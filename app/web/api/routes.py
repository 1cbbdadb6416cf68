"""All routes of the API: importing this module is what fills the door."""

from app.web.api import (
    certificates,
    customers,
    drafts,
    instruments,
    jobs,
    machines,
    references,
    solving,
    surveys,
)
from app.web.api.door import api

MODULES = (
    solving,
    customers,
    machines,
    references,
    instruments,
    jobs,
    drafts,
    surveys,
    certificates,
)

router = api.router
