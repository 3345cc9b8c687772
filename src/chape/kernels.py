"""The one door to the compiler, typed, so that kernels stay typed.

Compiled kernels are kept between runs in the person's cache folder, under the hash of the source
of their module and of every module of chape it imports: the compiler looks only at the file of
the kernel that is called, and would run on with an old one where a kernel it calls has changed.
"""

from __future__ import annotations

import hashlib
import os
import re
import tempfile
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, ParamSpec, TypeVar

import numba
import platformdirs
from numba.core import config

if TYPE_CHECKING:
    from collections.abc import Callable

Arguments = ParamSpec("Arguments")
Result = TypeVar("Result")

_ROOT = Path(__file__).parent
_IMPORT = re.compile(r"^\s*(?:from|import) +chape\.([\w.]+)", re.MULTILINE)
_BARE_IMPORT = re.compile(r"^\s*from +chape +import +([\w, ]+)", re.MULTILINE)


@cache
def _source(module: str) -> tuple[bytes, frozenset[str]]:
    """Return a module's source and the modules of chape it imports; neither for a package."""
    path = _ROOT.joinpath(*module.split(".")).with_suffix(".py")
    if not path.is_file():
        return b"", frozenset()
    content = path.read_bytes()
    text = content.decode("utf-8")
    named = [name for names in _BARE_IMPORT.findall(text) for name in re.findall(r"\w+", names)]
    return content, frozenset(_IMPORT.findall(text)) | frozenset(named)


@cache
def _source_digest(module: str) -> str:
    """Return the hash of a module of chape ("field.body") and of all that it stands on."""
    known, waiting = {module}, [module]
    while waiting:
        new = _source(waiting.pop())[1] - known
        known |= new
        waiting += new
    digest = hashlib.sha256()
    for name in sorted(known):
        digest.update(name.encode())
        digest.update(_source(name)[0])
    return digest.hexdigest()[:16]


@cache
def _passing_folder() -> Path:
    return Path(tempfile.mkdtemp(prefix="chape-kernels-"))


def _cache_folder(module: str) -> Path:
    """Return a folder for a module's kernels; a passing one where the person's is read-only."""
    name = f"{module}-{_source_digest(module)}"
    folder = Path(platformdirs.user_cache_dir("chape")) / "kernels" / name
    try:
        folder.mkdir(parents=True, exist_ok=True, mode=0o700)
        writable = os.access(folder, os.W_OK)
    except OSError:
        writable = False
    return folder if writable else _passing_folder()


def _keep_compiled(function: Callable[Arguments, Result]) -> None:
    """Have the compiler keep the kernel that is decorated next."""
    module = function.__module__.removeprefix("chape.")
    # Read when a kernel is decorated; the library does not declare it.
    config.CACHE_DIR = str(_cache_folder(module))  # type: ignore[attr-defined]


def kernel(function: Callable[Arguments, Result]) -> Callable[Arguments, Result]:
    """Compile a numeric kernel to machine code, kept on disk between runs."""
    _keep_compiled(function)
    # Without the interpreter's lock, plain threads can share a kernel's rows among the cores.
    compiled: Callable[Arguments, Result] = numba.njit(cache=True, error_model="numpy", nogil=True)(
        function
    )
    return compiled


def inner_kernel(function: Callable[Arguments, Result]) -> Callable[Arguments, Result]:
    """Compile a kernel that only kernels call, and that makes no arrays.

    It counts nobody's hold on the arrays it is given: threads that share rows would wait for each
    other at every count, and code that is called often with many arrays does little else. Without
    a way in from Python it also compiles in less time; it is kept with the kernel that calls it.
    """
    options = {"_nrt": False, "no_cpython_wrapper": True, "no_cfunc_wrapper": True}
    compiled: Callable[Arguments, Result] = numba.njit(
        error_model="numpy",
        nogil=True,
        **options,  # type: ignore[call-overload]  # the library does not declare these
    )(function)
    return compiled


def parallel_kernel(function: Callable[Arguments, Result]) -> Callable[Arguments, Result]:
    """Compile a kernel whose ``numba.prange`` loops share the machine's cores."""
    _keep_compiled(function)
    compiled: Callable[Arguments, Result] = numba.njit(
        cache=True, error_model="numpy", parallel=True
    )(function)
    return compiled
