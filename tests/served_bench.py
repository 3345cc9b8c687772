"""A bench served by a process of its own, as a maker starts it."""

import re
import signal
import subprocess
import sys
import threading
from queue import Empty, Queue

START = "from chape.cli.main import run; run()"

#: A busy machine takes its time to start Python and its libraries, s.
PATIENCE = 90


class ServedBench:
    """A bench in a folder; it can be stopped and started again at the same port.

    ``first`` is what its process does before, a line of Python.
    """

    def __init__(self, folder, *options, first=""):
        self.folder = folder
        self.options = options
        self.code = f"{first}\n{START}"
        self.port = 0
        self.start()

    @property
    def address(self):
        return f"http://127.0.0.1:{self.port}"

    def start(self):
        arguments = ["bench", ".", "--no-open", "--port", str(self.port), *self.options]
        self.process = subprocess.Popen(
            [sys.executable, "-u", "-c", self.code, *arguments],
            cwd=self.folder,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
        )
        self.said = Queue()
        self.reader = threading.Thread(target=_read, args=(self.process.stdout, self.said))
        self.reader.start()
        try:
            self.port = int(self.line(r"http://127\.0\.0\.1:(\d+)"))
        except BaseException:
            self.stop()
            raise

    def line(self, pattern):
        """Wait for what the terminal says, and return the part that was asked for."""
        heard = []
        while True:
            try:
                heard.append(self.said.get(timeout=PATIENCE))
            except Empty:
                raise AssertionError(f"{pattern} was not said in {heard}") from None
            assert heard[-1] is not None, f"the bench ended: {heard}"
            found = re.search(pattern, heard[-1])
            if found:
                return found[1]

    def stop(self):
        """Stop it as by Ctrl-C; what it said last is still to be read."""
        if self.process.poll() is None:
            self.process.send_signal(signal.SIGINT)
        self.process.wait(PATIENCE)
        self.reader.join()


def _read(stream, said):
    with stream:
        for line in stream:
            said.put(line.rstrip())
    said.put(None)
