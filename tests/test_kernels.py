"""Compiled kernels are kept by all the source they stand on."""

import pytest

from chape import kernels


@pytest.fixture
def modules(tmp_path, monkeypatch):
    sources = {
        "lowest": "x = 1\n",
        "bare": "from chape import lowest\n",
        "top": "import numba\n\nif True:\n    from chape.bare import x\n",
        "apart": "y = 1\n",
    }
    for name, text in sources.items():
        (tmp_path / f"{name}.py").write_text(text)
    monkeypatch.setattr(kernels, "_ROOT", tmp_path)

    def digest(name):
        kernels._source.cache_clear()
        kernels._source_digest.cache_clear()
        return kernels._source_digest(name)

    yield digest, tmp_path
    kernels._source.cache_clear()
    kernels._source_digest.cache_clear()


def test_a_change_two_imports_down_makes_a_kernel_new(modules):
    digest, folder = modules
    before = digest("top")
    (folder / "lowest.py").write_text("x = 2\n")
    assert digest("top") != before


def test_a_change_beside_leaves_a_kernel_as_it_is(modules):
    digest, folder = modules
    before = digest("top")
    (folder / "apart.py").write_text("y = 2\n")
    assert digest("top") == before
