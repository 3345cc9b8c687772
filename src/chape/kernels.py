"""The one door to the compiler, typed, so that kernels stay typed."""

from __future__ import annotations

from typing import TYPE_CHECKING, ParamSpec, TypeVar

import numba

if TYPE_CHECKING:
    from collections.abc import Callable

Arguments = ParamSpec("Arguments")
Result = TypeVar("Result")


def kernel(function: Callable[Arguments, Result]) -> Callable[Arguments, Result]:
    """Compile a numeric kernel to machine code, kept on disk between runs."""
    compiled: Callable[Arguments, Result] = numba.njit(cache=True, error_model="numpy")(function)
    return compiled


def parallel_kernel(function: Callable[Arguments, Result]) -> Callable[Arguments, Result]:
    """Compile a kernel whose ``numba.prange`` loops share the machine's cores."""
    compiled: Callable[Arguments, Result] = numba.njit(
        cache=True, error_model="numpy", parallel=True
    )(function)
    return compiled
