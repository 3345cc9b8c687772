"""A PostgreSQL server of our own on loopback, started for the tests that want it."""

import os
import pwd
import shutil
import signal
import socket
import subprocess
import tempfile
import time
from contextlib import contextmanager, suppress
from pathlib import Path

from sqlalchemy import create_engine, text

PROGRAMS = "/usr/lib/postgresql/*/bin"


def program(name):
    """Return where a program of PostgreSQL is, None where it is not installed."""
    found = shutil.which(name)
    places = sorted(Path("/").glob(f"{PROGRAMS[1:]}/{name}"))
    return found or (str(places[-1]) if places else None)


def lacks():
    """Return why no server can be started here, in plain words; None where one can."""
    if program("initdb") is None:
        return "PostgreSQL is not installed"
    if os.geteuid() == 0 and shutil.which("setpriv") is None:
        return "PostgreSQL does not run as root, and there is no setpriv to run it as another"
    return None


def _run(*words):
    # PostgreSQL refuses to run as root.
    lead = ["setpriv", "--reuid=nobody", "--clear-groups"] if os.geteuid() == 0 else []
    subprocess.run([*lead, *words], check=True, capture_output=True, timeout=60)


class Server:
    """A server with a cluster of its own."""

    def __init__(self, folder):
        self.data = folder / "data"
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            port = free.getsockname()[1]
        self.options = (
            f"-p {port} -c listen_addresses=127.0.0.1 -c unix_socket_directories={folder}"
        )
        self.log = folder / "log"
        self.url = f"postgresql+psycopg://chape@127.0.0.1:{port}"
        _run(program("initdb"), "-D", self.data, "-U", "chape", "--auth=trust", "--no-sync")

    def start(self):
        """Start it, and wait until it answers."""
        control = program("pg_ctl")
        _run(control, "-D", self.data, "-w", "-l", self.log, "-o", self.options, "start")

    def stop(self):
        """Stop it."""
        _run(program("pg_ctl"), "-D", self.data, "-m", "immediate", "stop")

    def kill(self):
        """End it as a power cut would, without a word, and wait until its processes are gone."""
        head = int((self.data / "postmaster.pid").read_text().split()[0])
        every = Path(f"/proc/{head}/task/{head}/children").read_text().split()
        os.kill(head, signal.SIGKILL)
        for number in map(int, every):
            with suppress(ProcessLookupError):
                os.kill(number, signal.SIGKILL)
        for number in (head, *map(int, every)):
            _wait_for_end(number)
        (self.data / "postmaster.pid").unlink(missing_ok=True)

    def database(self, name):
        """Make an empty database, and return its URL."""
        engine = create_engine(f"{self.url}/postgres", isolation_level="AUTOCOMMIT")
        with engine.connect() as connection:
            connection.execute(text(f"CREATE DATABASE {name}"))
        engine.dispose()
        return f"{self.url}/{name}"


def _wait_for_end(number):
    for _ in range(500):
        if not Path(f"/proc/{number}").exists():
            return
        time.sleep(0.01)
    # It has ended, and nobody here asks after it: a zombie, which after a power cut there is not.


@contextmanager
def started_postgres():
    """Start a server with an empty cluster."""
    folder = Path(tempfile.mkdtemp(prefix="chape-pg-"))
    if os.geteuid() == 0:
        os.chown(folder, pwd.getpwnam("nobody").pw_uid, -1)
    server = Server(folder)
    server.start()
    try:
        yield server
    finally:
        server.stop()
        shutil.rmtree(folder, ignore_errors=True)
