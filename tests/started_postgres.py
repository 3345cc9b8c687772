"""A PostgreSQL server of our own on loopback, started for the tests that want it."""

import os
import pwd
import shutil
import socket
import subprocess
import tempfile
from contextlib import contextmanager
from pathlib import Path

from sqlalchemy import create_engine, text

PROGRAMS = "/usr/lib/postgresql/*/bin"


def program(name):
    """Return where a program of PostgreSQL is, None where it is not installed."""
    found = shutil.which(name)
    places = sorted(Path("/").glob(f"{PROGRAMS[1:]}/{name}"))
    return found or (str(places[-1]) if places else None)


def _run(*words):
    # PostgreSQL refuses to run as root.
    lead = ["setpriv", "--reuid=nobody", "--clear-groups"] if os.geteuid() == 0 else []
    subprocess.run([*lead, *words], check=True, capture_output=True, timeout=60)


@contextmanager
def started_postgres():
    """Start a server with an empty cluster; yield a function that makes empty databases."""
    folder = Path(tempfile.mkdtemp(prefix="chape-pg-"))
    if os.geteuid() == 0:
        os.chown(folder, pwd.getpwnam("nobody").pw_uid, -1)
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    data = str(folder / "data")
    _run(program("initdb"), "-D", data, "-U", "chape", "--auth=trust", "--no-sync")
    options = f"-p {port} -c listen_addresses=127.0.0.1 -c unix_socket_directories={folder}"
    control = program("pg_ctl")
    _run(control, "-D", data, "-w", "-l", str(folder / "log"), "-o", options, "start")
    server = f"postgresql+psycopg://chape@127.0.0.1:{port}"
    try:
        yield lambda name: _database(server, name)
    finally:
        _run(control, "-D", data, "-m", "immediate", "stop")
        shutil.rmtree(folder, ignore_errors=True)


def _database(server, name):
    engine = create_engine(f"{server}/postgres", isolation_level="AUTOCOMMIT")
    with engine.connect() as connection:
        connection.execute(text(f"CREATE DATABASE {name}"))
    engine.dispose()
    return f"{server}/{name}"
