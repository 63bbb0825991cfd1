"""Laying ledgers out on disk and asking the program about them."""

from __future__ import annotations

import contextlib
import io
import json
import shutil
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from quay import ON
from repos import Repo

from tankbook.__main__ import main
from tankbook.cli import loud, option_values
from tankbook.cli.answer import RequestError
from tankbook.ledger.errors import LedgerError
from tankbook.ledger.load import load, resolve
from tankbook.records.rulerow import Gate
from tankbook.rules.gate import may_fill
from tankbook.units import GaugePressure

Data = Mapping[str, bytes]


@dataclass(frozen=True, slots=True)
class Said:
    """An answer: whether it is YES, and then the codes of what it warns of."""

    yes: bool
    warned: frozenset[str] = frozenset()


NO = Said(False)


@dataclass(frozen=True, slots=True)
class Ran:
    """What a command line did."""

    code: int
    out: str
    err: str

    @property
    def answers(self) -> list[dict[str, Any]]:
        """The answers, without what is told beside them of files at fault."""
        try:
            return [each for each in json.loads(self.out) if "fillable" in each]
        except ValueError:
            return []

    @property
    def yes(self) -> bool:
        """Whether it was answered with YES."""
        return (
            self.code == 0 and bool(self.answers) and all(each["fillable"] for each in self.answers)
        )

    @property
    def warned(self) -> frozenset[str]:
        """The codes of what it warns of."""
        return frozenset(self.warnings)

    @property
    def warnings(self) -> dict[str, str]:
        """What it warns of, by code."""
        reasons = [r for each in self.answers for r in each["reasons"] if r["gate"] == "warn"]
        return {r["code"]: f"{r['code']}: {r['text']}" for r in reasons}

    @property
    def said(self) -> Said:
        return Said(self.yes, self.warned if self.yes else frozenset())

    @property
    def why(self) -> str:
        """Every refusal, and what went to standard error."""
        reasons = [r for each in self.answers for r in each["reasons"] if r["gate"] == "refuse"]
        return "\n".join([*(f"{r['code']}: {r['text']}" for r in reasons), self.err.strip()])


def run(*arguments: str) -> Ran:
    """Run a command line of the program in this process."""
    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        code = main(list(arguments))
    return Ran(code, out.getvalue(), err.getvalue())


def encoded(ledger: Mapping[str, str]) -> dict[str, bytes]:
    return {path: text.encode() for path, text in ledger.items()}


class Bench:
    """A folder that holds one ledger after the other; only what differs is written."""

    def __init__(self, root: Path) -> None:
        self.root = root
        self.lies: dict[str, bytes] = {}
        root.mkdir(parents=True, exist_ok=True)

    def commit(self, past: Sequence[Data]) -> None:
        """Put each of these ledgers into git, one after the other."""
        for number, ledger in enumerate(past, 1):
            repo = Repo(self.root) if number > 1 else Repo.begin(self.root)
            self.lay(ledger)
            repo.git("add", "-A")
            repo.git(
                "commit",
                "-q",
                "--allow-empty",
                "-m",
                f"State {number}",
                at=f"2026-11-2{number}T18:00:00-05:00",
            )

    def lay(self, ledger: Data) -> None:
        """Make the folder hold just this ledger (and the repository it may be in)."""
        for path in [p for p in self.lies if p not in ledger]:
            (self.root / path).unlink()
            del self.lies[path]
            folder = (self.root / path).parent
            if folder != self.root and not any(folder.iterdir()):
                folder.rmdir()
        for path, data in ledger.items():
            if self.lies.get(path) != data:
                (self.root / path).parent.mkdir(parents=True, exist_ok=True)
                (self.root / path).write_bytes(data)
                self.lies[path] = data

    def asked(self, cylinder: str, gas: str, upto: str) -> Ran:
        """`may-fill` as a person asks it."""
        pressure = ("--fill-pressure", upto.replace(" ", "")) if upto else ()
        return run(
            "may-fill",
            cylinder,
            "--gas",
            gas,
            *pressure,
            "--ledger",
            str(self.root),
            "--on",
            str(ON),
            "--json",
        )

    def quick(self, cylinder: str, gas: str, upto: str) -> Said:
        """The same question past the command line, for the many."""
        try:
            book = load(self.root, today=ON, clock=ON)
            if loud.unread(book.findings) or loud.missing(book, ON):
                return NO  # told on standard error, and the exit code is no YES
            pressure = GaugePressure.parse(upto) if upto else None
            wanted, id_ = option_values.gas("--gas", gas), resolve(book, cylinder)
            answer = may_fill(book, id_, ON, wanted, fill_pressure=pressure)
        except (LedgerError, RequestError):
            return NO
        codes = (r.code for r in answer.reasons if r.gate is Gate.WARN)
        return Said(True, frozenset(codes)) if answer.fillable else NO

    def clear(self) -> None:
        shutil.rmtree(self.root, ignore_errors=True)
