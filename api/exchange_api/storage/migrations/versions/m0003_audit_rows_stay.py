"""Audit rows stay: the database itself lets them be added and sealed once, and nothing else.

Whoever owns the database can take the triggers away; what such a one alters shows in the chain.
A later revision that makes SQLite copy this table must create the triggers anew.
"""

from alembic import op

revision = "0003"
down_revision = "0002"

_FACTS = (
    "audit_id", "workshop_id", "at", "actor", "operation", "target", "before_sha256",
    "after_sha256", "request_id",
)  # fmt: skip
_REFUSAL = "audit rows are only added, and sealed once"


def upgrade() -> None:
    """Add the triggers."""
    for statement in {"sqlite": _SQLITE, "postgresql": _POSTGRESQL}[op.get_bind().dialect.name]:
        op.execute(statement)


def _is_sealing(same: str) -> str:
    """The condition of the one change that a row may see; `same` compares two values or nulls."""
    unsealed = "OLD.sequence IS NULL AND OLD.chain_sha256 IS NULL"
    sealed = "NEW.sequence IS NOT NULL AND NEW.chain_sha256 IS NOT NULL"
    return " AND ".join([unsealed, sealed, *(f"NEW.{name} {same} OLD.{name}" for name in _FACTS)])


# REPLACE removes the row in its way without firing triggers on DELETE, so it is looked for before
_NUMBER_TAKEN = """
    EXISTS (SELECT 1 FROM audit_events
            WHERE workshop_id = NEW.workshop_id AND sequence = NEW.sequence)
"""
_ID_TAKEN = "EXISTS (SELECT 1 FROM audit_events WHERE audit_id = NEW.audit_id)"
_PLACE_TAKEN = "EXISTS (SELECT 1 FROM audit_events WHERE rowid = NEW.rowid)"

_SQLITE = [
    f"CREATE TRIGGER {name} BEFORE {when} BEGIN SELECT RAISE(ABORT, '{_REFUSAL}'); END"
    for name, when in {
        "audit_events_stay": "DELETE ON audit_events",
        "audit_events_sealed_once": "UPDATE ON audit_events WHEN NOT "
        f"({_is_sealing('IS')} AND NEW.rowid = OLD.rowid) OR {_NUMBER_TAKEN}",
        "audit_events_not_replaced": "INSERT ON audit_events WHEN "
        f"{_ID_TAKEN} OR {_NUMBER_TAKEN} OR {_PLACE_TAKEN}",
    }.items()
]

_REFUSE = f"""
    CREATE FUNCTION audit_events_refuse() RETURNS trigger LANGUAGE plpgsql AS
    $$ BEGIN RAISE EXCEPTION '{_REFUSAL}' USING ERRCODE = 'restrict_violation'; END $$
"""
_POSTGRESQL = [_REFUSE] + [
    f"CREATE TRIGGER {name} BEFORE {when} EXECUTE FUNCTION audit_events_refuse()"
    for name, when in {
        "audit_events_stay": "DELETE ON audit_events FOR EACH ROW",
        "audit_events_not_cut": "TRUNCATE ON audit_events FOR EACH STATEMENT",
        "audit_events_sealed_once": "UPDATE ON audit_events FOR EACH ROW "
        f"WHEN (NOT ({_is_sealing('IS NOT DISTINCT FROM')}))",
    }.items()
]
