"""No request is larger than what it is for.

The web library bounds requests too, but where one says its length it answers without a sentence.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from chape.bench.problem import TOO_LARGE, Problem, answer

if TYPE_CHECKING:
    from starlette.types import ASGIApp, Message, Receive, Scope, Send

#: Bytes of a request, and of one that brings a file to measure.
MOST, MOST_FILE = 8_000_000, 400_000_000

#: Where files to measure come in.
FILES = "/api/knives/from-file"


class Bounded:
    """Answers what is too large before it is taken in, however it says its length."""

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a request on, or answer it."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        most = MOST_FILE if scope["path"] == FILES else MOST
        length = dict(scope["headers"]).get(b"content-length", b"0")
        if not length.isdigit() or int(length) > most:
            await _answer(scope, receive, send, most)
            return
        taken, refused = 0, False

        async def counted() -> Message:
            nonlocal taken, refused
            if refused:
                return {"type": "http.disconnect"}
            message = await receive()
            taken += len(message.get("body", b""))
            if taken > most:
                refused = True
                await _answer(scope, receive, send, most)
                return {"type": "http.disconnect"}
            return message

        async def unless_refused(message: Message) -> None:
            if not refused:
                await send(message)

        await self.app(scope, counted, unless_refused)


async def _answer(scope: Scope, receive: Receive, send: Send, most: int) -> None:
    words = f"That is larger than {most // 1_000_000} MB"
    response = answer(TOO_LARGE, Problem(sentence=words, mend="Send a smaller file"))
    response.headers["connection"] = "close"
    await response(scope, receive, send)
