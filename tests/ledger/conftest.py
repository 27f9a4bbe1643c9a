"""A SQLite ledger in a fresh folder and a real PostgreSQL server, started once and stopped at the end."""

from __future__ import annotations

import os
import pwd
import shutil
import subprocess
import tempfile
import zlib
from collections.abc import Iterator
from pathlib import Path

import pytest
from sqlalchemy import create_engine, text

from tailwise.ledger.store import Ledger


def _postgres_bin() -> Path:
    found = sorted(Path("/usr/lib/postgresql").glob("*/bin/postgres"), key=lambda each: int(each.parts[-3]))
    assert found, "the tests need Debian's package postgresql"
    return found[-1].parent


@pytest.fixture(scope="session")
def postgres_server() -> Iterator[str]:
    """URL of an empty server that listens on a socket in its own folder only."""
    folder = Path(tempfile.mkdtemp(prefix="tailwise-pg-"))
    who = "postgres" if os.geteuid() == 0 else pwd.getpwuid(os.geteuid()).pw_name
    if os.geteuid() == 0:
        shutil.chown(folder, who, who)
    programs = _postgres_bin()
    data = folder / "data"

    def call(*command: str) -> None:
        user = who if os.geteuid() == 0 else None
        group = who if os.geteuid() == 0 else None
        done = subprocess.run(
            command, user=user, group=group, cwd=folder, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, check=False
        )
        assert done.returncode == 0, done.stdout.decode()

    call(str(programs / "initdb"), "-D", str(data), "-A", "trust", "-U", "tester", "-E", "UTF8", "--no-sync")
    options = f"-c listen_addresses='' -c unix_socket_directories={folder} -c fsync=off"
    call(str(programs / "pg_ctl"), "-D", str(data), "-l", str(folder / "log"), "-o", options, "-w", "start")
    try:
        yield f"postgresql://tester@/postgres?host={folder}"
    finally:
        call(str(programs / "pg_ctl"), "-D", str(data), "-m", "immediate", "-w", "stop")
        shutil.rmtree(folder, ignore_errors=True)


@pytest.fixture
def postgres_url(postgres_server: str, request: pytest.FixtureRequest) -> Iterator[str]:
    """URL of a fresh database."""
    name = f"t{zlib.crc32(request.node.nodeid.encode())}"
    admin = create_engine(postgres_server.replace("postgresql://", "postgresql+psycopg://"), isolation_level="AUTOCOMMIT")
    with admin.connect() as connection:
        connection.execute(text(f"CREATE DATABASE {name}"))
    yield postgres_server.replace("/postgres?", f"/{name}?")
    with admin.connect() as connection:
        connection.execute(text(f"DROP DATABASE {name} WITH (FORCE)"))
    admin.dispose()


@pytest.fixture(params=["sqlite", "postgresql"])
def where(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """A place for a ledger, on both databases in turn."""
    if request.param == "sqlite":
        return str(tmp_path / "ledger.sqlite")
    url: str = request.getfixturevalue("postgres_url")
    return url


@pytest.fixture
def ledger(where: str) -> Iterator[Ledger]:
    """An empty ledger."""
    opened = Ledger(where)
    yield opened
    opened.close()
