"""What was found, by module, and each change that no test noticed."""

from __future__ import annotations

import difflib
import re
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from pathlib import Path

from tabulate import tabulate

OUTCOMES = ("killed", "timeout", "equivalent", "survived", "no tests")


@dataclass(frozen=True, slots=True)
class Tried:
    """One change and what came of it."""

    file: Path
    line: int
    function: str
    diff: str
    outcome: str

    @property
    def key(self) -> tuple[str, str, str]:
        """What it is known by, wherever in the file it stands now."""
        return str(self.file), self.function, " ".join(self.diff.split())

    @property
    def unnoticed(self) -> bool:
        """Whether no test failed."""
        return self.outcome not in {"killed", "timeout"}

    def judged(self, outcome: str) -> Tried:
        """The same, called something else."""
        return replace(self, outcome=outcome)


def diff_of(before: str, after: str) -> str:
    """The lines taken out and put in, least indented first."""
    lines = difflib.unified_diff(before.splitlines(), after.splitlines(), n=0, lineterm="")
    kept = [line for line in lines if not line.startswith(("---", "+++", "@@"))]
    margin = min((len(k[1:]) - len(k[1:].lstrip()) for k in kept), default=0)
    return "\n".join(k[0] + k[1 + margin :] for k in kept)


def known(page: Path) -> dict[tuple[str, str, str], str]:
    """The changes that the page says make no difference, each with the reason."""
    text = page.read_text("utf-8") if page.exists() else ""
    entry = re.compile(
        r"^#### `([^`]+)`, `([^`]*)`\n+((?:```diff\n.*?\n```\n+)+)(.*?)(?=^#|\Z)", re.M | re.S
    )
    found = {}
    for file, function, diffs, why in entry.findall(text):
        for diff in re.findall(r"```diff\n(.*?)\n```", diffs, re.S):
            if why.strip():
                found[file, function, " ".join(diff.split())] = why.strip()
    return found


def table(tried: Iterable[Tried]) -> str:
    """How many of each, by module."""
    counts: dict[str, Counter[str]] = {}
    for each in tried:
        counts.setdefault(str(each.file), Counter())[each.outcome] += 1
    rows = [[name, *(c[o] for o in OUTCOMES), _share(c)] for name, c in sorted(counts.items())]
    total: Counter[str] = sum(counts.values(), Counter())
    rows.append(["all", *(total[o] for o in OUTCOMES), _share(total)])
    return str(tabulate(rows, headers=["module", *OUTCOMES, "noticed"], tablefmt="simple"))


def _share(count: Counter[str]) -> str:
    whole = count.total() - count["equivalent"]
    return f"{100 * (count['killed'] + count['timeout']) / whole:.1f} %" if whole else "-"


def survivors(tried: Iterable[Tried]) -> Iterator[str]:
    """Each change that went unnoticed, as `docs/mutants.md` writes it."""
    for each in sorted(tried, key=lambda t: (t.file, t.line)):
        place = f"{each.file}:{each.line}: {each.outcome}"
        yield f"{place}\n\n#### `{each.file}`, `{each.function}`\n\n```diff\n{each.diff}\n```\n"
