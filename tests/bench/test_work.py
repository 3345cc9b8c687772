"""Long work runs by itself, can be stopped, and says what came of it."""

import time

import pytest

from chape.bench.events import Events
from chape.bench.piece import State
from chape.bench.problem import RefusedError
from chape.bench.work import Order, Works
from chape.bench.work_log import WorkLog
from work_pieces import add, fall, refuse, vanish, write_slowly

SECONDS = 60


class Told(Events):
    def __init__(self):
        super().__init__()
        self.all = []

    def tell(self, event):
        self.all.append(event)


@pytest.fixture
def works():
    works = Works(Told())
    yield works
    works.close()


def order(make, *arguments, **how):
    return Order("Try it", "knife", "camp", make, arguments, **how)


def until_running(works, piece):
    while not (now := works.one(piece.id)).stage and not now.state.over:
        time.sleep(0.01)


def test_work_says_what_it_is_at_and_what_came_of_it(works):
    over = []
    piece = works.start(
        order(add, 2, 3, then=lambda five: {"sum": five}, lastly=lambda: over.append(1))
    )
    done = works.wait(piece.id, SECONDS)
    assert (done.state, done.result, done.share) == (State.DONE, {"sum": 5}, 1.0)
    assert over == [1]
    told = [(event["state"], event["stage"], event["share"]) for event in works._events.all]
    assert told == [
        ("waiting", "", None), ("running", "", None), ("running", "Add", 0.5), ("done", "Add", 1.0),
    ]  # fmt: skip


def test_what_goes_wrong_is_one_sentence(works):
    pieces = [works.start(order(make, line=make.__name__)) for make in (refuse, fall, vanish)]
    done = [works.wait(piece.id, SECONDS) for piece in pieces]
    assert [each.state for each in done] == [State.FAILED] * 3
    said = [each.problem.sentence for each in done]
    assert said[0] == "Found nothing"
    assert "defect" in said[1]
    assert "ZeroDivisionError" in said[1]
    assert "before its time" in said[2]


def test_a_line_is_kept_and_what_is_stopped_leaves_nothing_half_written(works, tmp_path):
    first = works.start(order(write_slowly, tmp_path / "made"))
    second = works.start(order(add, 1, 1))
    third = works.start(order(add, 2, 2))
    until_running(works, first)
    assert works.one(second.id).state is State.WAITING
    works.stop(second.id)
    assert works.one(second.id).state is State.STOPPED
    assert (tmp_path / "made").exists()
    works.stop(first.id)
    assert works.wait(first.id, SECONDS).state is State.STOPPED
    assert not (tmp_path / "made").exists()
    assert works.wait(third.id, SECONDS).result == 4
    assert [piece.id for piece in works.all()] == [third.id, second.id, first.id]


def test_closing_stops_everything(tmp_path):
    works = Works(Told())
    piece = works.start(order(write_slowly, tmp_path / "made"))
    until_running(works, piece)
    works.close()
    assert works.one(piece.id).state is State.STOPPED
    assert not (tmp_path / "made").exists()
    with pytest.raises(RefusedError):
        works.start(order(add, 1, 1))


def test_no_one_fills_the_line_for_ever(works, tmp_path):
    works.start(order(write_slowly, tmp_path / "made"))
    for _ in range(20):
        works.start(order(add, 1, 1))
    with pytest.raises(RefusedError, match="wait already"):
        works.start(order(add, 1, 1))
    with pytest.raises(RefusedError, match="no such work"):
        works.stop("nothing")


def test_what_became_of_work_is_told_after_a_restart(tmp_path):
    log = WorkLog(tmp_path / "works.json")
    works = Works(Told(), log)
    kinds = (add, 1, 1), (refuse,), (write_slowly, tmp_path / "made")
    pieces = [works.start(order(*each, line=each[0].__name__)) for each in kinds]
    for piece in pieces[:2]:
        works.wait(piece.id, SECONDS)
    until_running(works, pieces[2])
    works.see(pieces[1].id)
    cut = Works(Told(), log)
    works.close()
    closed = Works(Told(), log)
    for again in (cut, closed):
        done, failed, stopped = (again.one(piece.id) for piece in pieces)
        assert [done.state, failed.state, stopped.state] == ["done", "failed", "stopped"]
        assert (done.began, done.title, done.problem) == (pieces[0].began, "Try it", None)
        assert (failed.problem.sentence, failed.seen) == ("Found nothing", True)
        assert stopped.problem.sentence == "It was stopped when the bench was closed"
        assert again.stop(stopped.id) == stopped
        assert [piece.id for piece in again.all()] == [piece.id for piece in reversed(pieces)]


def test_what_a_person_stopped_is_no_news(works, tmp_path):
    piece = works.start(order(write_slowly, tmp_path / "made"))
    until_running(works, piece)
    works.stop(piece.id)
    assert works.wait(piece.id, SECONDS).problem is None


@pytest.mark.parametrize("content", [b"", b"{", b"[1]", b'[{"id": "x"}]', b"\xff"])
def test_a_log_that_cannot_be_read_is_begun_anew(tmp_path, content):
    (tmp_path / "works.json").write_bytes(content)
    assert WorkLog(tmp_path / "works.json").read() == []


def test_work_goes_on_where_it_cannot_be_noted(tmp_path):
    (tmp_path / "none").write_text("a file where a folder should be")
    works = Works(Told(), WorkLog(tmp_path / "none/works.json"))
    piece = works.start(order(add, 2, 2))
    assert works.wait(piece.id, SECONDS).result == 4
    works.close()
