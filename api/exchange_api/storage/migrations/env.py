"""Run by alembic: gives it the connection and the tables."""

from alembic import context

from exchange_api.storage.tables import METADATA

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=METADATA,
    render_as_batch=True,  # SQLite alters a table by copying it
    transactional_ddl=True,  # our caller has begun, also on SQLite
)
with context.begin_transaction():
    context.run_migrations()
