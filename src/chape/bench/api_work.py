"""Long work, and the socket on which pages are told what changes."""

import asyncio
from contextlib import suppress
from typing import Any

from fastapi import APIRouter, WebSocket, WebSocketDisconnect
from pydantic import BaseModel

from chape.bench.access import visitor_of
from chape.bench.bench import AtBench
from chape.bench.piece import Piece, State
from chape.bench.problem import Problem

router = APIRouter(tags=["work"])


class WorkAnswer(BaseModel):
    """A piece of long work.

    Attributes:
        what, name: the record it is for.
        began: milliseconds since 1970.
        share: done of it, 0 to 1; null where that is not known.
        stage: what it is at, in words.
        problem: what went wrong; of stopped work, that no person stopped it.
        result: what came of it, where it says anything; null after a restart of the bench.
        seen: a person has read what became of it.
    """

    id: str
    title: str
    what: str
    name: str
    state: State
    began: int
    share: float | None
    stage: str
    problem: Problem | None
    result: Any
    seen: bool


def work_answer(piece: Piece) -> WorkAnswer:
    """Return a piece of work as the page is told of it."""
    return WorkAnswer(**{name: getattr(piece, name) for name in WorkAnswer.model_fields})


@router.get("/works")
def all_work(bench: AtBench) -> list[WorkAnswer]:
    """List the work, the newest first."""
    return [work_answer(piece) for piece in bench.works.all()]


@router.get("/works/{key}")
def one_work(key: str, bench: AtBench) -> WorkAnswer:
    """Return a piece of work."""
    return work_answer(bench.works.one(key))


@router.delete("/works/{key}")
def stop_work(key: str, bench: AtBench) -> WorkAnswer:
    """Stop a piece of work; nothing half-written is left."""
    return work_answer(bench.works.stop(key))


@router.post("/works/{key}/seen")
def seen_work(key: str, bench: AtBench) -> WorkAnswer:
    """Note that a person has read what became of it, so that no page tells it again."""
    return work_answer(bench.works.see(key))


@router.websocket("/events")
async def events(socket: WebSocket, bench: AtBench) -> None:
    """Tell a page what changes, until it goes or the bench stops."""
    device = visitor_of(socket.scope).device
    await socket.accept()
    with bench.events.listening(device) as queue:
        hearing = asyncio.create_task(_hear(socket))
        try:
            while True:
                waiting = asyncio.create_task(queue.get())
                await asyncio.wait({waiting, hearing}, return_when=asyncio.FIRST_COMPLETED)
                if hearing.done():
                    waiting.cancel()
                    return
                event = waiting.result()
                if event is None:
                    break
                await socket.send_json(event)
        except (WebSocketDisconnect, RuntimeError):
            return
        finally:
            hearing.cancel()
    with suppress(RuntimeError):
        await socket.close(1012)


async def _hear(socket: WebSocket) -> None:
    """Take what a page says, which is nothing of use, until it goes."""
    with suppress(WebSocketDisconnect, RuntimeError):
        while True:
            await socket.receive_text()
