"""chape: from a measured knife to a checked job folder.

Lengths are mm, angles radians in code and degrees in files, times s, forces N, temperatures
°C, unless a name says otherwise.
"""

from __future__ import annotations

from importlib import import_module

__version__ = "0.1.0"

#: Where each public name lives; it is imported when first asked for.
_HOMES = {
    "CannotMakeError": "chape.errors",
    "ChapeError": "chape.errors",
    "Finding": "chape.findings",
    "HeightField": "chape.field.heights",
    "InputError": "chape.errors",
    "Knife": "chape.knife.model",
    "Outline": "chape.field.outline",
    "OutputError": "chape.errors",
    "ProgramError": "chape.errors",
    "Severity": "chape.findings",
    "Sheath": "chape.sheath.model",
    "catalog": "chape.catalog.read",
    "check_program": "chape.cutting.check",
    "design_sheath": "chape.sheath.design",
    "make_dummy": "chape.tooling.gauges",
    "read_knife": "chape.knife.read",
    "run_job": "chape.pipeline.run",
}

__all__ = [*_HOMES]  # noqa: PLE0604 - names only, kept in order by a test


def __getattr__(name: str) -> object:
    """Import a public name on first use."""
    if name not in _HOMES:
        raise AttributeError(f"chape has no {name}")
    return getattr(import_module(_HOMES[name]), name)
