"""The door for people: HTML pages, let in by the session's cookie."""

from app.web.routes import Door
from app.web.visits import admit

pages = Door("pages", admit)
