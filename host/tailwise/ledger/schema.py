"""The tables of a ledger, the same in SQLite and PostgreSQL.

Times are UTC, ISO 8601 to the second. Findings are kept twice: as the judged document, whole, and as rows to search.
The recording is kept compressed (zlib) in a table of its own, so that a run and its recording are saved by one transaction.
"""

from __future__ import annotations

from sqlalchemy import (
    Boolean,
    Column,
    Float,
    ForeignKey,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    String,
    Table,
    Text,
    UniqueConstraint,
)

VERSION = 2
APPLICATION_ID = 0x7A11_715E
"""Marks our SQLite files (PRAGMA application_id)."""

metadata = MetaData()

about = Table(
    "tailwise_about",
    metadata,
    Column("name", String(64), primary_key=True),
    Column("value", String(200), nullable=False),
)

keyboards = Table(
    "keyboards",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("label", String(200), nullable=False, unique=True),
    Column("layout", String(200), nullable=False),
    Column("owner", String(200), nullable=False, default="", server_default=""),
    Column("notes", Text, nullable=False, default="", server_default=""),
    Column("donor", Boolean, nullable=False, default=False, server_default="0"),
    Column("created", String(20), nullable=False),
    Column("haystack", Text, nullable=False, default="", server_default=""),
)
"""haystack: label, owner and notes, case folded, so that a search looks at one column."""

runs = Table(
    "runs",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("keyboard_id", Integer, ForeignKey("keyboards.id", ondelete="RESTRICT"), nullable=False),
    Column("saved", String(20), nullable=False),
    Column("verdict", String(20), nullable=False),
    Column("grade", String(40), nullable=False),
    Column("stage", String(100), nullable=False, default="", server_default=""),
    Column("tool", String(60), nullable=False),
    Column("firmware", String(60), nullable=False, default="", server_default=""),
    Column("board", String(100), nullable=False, default="", server_default=""),
    Column("board_id", String(64), nullable=False, default="", server_default=""),
    Column("fingerprint", String(64), nullable=False),
    Column("document", Text, nullable=False),
    UniqueConstraint("keyboard_id", "fingerprint", name="one_run_a_recording"),
)
Index("runs_by_keyboard", runs.c.keyboard_id, runs.c.id)
Index("runs_by_saved", runs.c.saved)

findings = Table(
    "findings",
    metadata,
    Column("run_id", Integer, ForeignKey("runs.id", ondelete="CASCADE"), primary_key=True),
    Column("place", Integer, primary_key=True),
    Column("kind", String(40), nullable=False),
    Column("lines", String(400), nullable=False),
    Column("keys", Text, nullable=False),
    Column("probability", Float, nullable=False),
)
Index("findings_by_kind", findings.c.kind)

key_results = Table(
    "key_results",
    metadata,
    Column("run_id", Integer, ForeignKey("runs.id", ondelete="CASCADE"), primary_key=True),
    Column("key", String(100), primary_key=True),
    Column("presses", Integer, nullable=False),
    Column("loop_ohm", Float),
)

recordings = Table(
    "recordings",
    metadata,
    Column("run_id", Integer, ForeignKey("runs.id", ondelete="CASCADE"), primary_key=True),
    Column("data", LargeBinary, nullable=False),
)

connectors = Table(
    "connectors",
    metadata,
    Column("name", String(100), primary_key=True),
    Column("matings", Integer, nullable=False, default=0),
    Column("since", String(20), nullable=False),
)
"""Sockets of the harness and how often a tail went in; one row is begun anew when a socket is replaced."""
