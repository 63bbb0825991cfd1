"""A run: a copy of the tree, what was seen in it, and what came of each change so far."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

import cosmic_ray.plugins
from choose import Seen
from cosmic_ray.commands.init import init
from cosmic_ray.mutating import mutate_code
from cosmic_ray.work_db import WorkDB
from cosmic_ray.work_item import MutationSpec, WorkerOutcome, WorkItem, WorkResult
from operators import Provider
from targets import LEFT_OUT

HERE = Path(__file__).resolve().parent
SKIPPED = WorkResult(worker_outcome=WorkerOutcome.SKIPPED)

cosmic_ray.plugins.OPERATOR_PROVIDERS.clear()
cosmic_ray.plugins.OPERATOR_PROVIDERS["tankbook"] = Provider()


@dataclass(frozen=True)
class Session:
    """Everything is kept in one folder, so that a run that was stopped can go on."""

    scratch: Path

    @property
    def tree(self) -> Path:
        """The copy of the tree: what is edited meanwhile does not matter."""
        return self.scratch / "tree"

    @cached_property
    def seen(self) -> Seen:
        """Which test runs which line."""
        told = json.loads((self.scratch / "seen.json").read_text("utf-8"))
        return Seen(self.tree, told["lines"], told["took"])

    @property
    def loaded(self) -> list[str]:
        """The modules from elsewhere that the tests loaded."""
        return list(json.loads((self.scratch / "seen.json").read_text("utf-8"))["loaded"])

    def begin(self, root: Path, tests: Sequence[str]) -> None:
        """Copy the tree and watch its tests once, unless that was done."""
        os.environ["MUTANTS_SCRATCH"] = str(self.scratch)
        if not self.tree.exists():
            self.scratch.mkdir(parents=True, exist_ok=True)
            _copy(root, self.tree)
        if not (self.scratch / "seen.json").exists():
            self._watch(tests)

    def _watch(self, tests: Sequence[str]) -> None:
        print("watching which test runs which line ...")
        chosen = [t for t in tests if (self.tree / t).exists()]
        spared = [f"--ignore={t}" for t in LEFT_OUT]
        plugins = ["-p", "watch", "-p", "quiet", "-p", "no:cacheprovider"]
        done = subprocess.run(
            [sys.executable, "-m", "pytest", *plugins, *spared, *chosen],
            cwd=self.tree,
            env={**os.environ, "PYTHONPATH": f"{self.tree}{os.pathsep}{HERE}"},
            capture_output=True,
            text=True,
            check=False,
        )
        if done.returncode:
            (self.scratch / "seen.json").unlink(missing_ok=True)
            said = f"{done.stdout[-3000:]}{done.stderr[-2000:]}"
            raise SystemExit(f"the tests fail before anything is changed:\n{said}")


def _copy(root: Path, tree: Path) -> None:
    """What git tracks or would track; the name is given when it is whole."""
    listed = subprocess.run(
        ["git", "-C", str(root), "ls-files", "-z", "--cached", "--others", "--exclude-standard"],
        check=True,
        capture_output=True,
        text=True,
    ).stdout.split("\0")
    part = tree.with_name("part")
    shutil.rmtree(part, ignore_errors=True)
    for name in filter(None, listed):
        if (root / name).is_file():
            (part / name).parent.mkdir(parents=True, exist_ok=True)
            shutil.copy2(root / name, part / name)
    part.rename(tree)


class Changes:
    """The changes of one module, their texts, and what came of them."""

    def __init__(self, session: Session, module: str, file: Path, every: int = 1) -> None:
        self.module, self.file, self._path = module, file, session.tree / file
        self._every = every
        self.source = self._path.read_text("utf-8")
        self.db = WorkDB(session.scratch / f"{module}.sqlite", WorkDB.Mode.create)
        self._kept = session.scratch / f"{module}.json"
        if not self._kept.exists():
            self._list()
        self.texts: dict[str, str] = json.loads(self._kept.read_text("utf-8"))

    def _list(self) -> None:
        """Write every change out; one that reads like another or does not compile is left out."""
        init([self._path], self.db, {})
        texts: dict[str, str] = {}
        already = {self.source}
        for item in self.db.pending_work_items:
            text = _changed(self.source, item.mutations[0])
            new = text not in already and _compiles(text)
            already.add(text)
            if new and len(already) % self._every == 0:
                texts[item.job_id] = text
            else:
                self.db.set_result(item.job_id, SKIPPED)
        self._kept.write_text(json.dumps(texts), "utf-8")

    @property
    def pending(self) -> list[WorkItem]:
        """What was not tried yet."""
        return [item for item in self.db.pending_work_items if item.job_id in self.texts]

    def told(self) -> Iterator[tuple[WorkItem, WorkResult]]:
        """What was tried, with what came of it."""
        results = dict(self.db.results)
        for item in self.db.work_items:
            if item.job_id in self.texts and item.job_id in results:
                yield item, results[item.job_id]


def _changed(source: str, each: MutationSpec) -> str:
    operator = cosmic_ray.plugins.get_operator(each.operator_name)()
    return str(mutate_code(source, operator, each.occurrence) or source)


def _compiles(text: str) -> bool:
    try:
        compile(text, "changed", "exec", dont_inherit=True)
    except SyntaxError:
        return False
    return True
