"""What the ledger knows about many keyboards: each counts once, with its newest run."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from sqlalchemy import Select, func, select
from sqlalchemy.exc import SQLAlchemyError

from tailwise.ledger import schema
from tailwise.ledger.opening import explain
from tailwise.ledger.store import Ledger


@dataclass(frozen=True, slots=True)
class Statistics:
    """Counts of keyboards: by (layout, kind of finding), by (layout, grade), by (layout, verdict)."""

    keyboards: int
    kinds: dict[tuple[str, str], int]
    grades: dict[tuple[str, str], int]
    verdicts: dict[tuple[str, str], int]


def _newest() -> Select[Any]:
    return select(func.max(schema.runs.c.id)).group_by(schema.runs.c.keyboard_id)


def statistics(ledger: Ledger, layout: str = "") -> Statistics:
    """Statistics of one layout, or of all."""
    runs, boards, found = schema.runs, schema.keyboards, schema.findings
    joined = runs.join(boards, runs.c.keyboard_id == boards.c.id)

    def count(column: Any, source: Any, what: Any) -> Select[Any]:
        query = select(boards.c.layout, column, func.count(what)).select_from(source).where(runs.c.id.in_(_newest()))
        if layout:
            query = query.where(boards.c.layout == layout)
        return query.group_by(boards.c.layout, column).order_by(boards.c.layout, column)

    with_findings = joined.join(found, found.c.run_id == runs.c.id)
    try:
        with ledger.reading() as connection:
            kinds = connection.execute(count(found.c.kind, with_findings, boards.c.id.distinct())).all()
            grades = connection.execute(count(runs.c.grade, joined, boards.c.id)).all()
            verdicts = connection.execute(count(runs.c.verdict, joined, boards.c.id)).all()
    except SQLAlchemyError as error:
        raise explain(error, ledger.where) from error
    return Statistics(
        keyboards=sum(row[2] for row in verdicts),
        kinds={(row[0], row[1]): row[2] for row in kinds},
        grades={(row[0], row[1]): row[2] for row in grades},
        verdicts={(row[0], row[1]): row[2] for row in verdicts},
    )
