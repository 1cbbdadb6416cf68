"""What would be printed of a job, without printing it."""

from app.services.composing import Reserved, Wish, compose, tools_for
from app.services.issuing import NOT_YET
from app.services.register import Kind
from tests.services.certifying import Bench


def composed(job: Bench, kind: Kind = "completion", opinion: str = "") -> Reserved:
    """Content and data of the job's certificate, under the number that stands for none."""
    shop = job.workshop
    wish = Wish(shop.people["inspector"], job.number, kind, shop.now, None, None, opinion)
    with shop.database.read() as session:
        return compose(session, wish, tools_for(session, wish, job.press, None), NOT_YET)
