"""Work shared out comes back in order, whoever does it."""

import math
import os
from concurrent.futures import ThreadPoolExecutor

import pytest

from chape.errors import CannotMakeError, InputError
from chape.workers import THREADS, cluster, in_order, lent, process_pool, workers

WORK = [(math.sqrt, (number,)) for number in (9.0, 4.0, 1.0, 2.0)]
ROOTS = [3.0, 2.0, 1.0, math.sqrt(2.0)]


def test_processes_and_threads_give_the_same_results_in_the_same_order():
    with process_pool() as executor:
        assert list(in_order(executor, WORK)) == ROOTS
    with ThreadPoolExecutor(3) as executor:
        assert list(in_order(executor, WORK)) == ROOTS


def test_no_work_gives_no_results():
    with process_pool(1) as executor:
        assert list(in_order(executor, [])) == []


def test_each_process_keeps_to_one_thread_of_linear_algebra(monkeypatch):
    monkeypatch.setenv("OPENBLAS_NUM_THREADS", "7")
    monkeypatch.delenv("MKL_NUM_THREADS", raising=False)
    with process_pool(1) as executor:
        assert list(in_order(executor, [(os.getenv, (name,)) for name in THREADS])) == ["1", "1"]
    assert os.environ["OPENBLAS_NUM_THREADS"] == "7"
    assert "MKL_NUM_THREADS" not in os.environ


def test_a_process_that_dies_is_told_of():
    with process_pool(1) as executor, pytest.raises(CannotMakeError, match="before its time"):
        list(in_order(executor, [(os._exit, (9,))]))


def test_a_cluster_gives_the_same_results(dask_address):
    with workers(dask_address) as executor:
        assert list(in_order(executor, WORK)) == ROOTS


def test_what_is_lent_reaches_every_piece_of_work(dask_address):
    values = [3.0, 4.0]
    with cluster(dask_address) as executor:
        shared = lent(executor, values)
        assert list(in_order(executor, [(sum, (shared,)), (max, (shared,))])) == [7.0, 4.0]
    with process_pool(1) as executor:
        assert lent(executor, values) is values


def test_an_error_on_a_cluster_reaches_the_person(dask_address):
    with cluster(dask_address) as executor, pytest.raises(ValueError, match="math domain"):
        list(in_order(executor, [(math.sqrt, (-1.0,))]))


def test_a_cluster_that_is_not_there_is_told_of(monkeypatch):
    pytest.importorskip("distributed")
    monkeypatch.setattr("chape.workers.PATIENCE", 0.2)
    with pytest.raises(InputError, match="no cluster answers"), cluster("tcp://127.0.0.1:9"):
        pass
    with pytest.raises(InputError, match="no cluster answers"), cluster("nonsense://"):
        pass


def test_without_the_library_it_says_what_to_install(monkeypatch):
    def missing(name):
        raise ImportError(name)

    monkeypatch.setattr("chape.workers.importlib.import_module", missing)
    with pytest.raises(InputError, match=r"chape\[cluster\]"), cluster("tcp://127.0.0.1:9"):
        pass
