"""All doors of the app. Importing this module is what fills the table of routes."""

from fastapi import APIRouter

from app.web import assets
from app.web.api import routes as api
from app.web.door import floor_pages, pages
from app.web.pages import (
    at_work,
    authority,
    before_and_after,
    certificates,
    check_in,
    check_in_change,
    choose,
    claim,
    claim_photo,
    claim_uses,
    correction,
    customer,
    distrust,
    draft,
    draft_certificate,
    erase_customer,
    event_log,
    finding,
    finding_numbers,
    floor_acts,
    floor_overview,
    floor_step,
    floor_watch,
    instruments,
    insurer_links,
    job,
    job_acts,
    job_card,
    kept,
    leaving,
    links,
    machine_change,
    measure,
    notes,
    order,
    people,
    photo,
    photos,
    photos_for_claim,
    pin,
    progress,
    receipt,
    recognised,
    references,
    register_export,
    replacing,
    sending_back,
    shade,
    shop,
    sign_in,
    sign_off,
    sign_off_queue,
    signing_key,
    tablets,
    today,
    tokens,
    verify,
    visual_check,
    visual_check_item,
    withdrawing,
)

MODULES = (
    at_work, authority, before_and_after, certificates, check_in, check_in_change, choose, claim,
    claim_photo, claim_uses, correction, customer, distrust, draft, draft_certificate,
    erase_customer, event_log, finding,
    finding_numbers, floor_acts, floor_overview, floor_step, floor_watch, instruments,
    insurer_links, job, job_acts, job_card, kept, leaving, links, machine_change, measure,
    notes, order,
    people, photo, photos, photos_for_claim, pin, progress, receipt, recognised, references,
    register_export, replacing, sending_back,
    shade, shop, sign_in, sign_off, sign_off_queue, signing_key, tablets, today, tokens,
    verify,
    visual_check, visual_check_item, withdrawing,
)  # fmt: skip
"""The modules whose routes the pages' door holds."""

ROUTERS: tuple[APIRouter, ...] = (
    assets.router, floor_pages.router, pages.router, api.router,
)  # fmt: skip
"""People wait for pages, most of all at the machine, so that these are looked through first."""
