"""Backup and restore: every row of one ledger into an empty other, file or server alike."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from sqlalchemy import Connection, func, select, text
from sqlalchemy.exc import SQLAlchemyError

from tailwise.ledger import schema
from tailwise.ledger.errors import LedgerError
from tailwise.ledger.opening import explain
from tailwise.ledger.store import Ledger
from tailwise.words import ledger as words

BATCH = 200
TABLES = (schema.keyboards, schema.runs, schema.findings, schema.key_results, schema.recordings, schema.connectors)


def _copy_rows(source: Connection, target: Connection) -> int:
    rows = 0
    for table in TABLES:
        result = source.execution_options(yield_per=BATCH).execute(select(table))
        for batch in result.mappings().partitions(BATCH):
            values: list[dict[str, Any]] = [dict(row) for row in batch]
            target.execute(table.insert(), values)
            rows += len(values)
        if target.dialect.name == "postgresql" and "id" in table.c:
            following = f"(SELECT COALESCE(MAX(id), 0) + 1 FROM {table.name})"
            target.execute(text(f"SELECT setval(pg_get_serial_sequence('{table.name}', 'id'), {following}, false)"))
    return rows


def copy_ledger(source: Ledger, target: Ledger) -> int:
    """Copy every row into an empty ledger, all or nothing; the number of rows."""
    try:
        with source.reading() as reading, target.writing() as writing:
            if writing.execute(select(func.count()).select_from(schema.keyboards)).scalar_one():
                raise LedgerError(words.NOT_EMPTY.format(path=target.where), *words.NOT_EMPTY_HELP)
            return _copy_rows(reading, writing)
    except SQLAlchemyError as error:
        raise explain(error, target.where) from error


def back_up(ledger: Ledger, path: Path) -> int:
    """Write a whole copy to a new file; it appears under its name only when it is complete."""
    if path.exists():
        raise LedgerError(words.BACKUP_EXISTS.format(path=path), *words.BACKUP_EXISTS_HELP)
    part = path.with_name(path.name + ".part")
    for leftover in (part, *(Path(f"{part}{ending}") for ending in ("-wal", "-shm"))):
        leftover.unlink(missing_ok=True)
    copy = Ledger(part)
    try:
        rows = copy_ledger(ledger, copy)
        with copy.engine.connect() as connection:
            connection.connection.dbapi_connection.execute("PRAGMA journal_mode = DELETE")  # type: ignore[union-attr]
    finally:
        copy.close()
    part.replace(path)
    return rows


def restore(path: Path, ledger: Ledger) -> int:
    """Fill an empty ledger from a backup; the number of rows."""
    if not path.is_file():
        raise LedgerError(words.UNREADABLE.format(path=path, error="no such file"), *words.UNREADABLE_HELP)
    source = Ledger(path)
    try:
        return copy_ledger(source, ledger)
    finally:
        source.close()
