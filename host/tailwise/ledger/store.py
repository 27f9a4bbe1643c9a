"""Saving, finding and changing what a ledger holds."""

from __future__ import annotations

import difflib
import hashlib
import json
import zlib
from collections.abc import Mapping, Sequence
from contextlib import AbstractContextManager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, Row, Select, func, select
from sqlalchemy.exc import IntegrityError, SQLAlchemyError

from tailwise.ledger import schema
from tailwise.ledger.errors import LedgerError, NotFound
from tailwise.ledger.opening import explain, open_engine
from tailwise.ledger.search import haystack, holds
from tailwise.words import ledger as words

WORN_AT = 20
"""Matings at which a harness connector is worth a look (sockets last 10-30, common practice)."""


@dataclass(frozen=True, slots=True)
class KeyResult:
    """One key in one run: presses seen, and the loop's resistance in ohms where it was measured."""

    presses: int
    loop_ohm: float | None = None


@dataclass(frozen=True, slots=True)
class NewRun:
    """A finished run to be saved; recording is the file's bytes, document the judged findings."""

    label: str
    layout: str
    document: Mapping[str, Any]
    recording: bytes
    keys: Mapping[str, KeyResult]
    stage: str = ""
    firmware: str = ""
    board: str = ""
    board_id: str = ""

    @property
    def fingerprint(self) -> str:
        """SHA-256 of the recording, in hex."""
        return hashlib.sha256(self.recording).hexdigest()


@dataclass(frozen=True, slots=True)
class KeyboardEntry:
    """A keyboard with its newest run, if any."""

    label: str
    layout: str
    owner: str
    notes: str
    donor: bool
    created: str
    runs: int
    last_run: int | None
    last_saved: str | None
    last_verdict: str | None
    last_grade: str | None


@dataclass(frozen=True, slots=True)
class RunEntry:
    """One saved run without its recording."""

    run: int
    label: str
    layout: str
    saved: str
    stage: str
    verdict: str
    grade: str
    tool: str
    firmware: str
    board: str
    board_id: str
    fingerprint: str
    document: dict[str, Any]
    keys: dict[str, KeyResult]


def now_utc() -> str:
    """The present second, UTC."""
    return datetime.now(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


class Ledger:
    """An open ledger. Every method is one transaction and raises LedgerError where the database fails."""

    def __init__(self, where: str | Path | None = None) -> None:
        self.engine: Engine = open_engine(where)
        self.where = str(self.engine.url.database if self.engine.dialect.name == "sqlite" else self.engine.url)

    def close(self) -> None:
        """Let go of the database."""
        self.engine.dispose()

    def writing(self) -> AbstractContextManager[Connection]:
        """A transaction that may write: all or nothing."""
        return self.engine.begin()

    def reading(self) -> AbstractContextManager[Connection]:
        """A transaction that only reads: it never waits for a writer."""
        return self.engine.execution_options(reads_only=True).begin()

    def save_run(self, new: NewRun) -> int:
        """Save a run with its recording, and its keyboard where the label is new; the run's number."""
        if not new.label.strip():
            raise LedgerError(words.NO_LABEL, *words.NO_LABEL_HELP)
        try:
            with self.writing() as connection:
                return _insert_run(connection, new)
        except IntegrityError:
            with self.writing() as connection:  # another bench made the same keyboard in this moment
                return _insert_run(connection, new)
        except SQLAlchemyError as error:
            raise explain(error, self.where) from error

    def keyboards(
        self, search: str = "", *, layout: str = "", donor: bool | None = None, limit: int = 200, skip: int = 0
    ) -> list[KeyboardEntry]:
        """Keyboards newest run first; `search` is looked for in label, owner and notes, whatever the case."""
        query = _keyboard_query()
        if search:
            query = query.where(holds(search, self.engine.dialect.name))
        if layout:
            query = query.where(schema.keyboards.c.layout == layout)
        if donor is not None:
            query = query.where(schema.keyboards.c.donor == donor)
        query = query.order_by(schema.keyboards.c.id.desc()).limit(limit).offset(skip)
        try:
            with self.reading() as connection:
                return _keyboards(connection, connection.execute(query).all())
        except SQLAlchemyError as error:
            raise explain(error, self.where) from error

    def keyboard(self, label: str) -> KeyboardEntry:
        """One keyboard; NotFound names the nearest label."""
        try:
            with self.reading() as connection:
                row = connection.execute(_keyboard_query().where(schema.keyboards.c.label == label)).one_or_none()
                if row is None:
                    raise _no_keyboard(connection, label)
                return _keyboards(connection, [row])[0]
        except SQLAlchemyError as error:
            raise explain(error, self.where) from error

    def change(self, label: str, **changes: str | bool) -> None:
        """Change owner, notes or donor of a keyboard."""
        unknown = set(changes) - {"owner", "notes", "donor"}
        if unknown:
            raise ValueError(f"not to be changed: {sorted(unknown)}")
        try:
            with self.writing() as connection:
                table = schema.keyboards
                here = table.c.label == label
                if connection.execute(table.update().where(here).values(**changes)).rowcount == 0:
                    raise _no_keyboard(connection, label)
                row = connection.execute(select(table.c.owner, table.c.notes).where(here)).one()
                found = haystack(label, row.owner, row.notes)
                connection.execute(table.update().where(here).values(haystack=found))
        except SQLAlchemyError as error:
            raise explain(error, self.where) from error

    def runs_of(self, label: str) -> list[RunEntry]:
        """Every run of a keyboard, oldest first."""
        try:
            with self.reading() as connection:
                query = _run_query().where(schema.keyboards.c.label == label).order_by(schema.runs.c.id)
                rows = connection.execute(query).all()
                if not rows and connection.execute(_keyboard_id(label)).scalar() is None:
                    raise _no_keyboard(connection, label)
                return [_run(connection, row) for row in rows]
        except SQLAlchemyError as error:
            raise explain(error, self.where) from error

    def run(self, number: int) -> RunEntry:
        """One run by its number."""
        try:
            with self.reading() as connection:
                row = connection.execute(_run_query().where(schema.runs.c.id == number)).one_or_none()
                if row is None:
                    raise NotFound(words.NO_RUN.format(run=number), *words.NO_RUN_HELP)
                return _run(connection, row)
        except SQLAlchemyError as error:
            raise explain(error, self.where) from error

    def recording(self, number: int) -> bytes:
        """The recording of a run as it was saved."""
        query = select(schema.recordings.c.data).where(schema.recordings.c.run_id == number)
        try:
            with self.reading() as connection:
                data = connection.execute(query).scalar()
        except SQLAlchemyError as error:
            raise explain(error, self.where) from error
        if data is None:
            raise NotFound(words.NO_RUN.format(run=number), *words.NO_RUN_HELP)
        return zlib.decompress(data)

    def mate(self, connector: str, times: int = 1) -> int:
        """Count insertions into a harness connector; the count so far."""
        table = schema.connectors
        here = table.c.name == connector
        try:
            with self.writing() as connection:
                if connection.execute(table.update().where(here).values(matings=table.c.matings + times)).rowcount == 0:
                    connection.execute(table.insert().values(name=connector, matings=times, since=now_utc()))
                return int(connection.execute(select(table.c.matings).where(here)).scalar_one())
        except IntegrityError:
            return self.mate(connector, times)  # another bench counted it for the first time in this moment
        except SQLAlchemyError as error:
            raise explain(error, self.where) from error

    def renew_connector(self, connector: str) -> None:
        """A new socket was fitted: its count begins at 0."""
        try:
            with self.writing() as connection:
                connection.execute(schema.connectors.delete().where(schema.connectors.c.name == connector))
                connection.execute(schema.connectors.insert().values(name=connector, matings=0, since=now_utc()))
        except SQLAlchemyError as error:
            raise explain(error, self.where) from error

    def connectors(self) -> dict[str, int]:
        """Connector -> matings so far."""
        try:
            with self.reading() as connection:
                rows = connection.execute(select(schema.connectors.c.name, schema.connectors.c.matings))
                return {row.name: row.matings for row in rows}
        except SQLAlchemyError as error:
            raise explain(error, self.where) from error


def _insert_run(connection: Connection, new: NewRun) -> int:
    row = connection.execute(
        select(schema.keyboards.c.id, schema.keyboards.c.layout).where(schema.keyboards.c.label == new.label)
    ).one_or_none()
    if row is None:
        keyboard = schema.keyboards.insert().values(
            label=new.label, layout=new.layout, created=now_utc(), haystack=haystack(new.label, "", "")
        )
        keyboard_id = connection.execute(keyboard).inserted_primary_key[0]  # type: ignore[index]
    elif row.layout != new.layout:
        text = words.OTHER_LAYOUT.format(label=new.label, there=row.layout, here=new.layout)
        raise LedgerError(text, *words.OTHER_LAYOUT_HELP)
    else:
        keyboard_id = row.id
    same = (schema.runs.c.keyboard_id == keyboard_id) & (schema.runs.c.fingerprint == new.fingerprint)
    twice = connection.execute(select(schema.runs.c.id).where(same)).scalar()
    if twice is not None:
        likely, next_step = words.TWICE_HELP
        raise LedgerError(words.TWICE.format(run=twice, label=new.label), likely, next_step.format(label=new.label))
    run = schema.runs.insert().values(
        keyboard_id=keyboard_id,
        saved=now_utc(),
        verdict=new.document["verdict"],
        grade=new.document["grade"],
        stage=new.stage,
        tool=new.document["tool"],
        firmware=new.firmware,
        board=new.board,
        board_id=new.board_id,
        fingerprint=new.fingerprint,
        document=json.dumps(new.document, ensure_ascii=False, sort_keys=True),
    )
    number = int(connection.execute(run).inserted_primary_key[0])  # type: ignore[index]
    found = [
        {
            "run_id": number,
            "place": place,
            "kind": finding["kind"],
            "lines": " ".join(finding["lines"]),
            "keys": " ".join(finding["keys"]),
            "probability": finding["probability"],
        }
        for place, finding in enumerate(new.document["findings"])
    ]
    if found:
        connection.execute(schema.findings.insert(), found)
    keys = [
        {"run_id": number, "key": key, "presses": result.presses, "loop_ohm": result.loop_ohm}
        for key, result in sorted(new.keys.items())
    ]
    if keys:
        connection.execute(schema.key_results.insert(), keys)
    connection.execute(schema.recordings.insert().values(run_id=number, data=zlib.compress(new.recording, 6)))
    return number


def _keyboard_id(label: str) -> Select[tuple[int]]:
    return select(schema.keyboards.c.id).where(schema.keyboards.c.label == label)


def _keyboard_query() -> Select[Any]:
    own = schema.runs.c.keyboard_id == schema.keyboards.c.id
    count = select(func.count()).select_from(schema.runs).where(own).scalar_subquery()
    last = select(func.max(schema.runs.c.id)).where(own).scalar_subquery()
    return select(*schema.keyboards.c, count.label("runs"), last.label("last_run"))


def _keyboards(connection: Connection, rows: Sequence[Row[Any]]) -> list[KeyboardEntry]:
    table = schema.runs
    numbers = [row.last_run for row in rows if row.last_run is not None]
    query = select(table.c.id, table.c.saved, table.c.verdict, table.c.grade).where(table.c.id.in_(numbers))
    newest = {each.id: each for each in connection.execute(query)} if numbers else {}
    entries = []
    for row in rows:
        last = newest.get(row.last_run)
        entries.append(
            KeyboardEntry(
                label=row.label,
                layout=row.layout,
                owner=row.owner,
                notes=row.notes,
                donor=bool(row.donor),
                created=row.created,
                runs=row.runs,
                last_run=row.last_run,
                last_saved=None if last is None else last.saved,
                last_verdict=None if last is None else last.verdict,
                last_grade=None if last is None else last.grade,
            )
        )
    return entries


def _run_query() -> Select[Any]:
    joined = schema.runs.join(schema.keyboards, schema.runs.c.keyboard_id == schema.keyboards.c.id)
    return select(*schema.runs.c, schema.keyboards.c.label, schema.keyboards.c.layout).select_from(joined)


def _run(connection: Connection, row: Row[Any]) -> RunEntry:
    table = schema.key_results
    keys = connection.execute(select(table).where(table.c.run_id == row.id).order_by(table.c.key))
    return RunEntry(
        run=row.id,
        label=row.label,
        layout=row.layout,
        saved=row.saved,
        stage=row.stage,
        verdict=row.verdict,
        grade=row.grade,
        tool=row.tool,
        firmware=row.firmware,
        board=row.board,
        board_id=row.board_id,
        fingerprint=row.fingerprint,
        document=json.loads(row.document),
        keys={each.key: KeyResult(each.presses, each.loop_ohm) for each in keys},
    )


def _no_keyboard(connection: Connection, label: str) -> NotFound:
    labels = [row.label for row in connection.execute(select(schema.keyboards.c.label).limit(5000))]
    close = difflib.get_close_matches(label, labels, n=1)
    near = words.NEAR.format(label=close[0]) if close else ""
    return NotFound(words.NO_KEYBOARD.format(label=label, near=near), *words.NO_KEYBOARD_HELP)
