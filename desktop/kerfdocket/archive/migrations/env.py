"""How Alembic reaches the archive: over the connection that the program hands it."""

from alembic import context

from kerfdocket.archive.schema import METADATA

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=METADATA,
    transactional_ddl=True,
)
context.run_migrations()
