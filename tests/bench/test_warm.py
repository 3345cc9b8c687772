"""The process that is kept warm, and wishes that overtake one another."""

import operator
import os
import signal
import threading
import time

import pytest

from chape.bench.latest import Latest
from chape.bench.problem import RefusedError
from chape.bench.warm import Warm
from chape.bench.work_process import DefectError
from chape.errors import InputError


def refuse():
    raise InputError("it is wrong", mend="Put it right", field="a.b")


@pytest.fixture(scope="module")
def warm():
    kept = Warm(patience=20.0)
    yield kept
    kept.close()


def test_it_answers_and_stays(warm):
    first = warm.ask(os.getpid)
    assert warm.ask(operator.add, 2, 3) == 5
    assert warm.ask(os.getpid) == first != os.getpid()


def test_the_memory_of_the_one_who_began_it_is_not_counted(monkeypatch):
    monkeypatch.setattr("chape.bench.warm.MOST_MEMORY", 250_000_000)
    held = b"." * 300_000_000
    kept = Warm()
    first = kept.ask(os.getpid)
    assert kept.ask(os.getpid) == first
    kept.close()
    assert len(held) > 250_000_000


def test_what_goes_wrong_in_it_is_told_here(warm):
    with pytest.raises(DefectError, match="ZeroDivisionError"):
        warm.ask(operator.truediv, 1, 0)
    assert warm.ask(operator.add, 1, 1) == 2


def test_one_that_dies_is_refused_in_a_sentence_and_begun_anew(warm):
    first = warm.ask(os.getpid)
    with pytest.raises(RefusedError, match="ended before its time"):
        warm.ask(os._exit, 3)
    assert warm.ask(os.getpid) != first


def test_one_that_died_while_nobody_asked_is_begun_anew_unnoticed(warm):
    first = warm.ask(os.getpid)
    os.kill(first, signal.SIGKILL)
    assert warm.ask(os.getpid) != first


def test_what_takes_too_long_is_given_up(warm):
    warm.ask(os.getpid)
    warm._patience = 0.2
    with pytest.raises(RefusedError, match="longer than"):
        warm.ask(time.sleep, 30)
    warm._patience = 20.0


def test_what_is_closed_begins_nothing():
    kept = Warm()
    kept.close()
    with pytest.raises(RefusedError, match="being closed"):
        kept.ask(os.getpid)


def test_only_the_newest_of_those_that_wait_is_done():
    latest, began, go = Latest(), threading.Event(), threading.Event()
    told = {}

    def slow():
        began.set()
        go.wait(10)
        return "first"

    def wish(number):
        told[number] = latest.run("page", slow if number == 0 else lambda: number)

    threads = [threading.Thread(target=wish, args=(number,)) for number in range(4)]
    threads[0].start()
    assert began.wait(10)
    for thread in threads[1:]:
        thread.start()
        deadline = time.monotonic() + 10
        while latest._newest["page"] < threads.index(thread) and time.monotonic() < deadline:
            time.sleep(0.001)
    other = threading.Thread(target=lambda: told.update(other=latest.run("other", lambda: "mine")))
    other.start()
    go.set()
    for thread in (*threads, other):
        thread.join(10)
    # The one that had begun is finished; of those that waited only the newest is done.
    assert told == {0: "first", 1: None, 2: None, 3: 3, "other": "mine"}
    assert latest._newest == {}


def test_a_wish_that_fails_lets_the_next_one_through():
    latest = Latest()
    with pytest.raises(InputError):
        latest.run("page", refuse)
    assert latest.run("page", lambda: 1) == 1
