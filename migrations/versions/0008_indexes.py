"""Two indexes: the lines of a person on a day, and a name by its newest version.

Nothing is added but these; no column and no table changes.
"""

from __future__ import annotations

from alembic import op

revision = "0008"
down_revision = "0007"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add the indexes."""
    op.create_index(op.f("ix_entity_current"), "entity", ["current"], unique=False)
    op.create_index(op.f("ix_line_person_work_date"), "line", ["person", "work_date"], unique=False)


def downgrade() -> None:
    """Refuse, as every migration does; ``recondition book downgrade`` is the way back."""
    message = "a book is not taken back to an older schema: that would drop posted records"
    raise NotImplementedError(message)
