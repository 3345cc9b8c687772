"""What the page is told when something cannot be done: one sentence, never a traceback."""

import logging
from typing import Any

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import JSONResponse
from pydantic import BaseModel
from starlette.exceptions import HTTPException

from chape.bench.defect import DefectError
from chape.bench.named_values import by_label
from chape.errors import CannotMakeError, ChapeError, InputError, OutputError

LOG = logging.getLogger("chape.bench")

MISSING, OTHER_VERSION, NOT_PAIRED, TOO_LARGE, BAD_INPUT = 404, 409, 403, 413, 422

#: What web servers say in numbers, as a sentence.
SENTENCES = {
    400: "What was sent cannot be read",
    404: "There is no such page",
    405: "That cannot be done with this page",
    413: "That is too much to send at once",
}


class Problem(BaseModel):
    """One thing that stands in the way.

    Attributes:
        sentence: what is wrong.
        file: the file it stands in, as seen from the bench's folder.
        field: the key inside the file, dotted.
        mend: what to do instead.
    """

    sentence: str
    file: str | None = None
    field: str | None = None
    mend: str = ""


class Problems(BaseModel):
    """The body of every answer that is not what was asked for."""

    problem: Problem


class RefusedError(ChapeError):
    """A request that is turned down for what it asks, not for what a file holds.

    Args:
        status: of the answer.
        sentence: what is wrong.
        mend: what to do instead.
        more: further parts of the answer, such as the newer record.
    """

    def __init__(
        self, status: int, sentence: str, *, mend: str = "", more: dict[str, Any] | None = None
    ) -> None:
        self.status = status
        self.sentence = sentence
        self.mend = mend
        self.more = more or {}
        super().__init__(sentence)


def problem_of(error: BaseException) -> Problem:
    """Return what a person is told of an error.

    An error chape did not raise on purpose is a defect: it is logged, and its name is told.
    """
    match error:
        case InputError():
            file = None if error.file is None else error.file.name
            return Problem(
                sentence=_sentence(error.problem),
                file=file,
                field=error.field,
                mend=by_label(error.mend),
            )
        case CannotMakeError():
            return Problem(sentence=_sentence(error.reason), mend=by_label(error.mend))
        case OutputError():
            return Problem(sentence=_sentence(error.problem), file=error.path.name, mend=error.mend)
        case RefusedError():
            return Problem(sentence=error.sentence, mend=error.mend)
        case ChapeError():
            return Problem(sentence=_sentence(str(error)))
        case _:
            name = str(error) if isinstance(error, DefectError) else type(error).__name__
            return Problem(
                sentence=f"This is a defect of chape ({name})",
                mend="What happened stands in the terminal that runs the bench",
            )


def _sentence(text: str) -> str:
    text = by_label(text)
    return text[:1].upper() + text[1:].rstrip(".")


def answer(status: int, problem: Problem, more: dict[str, Any] | None = None) -> JSONResponse:
    """Return a problem as a response."""
    return JSONResponse({"problem": problem.model_dump(), **(more or {})}, status)


def tell_problems(app: FastAPI) -> None:
    """Have every error of the app answered as a ``Problem``."""

    @app.exception_handler(RefusedError)
    def refused(_: Request, error: RefusedError) -> JSONResponse:
        return answer(error.status, problem_of(error), error.more)

    @app.exception_handler(ChapeError)
    def on_purpose(_: Request, error: ChapeError) -> JSONResponse:
        return answer(BAD_INPUT, problem_of(error))

    @app.exception_handler(RequestValidationError)
    def malformed(_: Request, error: RequestValidationError) -> JSONResponse:
        first = error.errors()[0]
        field = ".".join(str(part) for part in first["loc"][1:])
        problem = Problem(
            sentence=f"What was sent cannot be used: {first['msg'].lower()}",
            field=field or None,
            mend="Load the page anew",
        )
        return answer(BAD_INPUT, problem)

    @app.exception_handler(HTTPException)
    def by_number(_: Request, error: HTTPException) -> JSONResponse:
        sentence = SENTENCES.get(error.status_code, str(error.detail))
        return answer(error.status_code, Problem(sentence=sentence))

    @app.exception_handler(Exception)
    def defect(_: Request, error: Exception) -> JSONResponse:
        LOG.error("a defect of chape", exc_info=error)
        return answer(500, problem_of(error))
