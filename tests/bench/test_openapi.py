"""The page's types come from a committed file, which must be what the server offers."""

from pathlib import Path

from chape.bench.openapi import openapi_text

WRITTEN = Path(__file__).parents[2] / "web/openapi.json"


def test_the_written_interface_is_the_one_that_is_served():
    mend = "run: python -m chape.bench.openapi"
    assert WRITTEN.read_text("utf-8") == openapi_text(), mend
