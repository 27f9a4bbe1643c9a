"""From every older schema to the present one, one step a version, each inside one transaction.

1 -> 2: results by key and the harness connectors came; keyboards learned whether they are donors and got a column to search;
runs learned their stage.
"""

from __future__ import annotations

from collections.abc import Callable

from sqlalchemy import Connection, select, text

from tailwise.ledger import schema
from tailwise.ledger.search import haystack

Step = Callable[[Connection], None]


def _one_to_two(connection: Connection) -> None:
    false = "false" if connection.dialect.name == "postgresql" else "0"
    connection.execute(text(f"ALTER TABLE keyboards ADD COLUMN donor BOOLEAN NOT NULL DEFAULT {false}"))
    connection.execute(text("ALTER TABLE keyboards ADD COLUMN haystack TEXT NOT NULL DEFAULT ''"))
    table = schema.keyboards
    for row in connection.execute(select(table.c.id, table.c.label, table.c.owner, table.c.notes)).all():
        found = haystack(row.label, row.owner, row.notes)
        connection.execute(table.update().where(table.c.id == row.id).values(haystack=found))
    connection.execute(text("ALTER TABLE runs ADD COLUMN stage VARCHAR(100) NOT NULL DEFAULT ''"))
    schema.metadata.create_all(connection, tables=[schema.key_results, schema.connectors])


STEPS: dict[int, Step] = {1: _one_to_two}
"""Version -> the step that leads to the next."""


def migrate(connection: Connection, version: int) -> None:
    """Bring a ledger of an older version to the present one; the caller's transaction makes it all or nothing."""
    while version < schema.VERSION:
        STEPS[version](connection)
        version += 1
    connection.execute(schema.about.update().where(schema.about.c.name == "schema").values(value=str(version)))
