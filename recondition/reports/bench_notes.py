"""What stands beside a plan: order of work, cautions, overrides of the work it chooses."""

from __future__ import annotations

from datetime import datetime

from recondition.book import Connection
from recondition.book.surfaces import job_sheet
from recondition.condition.cautions import DEFER
from recondition.ledger.planned import plan_notes
from recondition.reports.table import Column, Table
from recondition.worth.advice import Advice
from recondition.worth.question import Question


def notes_of(conn: Connection, question: Question, advice: Advice, vehicle_id: str) -> Table:
    """List what the rules of order and the cautions say of the chosen work, as of today."""
    chosen = {item: question.candidates[item] for item in advice.chosen}
    names = {item: question.ref(item) for item in chosen}
    today = datetime.now().astimezone().date()
    rows = plan_notes(job_sheet(conn, vehicle_id), chosen, names, today)
    short = tuple((ref, text.removesuffix(DEFER).strip()) for ref, text in rows)
    columns = (Column("ref", "Work"), Column("what", "Before it starts"))
    return Table("Order of work and cautions", columns, short, DEFER)
