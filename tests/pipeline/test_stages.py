"""Work shared among processes comes back, or says why it does not."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from pathlib import Path

import pytest

from chape.catalog.read import catalog
from chape.errors import CannotMakeError, InputError
from chape.pipeline.keep import Keep
from chape.pipeline.stages import Stages, Task


def run_all(*work):
    tasks = [Task(str(number), "work", make, given) for number, (make, given) in enumerate(work)]
    return Stages(Keep(None), lambda _: None).run_all("work", tasks)


def test_results_come_in_the_order_of_the_tasks():
    assert run_all((max, (1, 2)), (min, (1, 2)), (abs, (-3,))) == [2, 1, 3]


def test_an_error_in_another_process_reaches_the_person_at_once():
    begun = time.monotonic()
    with pytest.raises(InputError, match="unheard-of"):
        run_all((catalog().dialect, ("unheard-of",)), (time.sleep, (60,)))
    assert time.monotonic() - begun < 30


def test_a_process_that_dies_does_not_leave_the_others_waiting():
    begun = time.monotonic()
    with pytest.raises(CannotMakeError, match="ended before its time"):
        run_all((os._exit, (9,)), (time.sleep, (60,)))
    assert time.monotonic() - begun < 30


@pytest.mark.skipif(not Path("/proc/self/stat").exists(), reason="looks into /proc")
def test_work_ends_with_the_process_that_asked_for_it(tmp_path):
    code = (
        "import os, time\n"
        "from chape.pipeline.keep import Keep\n"
        "from chape.pipeline.stages import Stages, Task\n"
        "if __name__ == '__main__':\n"
        "    work = [Task(str(n), 'work', time.sleep, (90 + n,)) for n in range(2)]\n"
        "    Stages(Keep(None), lambda _: None).run_all('work', work)\n"
    )
    script = tmp_path / "asks.py"
    script.write_text(code)
    asking = subprocess.Popen([sys.executable, script], start_new_session=True)
    workers = wait_for(lambda: children_of(asking.pid))
    asking.kill()
    asking.wait()
    wait_for(lambda: not any(Path(f"/proc/{worker}").exists() for worker in workers))


def wait_for(seen, seconds=20):
    until = time.monotonic() + seconds
    while time.monotonic() < until:
        found = seen()
        if found:
            return found
        time.sleep(0.1)
    raise AssertionError("it never came")


def children_of(process):
    """The two processes that work; a third only keeps count of what they share."""
    found = []
    for path in Path("/proc").glob("[0-9]*"):
        try:
            parent = (path / "stat").read_text().rsplit(")", 1)[1].split()[1]
            told = (path / "cmdline").read_bytes()
        except OSError:
            continue
        if int(parent) == process and b"spawn_main" in told:
            found.append(path.name)
    return found if len(found) == 2 else []
