"""Opens a ledger: ours and of a known version, or not at all.

A SQLite file is looked at read-only before anything may change it: foreign, damaged and future files stay untouched.
"""

from __future__ import annotations

import sqlite3
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, create_engine, event, inspect, select, text
from sqlalchemy.engine import make_url
from sqlalchemy.exc import ArgumentError, NoSuchModuleError, SQLAlchemyError

from tailwise.layoutfile.own import data_folder
from tailwise.ledger import schema
from tailwise.ledger.errors import LedgerError
from tailwise.ledger.migrations import migrate
from tailwise.words import ledger as words

BUSY_SECONDS = 15
"""How long a second program waits for the first one's transaction."""

CHECKED_WHOLE_BYTES = 8_000_000
"""Larger files are looked through in part when opened; damage in the rest shows when it is read, or at a backup."""


def default_path() -> Path:
    """The ledger's place in the user's data folder."""
    return data_folder() / "ledger.sqlite"


def open_engine(where: str | Path | None = None) -> Engine:
    """An engine for a ledger's file or URL, made or migrated as needed; LedgerError where it cannot be used."""
    text_form = str(default_path() if where is None else where)
    engine = _open_url(text_form) if "://" in text_form else _open_file(Path(text_form))
    try:
        with engine.begin() as connection:
            _prepare(connection, text_form)
    except SQLAlchemyError as error:
        raise explain(error, text_form) from error
    return engine


def _open_url(url: str) -> Engine:
    try:
        parsed = make_url(url)
        if parsed.drivername == "postgresql":
            parsed = parsed.set(drivername="postgresql+psycopg")
        return create_engine(parsed, pool_pre_ping=True)
    except (ArgumentError, NoSuchModuleError, ModuleNotFoundError) as error:
        raise LedgerError(words.NO_DRIVER.format(url=url, error=error), words.NO_DRIVER_LIKELY, words.NO_DRIVER_NEXT) from error


def _open_file(path: Path) -> Engine:
    if path.exists() and path.stat().st_size > 0:
        _look(path)
    else:
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise LedgerError(words.NO_FOLDER.format(path=path, error=error.strerror), *words.NO_FOLDER_HELP) from error
    engine = create_engine(f"sqlite:///{path}", connect_args={"timeout": BUSY_SECONDS})
    event.listen(engine, "connect", _on_connect)
    event.listen(engine, "begin", _on_begin)
    return engine


def _look(path: Path) -> None:
    """Refuse what is not ours before a byte of it can change."""
    try:
        raw = sqlite3.connect(f"{path.resolve().as_uri()}?mode=ro", uri=True, timeout=BUSY_SECONDS)
    except sqlite3.Error as error:
        raise LedgerError(words.UNREADABLE.format(path=path, error=error), *words.UNREADABLE_HELP) from error
    try:
        mark = raw.execute("PRAGMA application_id").fetchone()[0]
        if mark != schema.APPLICATION_ID and not raw.execute("SELECT COUNT(*) FROM sqlite_master").fetchone()[0]:
            return  # another program is making this ledger at this moment, or it was killed while it did
        if mark != schema.APPLICATION_ID:
            raise LedgerError(words.FOREIGN.format(path=path), *words.FOREIGN_HELP)
        version = int(raw.execute("SELECT value FROM tailwise_about WHERE name = 'schema'").fetchone()[0])
        if version > schema.VERSION:
            raise LedgerError(words.FUTURE.format(path=path, found=version, known=schema.VERSION), *words.FUTURE_HELP)
        whole = path.stat().st_size <= CHECKED_WHOLE_BYTES
        verdict = raw.execute("PRAGMA quick_check(1)" if whole else "PRAGMA quick_check('keyboards')").fetchone()[0]
        if verdict != "ok":
            raise LedgerError(words.DAMAGED.format(path=path, error=verdict), *words.DAMAGED_HELP)
    except sqlite3.Error as error:
        raise LedgerError(words.DAMAGED.format(path=path, error=error), *words.DAMAGED_HELP) from error
    finally:
        raw.close()


def _on_connect(raw: Any, _record: object) -> None:
    raw.isolation_level = None
    cursor = raw.cursor()
    cursor.execute("PRAGMA journal_mode = WAL")
    cursor.execute("PRAGMA synchronous = FULL")
    cursor.execute("PRAGMA foreign_keys = ON")
    cursor.close()


def _on_begin(connection: Connection) -> None:
    read_only = connection.get_execution_options().get("reads_only", False)
    connection.exec_driver_sql("BEGIN" if read_only else "BEGIN IMMEDIATE")


def _prepare(connection: Connection, where: str) -> None:
    """Make the tables of a new ledger, or bring an older one up to date."""
    if connection.dialect.name == "postgresql":
        connection.execute(text("SELECT pg_advisory_xact_lock(:key)"), {"key": schema.APPLICATION_ID})
    if inspect(connection).has_table("tailwise_about"):
        found = connection.execute(select(schema.about.c.value).where(schema.about.c.name == "schema")).scalar_one()
        version = int(found)
        if version > schema.VERSION:
            raise LedgerError(words.FUTURE.format(path=where, found=version, known=schema.VERSION), *words.FUTURE_HELP)
        if version < schema.VERSION:
            migrate(connection, version)
        return
    if connection.dialect.name == "sqlite":
        connection.exec_driver_sql(f"PRAGMA application_id = {schema.APPLICATION_ID}")
    schema.metadata.create_all(connection)
    connection.execute(schema.about.insert().values(name="schema", value=str(schema.VERSION)))


def explain(error: SQLAlchemyError, where: str) -> LedgerError:
    """A database error in words, with the cause and the next step."""
    message = str(getattr(error, "orig", error)).strip().splitlines()[0] if str(error) else type(error).__name__
    if "malformed" in message or "not a database" in message:
        return LedgerError(words.DAMAGED.format(path=where, error=message), *words.DAMAGED_HELP)
    if "full" in message:
        return LedgerError(words.FULL.format(path=where), *words.FULL_HELP)
    if "locked" in message or "busy" in message:
        return LedgerError(words.BUSY.format(path=where, seconds=BUSY_SECONDS), *words.BUSY_HELP)
    if "readonly" in message or "read-only" in message or "permission" in message.lower():
        return LedgerError(words.FORBIDDEN.format(path=where), *words.FORBIDDEN_HELP)
    if "connect" in message.lower() or "refused" in message.lower():
        return LedgerError(words.UNREACHED.format(path=where, error=message), *words.UNREACHED_HELP)
    return LedgerError(words.UNREADABLE.format(path=where, error=message), *words.UNREADABLE_HELP)
