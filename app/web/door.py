"""The door for people: HTML pages, let in by the session's cookie."""

from app.web.routes import Door
from app.web.visits import admit, admit_inside, in_shops_time

pages = Door("pages", admit, inside=admit_inside, around=in_shops_time)
