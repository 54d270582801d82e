"""Plans are found by their transmission without reading the whole workshop."""

from alembic import op

revision = "0004"
down_revision = "0003"


def upgrade() -> None:
    """Add the index."""
    op.create_index(
        "ix_plans_workshop_id_transmission_id_created_at_plan_id",
        "plans",
        ["workshop_id", "transmission_id", "created_at", "plan_id"],
    )
