"""Ten years of a busy shop: 2,000 cylinders, 50,000 fills, 60,000 commits.

Run with `pytest tests/benchmarks/test_history_scale.py --benchmark-enable`; it makes the repository
first, which takes some minutes. By default a small one is made and each body runs once, untimed.
Each figure stands beside a floor measured in the same run, the two taking turns.
"""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pytest
from pytest_benchmark.fixture import BenchmarkFixture
from repos import ALONE

from tankbook.ledger.files import OnDisk
from tankbook.ledger.gitfiles import files_at, head, objects_of
from tankbook.ledger.gitread import Repository
from tankbook.ledger.load import load_from
from tankbook.records.book import Book

SCRIPT = Path(__file__).parent / "busy_shop.py"
WHOLE = ("2000", "50000", "60000")
SMALL = ("20", "400", "500")

MOST_FLOORS = {"history": 3.0, "as-of": 3.0, "audit": 2.0, "since": 0.25}
"""How many times its floor each may take."""


@pytest.fixture(name="shop", scope="module")
def _shop(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The repository; TANKBOOK_BUSY_SHOP may name one made earlier by the script."""
    kept = os.environ.get("TANKBOOK_BUSY_SHOP")
    whole = request.config.getoption("benchmark_enable")
    if kept and whole:
        return Path(kept)
    folder = tmp_path_factory.mktemp("busy") / "shop"
    numbers = zip(("--cylinders", "--fills", "--commits"), WHOLE if whole else SMALL, strict=True)
    subprocess.run(
        [sys.executable, str(SCRIPT), str(folder), *(w for n in numbers for w in n)], check=True
    )
    return folder


def run(shop: Path, *line: str) -> str:
    done = subprocess.run(
        line, cwd=shop, env={**os.environ, **ALONE}, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout


def tankbook(shop: Path, *line: str) -> str:
    return run(shop, sys.executable, "-m", "tankbook", *line)


def compared(
    benchmark: BenchmarkFixture,
    what: str,
    floor: Callable[[], object],
    body: Callable[[], object],
    rounds: int,
) -> None:
    """Time a body and its floor in turn; hold the median of the one to that of the other.

    Other work on the machine then weighs on both alike.
    """
    floors: list[float] = []

    def measured_floor() -> None:
        begun = time.perf_counter()
        floor()
        floors.append(time.perf_counter() - begun)

    if benchmark.disabled:
        measured_floor()
        benchmark.pedantic(body, rounds=1)
        return
    benchmark.pedantic(body, setup=measured_floor, rounds=rounds)
    took, least = benchmark.stats.stats.median, statistics.median(floors)
    ratio = took / least
    benchmark.extra_info |= {"floor_seconds": least, "floors": ratio}
    print(f"\n{what}: {took:.2f} s, floor {least:.2f} s, {ratio:.2f} floors")
    assert ratio < MOST_FLOORS[what]


def test_a_life_takes_no_longer_than_git_takes_to_list_its_commits(
    benchmark: BenchmarkFixture, shop: Path
) -> None:
    """Floor: `git log -- FILE`, the file's commits in order."""
    said = tankbook(shop, "history", "RB-0014")
    assert said.startswith("RB-0014: no past entry found changed; ")
    compared(
        benchmark,
        "history",
        lambda: run(shop, "git", "log", "--", "cylinders/RB-0014.yaml"),
        lambda: tankbook(shop, "history", "RB-0014"),
        rounds=9,
    )


def test_a_commit_is_read_nearly_as_fast_as_the_disk(
    benchmark: BenchmarkFixture, shop: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Floor: the same loader over the same files in their folder."""
    for name, value in ALONE.items():
        monkeypatch.setenv(name, value)

    def as_of() -> Book:
        repository = Repository.of(shop)
        with objects_of(shop) as objects:
            return load_from(files_at(repository, objects, head(repository, objects)))

    def on_disk() -> Book:
        return load_from(OnDisk(shop))

    past, now = as_of(), on_disk()
    assert (len(past.cylinders), past.log) == (len(now.cylinders), now.log)
    compared(benchmark, "as-of", on_disk, as_of, rounds=5)


def test_an_audit_keeps_up_with_git_printing_the_differences(
    benchmark: BenchmarkFixture, shop: Path
) -> None:
    """Floor: a loop that reads `git log -p -U0` line by line and does nothing with it."""

    assert tankbook(shop, "audit").startswith("CLEAN: no sign of tampering; read ")
    compared(benchmark, "audit", lambda: bare(shop), lambda: tankbook(shop, "audit"), rounds=3)


def test_an_audit_after_a_checkpoint_reads_only_what_is_new(
    benchmark: BenchmarkFixture, shop: Path
) -> None:
    """Floor: as for the whole audit. The checkpoint is of the commit before the last twenty."""
    kept = run(shop, "git", "rev-parse", "HEAD").strip()
    run(shop, "git", "reset", "-q", "--hard", "HEAD~20")
    tankbook(shop, "audit", "--checkpoint", "--no-commit")
    point = (shop / "audited.yaml").read_bytes()
    run(shop, "git", "reset", "-q", "--hard", kept)
    (shop / "audited.yaml").write_bytes(point)
    try:
        assert "; read 20 commits, " in tankbook(shop, "audit").split("\n")[0]
        compared(benchmark, "since", lambda: bare(shop), lambda: tankbook(shop, "audit"), rounds=3)
    finally:
        (shop / "audited.yaml").unlink()


def bare(shop: Path) -> None:
    """Read the whole history as git prints it, and do nothing with it."""
    line = ["git", "--no-pager", "log", "-p", "-U0"]
    with subprocess.Popen(
        line, cwd=shop, stdout=subprocess.PIPE, env={**os.environ, **ALONE}
    ) as git:
        assert git.stdout is not None
        for _ in git.stdout:
            pass
