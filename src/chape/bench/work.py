"""Long work, each piece in a process of its own: told of, stopped, and outliving the page.

Pieces of one line wait for each other, so that two jobs never fight for the cores.
"""

from __future__ import annotations

import secrets
import threading
import time
from dataclasses import dataclass, field, replace
from multiprocessing import get_context
from typing import TYPE_CHECKING, Any

from chape.bench.piece import Piece, State
from chape.bench.problem import MISSING, Problem, RefusedError, problem_of
from chape.bench.work_log import CUT_OFF
from chape.bench.work_process import Said, run_work

if TYPE_CHECKING:
    from collections.abc import Callable
    from multiprocessing.connection import Connection
    from multiprocessing.context import SpawnProcess

    from chape.bench.events import Events
    from chape.bench.work_log import WorkLog
    from chape.bench.work_process import Make

#: Finished work is remembered this far back.
MOST_FINISHED = 50

#: So many pieces may wait in a line before more are turned away.
MOST_WAITING = 20

#: Work that does not stop within this many seconds of being told to is ended.
PATIENCE = 5.0


@dataclass(frozen=True, slots=True)
class Order:
    """A piece of work to be done.

    Attributes:
        title: what it is, in words.
        what, name: the record it is for: "sheath" and its name.
        make: called in the process, with a function to say how far it is and ``arguments``.
        arguments: that can be handed to another process.
        line: pieces of the same line wait for each other.
        then: called here with what it returned, before it counts as done; what it returns is told.
        lastly: called here when it is over, however it ended.
    """

    title: str
    what: str
    name: str
    make: Make
    arguments: tuple[Any, ...] = ()
    line: str = "make"
    then: Callable[[Any], object] | None = None
    lastly: Callable[[], object] | None = None


@dataclass(slots=True)
class _Entry:
    order: Order
    piece: Piece
    stopping: bool = False
    process: SpawnProcess | None = None
    over: threading.Event = field(default_factory=threading.Event)


class Works:
    """All work of a bench.

    Args:
        events: told of every step.
        log: where it is noted; None notes it nowhere.
    """

    def __init__(self, events: Events, log: WorkLog | None = None) -> None:
        self._events = events
        self._log = log
        self._lock = threading.RLock()
        self._entries: dict[str, _Entry] = {}
        #: What was over before this bench began.
        self._past = {} if log is None else {piece.id: piece for piece in log.read()}
        self._closed = False

    def all(self) -> list[Piece]:
        """Return every piece remembered, the newest first."""
        with self._lock:
            return self._pieces()[::-1]

    def one(self, key: str) -> Piece:
        """Return one piece.

        Raises:
            RefusedError: there is none.
        """
        with self._lock:
            past = self._past.get(key)
        return past or self._entry(key).piece

    def start(self, order: Order) -> Piece:
        """Begin a piece of work, or let it wait for its line.

        Raises:
            RefusedError: too much waits already.
        """
        with self._lock:
            waiting = [e for e in self._entries.values() if e.piece.state is State.WAITING]
            if self._closed or len(waiting) >= MOST_WAITING:
                raise RefusedError(
                    429, f"{len(waiting)} pieces of work wait already", mend="Let some be done"
                )
            piece = Piece(
                *(secrets.token_hex(6), order.title, order.what, order.name, State.WAITING),
                began=int(time.time() * 1000),
            )
            entry = _Entry(order, piece)
            self._entries[piece.id] = entry
            self._forget()
        self._tell(entry)
        self._note()
        self._begin_next(order.line)
        return entry.piece

    def stop(self, key: str) -> Piece:
        """Stop a piece of work; one that is over stays as it is.

        Raises:
            RefusedError: there is none.
        """
        with self._lock:
            if key in self._past:
                return self._past[key]
        entry = self._entry(key)
        with self._lock:
            entry.stopping = True
            process = entry.process
            if entry.piece.state is State.WAITING:
                self._end(entry, State.STOPPED, problem=self._cut_off())
            elif process is not None:
                _stop(process)
        return entry.piece

    def see(self, key: str) -> Piece:
        """Note that a person has read what became of a piece.

        Raises:
            RefusedError: there is none.
        """
        with self._lock:
            if key in self._past:
                piece = self._past[key] = replace(self._past[key], seen=True)
            else:
                entry = self._entry(key)
                piece = entry.piece = replace(entry.piece, seen=True)
        self._note()
        return piece

    def wait(self, key: str, seconds: float) -> Piece:
        """Return a piece when it is over, or after some seconds as it is."""
        entry = self._entry(key)
        entry.over.wait(seconds)
        return entry.piece

    def close(self) -> None:
        """Stop everything, and take no more."""
        with self._lock:
            self._closed = True
            entries = [entry for entry in self._entries.values() if not entry.piece.state.over]
        for entry in entries:
            self.stop(entry.piece.id)
        for entry in entries:
            entry.over.wait(PATIENCE + 1)

    def _entry(self, key: str) -> _Entry:
        with self._lock:
            entry = self._entries.get(key)
        if entry is None:
            raise RefusedError(MISSING, "There is no such work", mend="Load the page anew")
        return entry

    def _begin_next(self, line: str) -> None:
        with self._lock:
            own = [e for e in self._entries.values() if e.order.line == line]
            if any(e.piece.state is State.RUNNING for e in own):
                return
            entry = next((e for e in own if e.piece.state is State.WAITING), None)
            if entry is None:
                return
            entry.piece = replace(entry.piece, state=State.RUNNING)
        self._tell(entry)
        threading.Thread(target=self._follow, args=(entry,), daemon=True).start()

    def _follow(self, entry: _Entry) -> None:
        """Run a piece in a process of its own, and listen to it until it is over."""
        context = get_context("spawn")
        receiver, sender = context.Pipe(duplex=False)
        process = context.Process(
            target=run_work, args=(sender, entry.order.make, entry.order.arguments)
        )
        try:
            process.start()
        except OSError as failed:
            self._end(entry, State.FAILED, problem=problem_of(failed))
            return
        sender.close()
        with self._lock:
            entry.process = process
            stopping = entry.stopping
        if stopping:
            _stop(process)
        with receiver:
            result, error = self._listen(entry, receiver)
        process.join()
        self._conclude(entry, result, error)

    def _listen(self, entry: _Entry, receiver: Connection) -> tuple[Any, BaseException | None]:
        """Return what came of it, or what went wrong; both None for a process that just ended."""
        try:
            while True:
                word, *rest = receiver.recv()
                if word == Said.STAGE:
                    with self._lock:
                        entry.piece = replace(entry.piece, stage=rest[0], share=rest[1])
                    self._tell(entry)
                elif word == Said.DONE:
                    return (rest[0],), None
                else:
                    return None, rest[0]
        except (EOFError, OSError):
            return None, None
        except Exception as failed:  # noqa: BLE001 - what was said could not be understood
            return None, failed

    def _conclude(self, entry: _Entry, result: Any, error: BaseException | None) -> None:  # noqa: ANN401 - whatever the work returned
        if result is not None:
            try:
                told = result[0] if entry.order.then is None else entry.order.then(result[0])
            except Exception as failed:  # noqa: BLE001 - told to the person, whatever it is
                self._end(entry, State.FAILED, problem=problem_of(failed))
            else:
                self._end(entry, State.DONE, result=told)
        elif entry.stopping:
            self._end(entry, State.STOPPED, problem=self._cut_off())
        elif error is not None:
            self._end(entry, State.FAILED, problem=problem_of(error))
        else:
            words = "The work ended before its time, as it does when memory runs out"
            problem = Problem(sentence=words, mend="Free some memory and try again")
            self._end(entry, State.FAILED, problem=problem)

    def _end(
        self,
        entry: _Entry,
        state: State,
        problem: Problem | None = None,
        result: Any = None,  # noqa: ANN401 - whatever the work returned
    ) -> None:
        share = 1.0 if state is State.DONE else entry.piece.share
        if entry.order.lastly is not None:
            entry.order.lastly()
        with self._lock:
            entry.piece = replace(
                entry.piece, state=state, problem=problem, result=result, share=share
            )
            entry.process = None
        self._note()
        entry.over.set()
        self._tell(entry)
        self._begin_next(entry.order.line)

    def _cut_off(self) -> Problem | None:
        """Return what is said of work that no person stopped."""
        return CUT_OFF if self._closed else None

    def _pieces(self) -> list[Piece]:
        return [*self._past.values(), *(entry.piece for entry in self._entries.values())]

    def _note(self) -> None:
        if self._log is None:
            return
        with self._lock:
            self._log.note(self._pieces())

    def _forget(self) -> None:
        over = [piece.id for piece in self._pieces() if piece.state.over]
        for key in over[: max(0, len(over) - MOST_FINISHED)]:
            self._past.pop(key, None)
            self._entries.pop(key, None)

    def _tell(self, entry: _Entry) -> None:
        piece = entry.piece
        self._events.tell(
            {
                "kind": "work",
                **{key: getattr(piece, key) for key in ("id", "title", "what", "name", "began")},
                "state": str(piece.state),
                "share": piece.share,
                "stage": piece.stage,
                "problem": None if piece.problem is None else piece.problem.model_dump(),
            }
        )


def _stop(process: SpawnProcess) -> None:
    """Tell a process to stop, which lets it clear up; end it where it does not listen."""
    process.terminate()
    killer = threading.Timer(PATIENCE, process.kill)
    killer.daemon = True
    killer.start()
