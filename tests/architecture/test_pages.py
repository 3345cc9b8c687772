"""What the pages under docs say must be all there is, and nothing that is not."""

import ast
import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import get_args

import pytest

from chape.catalog.model import Record
from chape.findings import Severity
from chape.knife.file import KnifeFile
from chape.knife.file_mesh import MeshKnifeFile
from chape.pipeline.family_file import FamilyFile
from chape.pipeline.file import SheathFile
from chape.pipeline.stock_file import StockFile
from chape.shop.shop_file import ShopFile

ROOT = Path(__file__).parents[2]
TREES = [ast.parse(path.read_text("utf-8")) for path in (ROOT / "src/chape").rglob("*.py")]
#: The files a person writes, with the heading of their part: a knife is measured or scanned.
FILES = (
    ((KnifeFile, MeshKnifeFile), "knife"),
    ((SheathFile,), "sheath"),
    ((ShopFile,), "shop"),
    ((StockFile,), "stock"),
    ((FamilyFile,), "family"),
)
LABELS = ["Means", "Usual cause", "Mend", "Severity"]


def _called(node: ast.expr) -> str:
    return node.id if isinstance(node, ast.Name) else getattr(node, "attr", "")


def _argument(call: ast.Call, name: str, position: int) -> ast.expr | None:
    named = {keyword.arg: keyword.value for keyword in call.keywords}
    return named.get(name) or (call.args[position] if position < len(call.args) else None)


def _branches(node: ast.expr) -> list[ast.expr]:
    """Return what an expression may be: both sides of "a if ... else b", else itself."""
    return [node.body, node.orelse] if isinstance(node, ast.IfExp) else [node]


def _makers() -> dict[str, int]:
    """Return what makes findings, and where its code stands: Finding, and what passes codes on."""
    makers = {"Finding": 0}
    for tree in TREES:
        for node in ast.walk(tree):
            if not isinstance(node, ast.FunctionDef):
                continue
            names = [argument.arg for argument in node.args.args if argument.arg != "self"]
            makes = (
                isinstance(n, ast.Call) and _called(n.func) == "Finding" for n in ast.walk(node)
            )
            if "code" in names and any(makes):
                makers[node.name] = names.index("code")
    return makers


def _findings() -> Iterator[tuple[str, str]]:
    """Yield every code the package can report, with a severity it can have."""
    makers = _makers()
    for tree in TREES:
        for call in (node for node in ast.walk(tree) if isinstance(node, ast.Call)):
            name = _called(call.func)
            code = _argument(call, "code", makers[name]) if name in makers else None
            if code is None or (isinstance(code, ast.Name) and code.id == "code"):
                continue
            given = _argument(call, "severity", 1 if name == "Finding" else 99)
            codes = _branches(code)
            kinds = ["error"] if given is None else [_called(k).lower() for k in _branches(given)]
            if len(codes) == len(kinds) == 2:
                pairs = list(zip(codes, kinds, strict=True))
            else:
                pairs = [(one, kind) for one in codes for kind in kinds]
            for one, kind in pairs:
                if isinstance(one, ast.Constant):
                    yield str(one.value), kind
                elif not _is_helper(name):
                    pytest.fail(f"line {call.lineno}: a code that is not written out: {name}")


def _is_helper(name: str) -> bool:
    """Say whether another function of the same name takes something else there."""
    return (
        name != "Finding"
        and sum(
            isinstance(node, ast.FunctionDef) and node.name == name
            for tree in TREES
            for node in ast.walk(tree)
        )
        > 1
    )


def _explained() -> dict[str, str]:
    page = (ROOT / "docs/findings.md").read_text("utf-8")
    parts = re.split(r"^### `([a-z-]+)`\n|^## .*\n", page, flags=re.MULTILINE)
    heads = [n for n in range(1, len(parts), 2) if parts[n]]
    codes = [parts[n] for n in heads]
    assert len(set(codes)) == len(codes), "a code is explained twice"
    return {parts[n]: parts[n + 1] for n in heads}


def test_every_finding_code_is_explained():
    used = {code for code, _ in _findings()}
    assert len(used) > 50, "the search for codes found too few"
    assert used == set(_explained())


def test_every_explanation_says_what_why_how_and_how_grave():
    kinds: dict[str, set[str]] = {}
    for code, kind in _findings():
        kinds.setdefault(code, set()).add(kind)
    for code, text in _explained().items():
        assert re.findall(r"^\*\*([A-Z][a-z ]+)\.\*\* \S", text, re.MULTILINE) == LABELS, code
        severity = text.split("**Severity.**")[1].split("\n\n")[0].lower()
        assert {kind for kind in Severity if kind in severity} == kinds[code], code


def _tables(record: type[Record], name: str = "") -> Iterator[tuple[str, set[str]]]:
    """Yield every table of a file with the keys it holds besides tables; "" is the file itself."""
    keys = set()
    for key, field in record.model_fields.items():
        options = (field.annotation, *get_args(field.annotation))
        inner = [o for o in options if isinstance(o, type) and issubclass(o, Record)]
        if inner:
            yield from _tables(inner[0], f"{name}.{key}".lstrip("."))
        else:
            keys.add(field.alias or key)
    yield name, keys


@pytest.mark.parametrize(("files", "head"), FILES)
def test_every_key_of_every_table_is_described(files, head):
    """Each table has a heading of its own, and below it a row for each of its keys and no other."""
    page = (ROOT / "docs/files.md").read_text("utf-8")
    part = page.split(f"\n## The {head} file\n")[1].split("\n## ")[0]
    blocks = re.split(r"^### (.+)\n", part, flags=re.MULTILINE)
    described = {
        heading.strip("`[]"): set(re.findall(r"^\| `([a-z_]+)` \|", text, re.MULTILINE))
        for heading, text in zip(blocks[1::2], blocks[2::2], strict=True)
    }
    tables = (table for file in files for table in _tables(file))
    wanted = {name or "At the top": keys for name, keys in tables if keys}
    assert described == wanted


def test_every_default_is_the_one_in_the_page():
    """The third column of a row is its key's default, as TOML writes it, or "required"."""
    page = (ROOT / "docs/files.md").read_text("utf-8")
    for files, head in FILES:
        part = page.split(f"\n## The {head} file\n")[1].split("\n## ")[0]
        blocks = re.split(r"^### (.+)\n", part, flags=re.MULTILINE)
        texts = {
            heading.strip("`[]"): text
            for heading, text in zip(blocks[1::2], blocks[2::2], strict=True)
        }
        for table, key, wanted in (row for file in files for row in _defaults(file)):
            text = texts[table or "At the top"]
            row = next(r for r in text.splitlines() if r.startswith(f"| `{key}` |"))
            assert row.split(" | ")[2].strip(" |`") == wanted, f"{table}.{key}"


def _defaults(record: type[Record], name: str = "") -> Iterator[tuple[str, str, str]]:
    for key, field in record.model_fields.items():
        options = (field.annotation, *get_args(field.annotation))
        inner = [o for o in options if isinstance(o, type) and issubclass(o, Record)]
        if inner:
            yield from _defaults(inner[0], f"{name}.{key}".lstrip("."))
            continue
        value = field.get_default(call_default_factory=True)
        if field.is_required():
            shown = "required"
        elif value is None:
            shown = "none"
        elif isinstance(value, bool):
            shown = str(value).lower()
        elif isinstance(value, str):
            shown = f'"{value}"'
        elif isinstance(value, tuple | dict):
            shown = json.dumps(value)
        else:
            shown = f"{value:g}"
        yield name, field.alias or key, shown
