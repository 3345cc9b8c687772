"""A cluster on this machine."""

import os
import subprocess
import sys

import pytest

# In a process of its own: its heartbeats draw from the global random state, which the laws watch.
CLUSTER = """
import logging, sys, warnings
warnings.simplefilter("ignore")
from distributed import LocalCluster
logging.getLogger("distributed").setLevel(logging.ERROR)
with LocalCluster(
    n_workers=2,
    threads_per_worker=1,
    processes=False,
    dashboard_address=None,
    host="127.0.0.1",
    protocol="tcp://",
) as local:
    print(local.scheduler_address, flush=True)
    sys.stdin.read()
"""


#: Files that take long begin first, so that the cores end together. What test_make.py has made is
#: kept, so that the browser's own make (test_sheath.py) may take it, if it comes later.
LONG = (
    *("test_make.py", "test_from_photo.py", "test_faults.py", "test_pull.py", "test_begin.py"),
    *("test_sheath.py", "test_day.py", "test_job_sheet.py", "test_pattern_files.py"),
    *("test_spine_photo.py", "test_solve.py", "test_tooling_laws.py", "test_schedules.py"),
)


def pytest_collection_modifyitems(items):
    items.sort(key=lambda item: LONG.index(item.path.name) if item.path.name in LONG else 99)


@pytest.fixture(scope="session")
def dask_address():
    pytest.importorskip("distributed")
    with subprocess.Popen(
        [sys.executable, "-c", CLUSTER],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
        # It shall find the tests' own modules too.
        env={**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)},
    ) as cluster:
        yield cluster.stdout.readline().strip()
        cluster.communicate("")
