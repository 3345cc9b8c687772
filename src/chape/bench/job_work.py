"""Long work on a sheath, done in a process of its own: its job folder, and its exact figures."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from chape.bench.work_process import Tell

#: Begins of the stages' titles with the share of a job's usual time that is over when they begin.
SHARES = (
    ("Measure the knife", 0.01),
    ("Find the snap depth", 0.02),
    ("Design the sheath", 0.08),
    ("Lay out the blank", 0.1),
    ("Clamp", 0.18),
    ("Write and prove", 0.2),
    ("Draw the pictures", 0.75),
    ("Set the pages", 0.88),
    ("Write the job folder", 0.97),
)

#: The same for the exact figures alone.
EXACT_SHARES = (
    ("Measure the knife", 0.02),
    ("Find the snap depth", 0.05),
    ("Design the sheath", 0.5),
    ("Try the fit", 0.6),
)


def make_job(tell: Tell, path: Path, target: Path) -> dict[str, Any]:
    """Make a sheath's job folder, and return whether its programs were released.

    Args:
        tell: told each stage.
        path: the sheath file.
        target: the job folder.

    Raises:
        InputError, CannotMakeError, OutputError: as ``chape make`` does.
    """
    import datetime as dt  # noqa: PLC0415 - with all the rest

    from chape.findings import errors  # noqa: PLC0415 - numerics
    from chape.pipeline.file import read_request  # noqa: PLC0415 - numerics
    from chape.pipeline.folder import check_target, write_folder  # noqa: PLC0415 - numerics
    from chape.pipeline.keep import Keep  # noqa: PLC0415 - numerics
    from chape.pipeline.pack import pack_job  # noqa: PLC0415 - numerics
    from chape.pipeline.page import Page  # noqa: PLC0415 - numerics
    from chape.pipeline.run import run_job  # noqa: PLC0415 - numerics
    from chape.pipeline.stages import Stages  # noqa: PLC0415 - numerics

    request = read_request(path)
    check_target(target)
    watch = _watch(tell, SHARES)
    stages = Stages(Keep.of_person(), watch)
    job = run_job(request, stages, dt.datetime.now().astimezone().date())
    files = pack_job(job, Page("a4", request.file.unit, None), stages)
    watch("Write the job folder")
    write_folder(target, files)
    return {"released": not errors(job.findings)}


def work_out(tell: Tell, path: Path) -> dict[str, Any]:
    """Work out the exact figures of a sheath, and return them as ``ExactAnswer`` has them.

    Raises:
        InputError, CannotMakeError: as ``chape fit`` does.
    """
    from chape.bench.exact import exact_figures  # noqa: PLC0415 - numerics
    from chape.pipeline.file import read_request  # noqa: PLC0415 - numerics
    from chape.pipeline.keep import Keep  # noqa: PLC0415 - numerics
    from chape.pipeline.stages import Stages  # noqa: PLC0415 - numerics

    stages = Stages(Keep.of_person(), _watch(tell, EXACT_SHARES))
    return exact_figures(read_request(path), stages)


def _watch(tell: Tell, shares: tuple[tuple[str, float], ...]) -> Callable[[str], None]:
    """Return a watch that tells each stage with the share of the usual time that is over."""

    def watch(title: str) -> None:
        known = [share for begin, share in shares if title.startswith(begin)]
        tell(title, known[0] if known else None)

    return watch
