"""Several processes ask about four cylinders while another holds and releases all four, over and
over: no answer says of some that they are held and of others that they are not."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

import books
import pytest

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="select of a pipe")

ON = "2026-11-25"
IDS = ("RB-031", "RB-032", "RB-033", "RB-034")
LONGEST = 20
"""Seconds that one answer may take on a machine that has other things to do."""

WRITER = """
import io, select, sys, time
from contextlib import redirect_stdout
from tankbook.__main__ import main
root, ids = sys.argv[1], sys.argv[2:]
acts = 0
print("begun", flush=True)
while not select.select([sys.stdin], [], [], 0)[0]:
    for line in (["hold", *ids, "--why", "dent near the foot"],
                 ["release", *ids, "--why", "measured, within limits", "--all"]):
        with redirect_stdout(io.StringIO()):
            assert main(["--ledger", root, "--on", "2026-11-25", *line, "--by", "MV"]) == 0
        acts += 1
        time.sleep(0.02)
print(acts, flush=True)
"""

READER = """
import io, json, sys, time
from contextlib import redirect_stdout
from tankbook.__main__ import main
root, number, ids = sys.argv[1], int(sys.argv[2]), sys.argv[3:]
seen, asked, until = set(), 0, time.monotonic() + 60
# a writer that others starve may need a while before it is seen to change anything
while asked < number or (len(seen) < 2 and time.monotonic() < until):
    asked += 1
    out, began = io.StringIO(), time.monotonic()
    with redirect_stdout(out):
        code = main(["--ledger", root, "--on", "2026-11-25", "may-fill", *ids, "--json"])
    answers = [a for a in json.loads(out.getvalue()) if "id" in a]
    found = [sorted({r["code"] for r in a["reasons"]}) for a in answers]
    told = {"code": code, "seconds": time.monotonic() - began, "found": found,
            "fillable": [a["fillable"] for a in answers], "ids": [a["id"] for a in answers]}
    seen.add(any(told["fillable"]))
    print(json.dumps(told), flush=True)
"""


@pytest.fixture(name="busy")
def _busy() -> Iterator[Path]:
    """A ledger in memory where there is a disk of memory, so that many acts happen."""
    memory = Path("/dev/shm")
    with tempfile.TemporaryDirectory(dir=memory if os.access(memory, os.W_OK) else None) as folder:
        root = Path(folder) / "quay"
        (root / "cylinders").mkdir(parents=True)
        (root / "tankbook.yaml").write_text(books.SETTINGS + "ambient: 70 degF\n")
        for number, id_ in enumerate(IDS):
            text = books.stamped(books.GOOD.replace("K118204", f"K11820{number}"))
            (root / f"cylinders/{id_}.yaml").write_text(text)
        yield root


def test_no_answer_rests_on_half_an_act(
    busy: Path, request: pytest.FixtureRequest, record_property: object
) -> None:
    reads = request.config.getoption("reads", 40)
    readers = request.config.getoption("readers", 4)
    each = -(-reads // readers)
    told: list[dict[str, object]] = []
    python = [sys.executable, "-c"]
    with subprocess.Popen(
        [*python, WRITER, str(busy), *IDS], stdin=subprocess.PIPE, stdout=subprocess.PIPE
    ) as writer:
        assert writer.stdin
        assert writer.stdout
        assert writer.stdout.readline() == b"begun\n"
        asking = [
            subprocess.Popen([*python, READER, str(busy), str(each), *IDS], stdout=subprocess.PIPE)
            for _ in range(readers)
        ]
        for reader in asking:
            out, _ = reader.communicate()
            assert reader.returncode == 0
            told += map(json.loads, out.splitlines())
        writer.stdin.close()
        acts = int(writer.stdout.read())
    assert writer.returncode == 0
    assert len(told) >= each * readers
    assert all(one["ids"] == [*IDS] for one in told)
    pending = [one for one in told if any("pending" in codes for codes in one["found"])]  # type: ignore[attr-defined]
    assert not any(any(one["fillable"]) for one in pending)  # type: ignore[call-overload]
    states = [
        tuple(bool({"held", "standing-held"} & {*codes}) for codes in one["found"])  # type: ignore[attr-defined]
        for one in told
        if one not in pending
    ]
    half = [state for state in states if len(set(state)) != 1]
    total = {
        "answers": len(told),
        "processes": readers,
        "acts": acts,
        "held": sum(state[0] for state in states),
        "pending": len(pending),
        "half states": len(half),
    }
    record_property("reads", total)  # type: ignore[operator]
    assert not half, total
    assert {state[0] for state in states} == {True, False}, "nothing was ever seen to change"
    assert acts >= 2
    assert len(pending) < len(told) / 4, total
    assert max(float(one["seconds"]) for one in told) < LONGEST  # type: ignore[arg-type]
