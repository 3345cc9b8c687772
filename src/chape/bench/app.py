"""Puts the server of the bench together."""

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from importlib import import_module

from fastapi import FastAPI
from starlette.concurrency import run_in_threadpool

from chape import __version__
from chape.bench.access import Access
from chape.bench.bench import Bench
from chape.bench.limits import Bounded
from chape.bench.pages import Guarded, serve_pages
from chape.bench.problem import Problems, tell_problems
from chape.bench.watching import Watching

#: Each area of the server has a router in a file of its own.
AREAS = (
    "api_access",
    "api_measure",
    "api_knives",
    "api_sheaths",
    "api_preview",
    "api_knife_view",
    "api_compare",
    "api_jobs",
    "api_shapes",
    "api_forming",
    "api_work",
    "api_timers",
    "api_shop",
)


def create_app(bench: Bench) -> FastAPI:
    """Return the server of one bench."""

    @asynccontextmanager
    async def lifespan(_: FastAPI) -> AsyncIterator[None]:
        watching = Watching(bench.records)
        watching.start()
        yield
        watching.stop()
        await run_in_threadpool(bench.close)

    app = FastAPI(
        lifespan=lifespan,
        title="chape bench",
        version=__version__,
        docs_url=None,
        redoc_url=None,
        openapi_url=None,
    )
    app.state.bench = bench
    tell_problems(app)
    for area in AREAS:
        router = import_module(f"chape.bench.{area}").router
        app.include_router(router, prefix="/api", responses={422: {"model": Problems}})
    serve_pages(app)
    # The last one added is met first.
    app.add_middleware(Bounded)
    app.add_middleware(Access, devices=bench.devices, lan=bench.lan)
    app.add_middleware(Guarded)
    return app
