"""All doors of the app. Importing this module is what fills the table of routes."""

from fastapi import APIRouter

from app.web import assets
from app.web.api import routes as api
from app.web.door import pages
from app.web.pages import (
    check_in,
    sign_in,
    today,
)

MODULES = (sign_in, today, check_in)
"""The modules whose routes the pages' door holds, in the order in which paths are matched."""

ROUTERS: tuple[APIRouter, ...] = (assets.router, api.router, pages.router)
