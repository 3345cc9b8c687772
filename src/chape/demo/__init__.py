"""Knives of our own invention to try chape with."""

from importlib import resources


def demo_file(name: str) -> str:
    """Return the text of one of the demo's files."""
    return (resources.files("chape.demo") / name).read_text("utf-8")
