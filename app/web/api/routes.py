"""All routes of the API: importing this module is what fills the door."""

from app.web.api import (
    certificates,
    check_bars,
    claim_links,
    customers,
    drafts,
    floor,
    instrument_checks,
    instruments,
    insurers,
    jobs,
    machine_references,
    machines,
    notes,
    photos,
    references,
    register_export,
    sending_back,
    solving,
    surveys,
)
from app.web.api.door import api

MODULES = (
    solving,
    customers,
    machines,
    references,
    machine_references,
    instruments,
    check_bars,
    instrument_checks,
    jobs,
    notes,
    sending_back,
    photos,
    drafts,
    floor,
    surveys,
    certificates,
    insurers,
    claim_links,
    register_export,
)

router = api.router
