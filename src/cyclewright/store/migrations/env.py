"""Run by alembic on the connection that `store.migrate` hands over, inside its transaction."""

from alembic import context

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=context.config.attributes.get("metadata"),
    transactional_ddl=False,
)
context.run_migrations()
