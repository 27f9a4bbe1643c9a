"""Searching label, owner and notes whatever the case: one folded column, looked through for the folded term."""

from __future__ import annotations

from sqlalchemy import ColumnElement, func

from tailwise.ledger import schema


def haystack(label: str, owner: str, notes: str) -> str:
    """What a search looks at."""
    return "\n".join((label, owner, notes)).casefold()


def holds(term: str, dialect: str) -> ColumnElement[bool]:
    """The condition that a keyboard's haystack holds the term."""
    find = func.strpos if dialect == "postgresql" else func.instr
    return find(schema.keyboards.c.haystack, term.casefold()) > 0
