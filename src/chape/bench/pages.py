"""The page itself: files built from ``web/``, sent so that nothing from elsewhere runs in it."""

from importlib import resources
from pathlib import Path
from typing import TYPE_CHECKING

from fastapi import FastAPI
from fastapi.responses import HTMLResponse
from starlette.datastructures import MutableHeaders
from starlette.staticfiles import StaticFiles

if TYPE_CHECKING:
    from starlette.types import ASGIApp, Message, Receive, Scope, Send

#: Only what this server sends may run; styles are set by script, never written inline.
POLICY = (
    "default-src 'none'; script-src 'self'; worker-src 'self'; style-src 'self'; "
    "img-src 'self' data: blob:; font-src 'self'; connect-src 'self'; media-src 'self' blob:; "
    "manifest-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
)

HEADERS = {
    "Content-Security-Policy": POLICY,
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "no-referrer",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
}

#: Whole, in part, or as the browser has it already.
FOUND = frozenset({200, 206, 304})

HOW_TO_BUILD = (
    "in the source folder of chape, run pip install -e . again; it needs Node.js, or a network to "
    "fetch it from"
)

NOT_BUILT = f"""<!doctype html><html lang="en"><meta charset="utf-8"><title>chape bench</title>
<p>The page of the bench is not built: {HOW_TO_BUILD}. All else of chape works.</p>
"""


class Guarded:
    """Puts the headers on every answer that keep a page to what this server sends."""

    def __init__(self, app: "ASGIApp") -> None:
        self.app = app

    async def __call__(self, scope: "Scope", receive: "Receive", send: "Send") -> None:
        """Pass a request on."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return

        async def with_headers(message: "Message") -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in HEADERS.items():
                    headers[name] = value
                if "cache-control" not in headers:
                    found = message["status"] in FOUND
                    headers["Cache-Control"] = _kept(scope["path"]) if found else "no-store"
            await send(message)

        await self.app(scope, receive, with_headers)


def _kept(path: str) -> str:
    """Built files carry the hash of their content in their name, so they never change."""
    if path.startswith("/api/"):
        return "no-store"
    return "max-age=31536000, immutable" if path.startswith("/assets/") else "no-cache"


def static_folder() -> Path | None:
    """Return the folder of the built page; None when it was not built."""
    folder = Path(str(resources.files("chape.bench"))) / "static"
    return folder if (folder / "index.html").is_file() else None


def serve_pages(app: FastAPI) -> None:
    """Serve the built page, or say how to build it."""
    folder = static_folder()
    if folder is not None:
        app.mount("/", StaticFiles(directory=folder, html=True))
        return

    @app.get("/", include_in_schema=False)
    def not_built() -> HTMLResponse:
        return HTMLResponse(NOT_BUILT, 503)
