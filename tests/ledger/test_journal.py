"""Acts over several files: all or nothing, whoever dies and whoever interferes."""

import json
import multiprocessing
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from tankbook.ledger import atomic
from tankbook.ledger.csvlog import addition, read_rows
from tankbook.ledger.errors import LedgerError
from tankbook.ledger.journal import Transaction, acting, settle
from tankbook.ledger.names import JOURNAL
from tankbook.ledger.steps import digest

ONE, TWO, NEW, LOG = "cylinders/A.yaml", "cylinders/B.yaml", "cylinders/C.yaml", "fills/2026.csv"
BEFORE = {
    ONE: b"status: in-service\n",
    TWO: b"status: held\n",
    LOG: b"at,cylinder\n2026-01-01,A\n",
}
AFTER = {
    ONE: b"status: out\n",
    TWO: b"status: out\n",
    NEW: b"status: held\n",
    LOG: BEFORE[LOG] + b"2026-01-02,A\n2026-01-02,B\n",
}


def put(root: Path, files: dict[str, bytes]) -> None:
    for path in (ONE, TWO, NEW, LOG):
        (root / path).parent.mkdir(exist_ok=True)
        (root / path).unlink(missing_ok=True)
    for path, data in files.items():
        (root / path).write_bytes(data)


def content(root: Path) -> dict[str, bytes]:
    return {
        path: (root / path).read_bytes() for path in (ONE, TWO, NEW, LOG) if (root / path).exists()
    }


def stage(act: Transaction) -> None:
    for path in (ONE, TWO):
        act.write(path, AFTER[path], digest(BEFORE[path]))
    act.write(NEW, AFTER[NEW], None)
    act.append(LOG, AFTER[LOG].removeprefix(BEFORE[LOG]), digest(BEFORE[LOG]))


def whole_act(root: Path) -> None:
    with acting(root) as act:
        stage(act)
        act.commit()


@pytest.fixture(name="ledger")
def _ledger(root: Path) -> Path:
    put(root, BEFORE)
    return root


def test_an_act_changes_all_its_files(ledger: Path) -> None:
    whole_act(ledger)
    assert content(ledger) == AFTER
    assert not (ledger / JOURNAL).exists()


def test_what_is_not_committed_is_not_written(ledger: Path) -> None:
    with acting(ledger) as act:
        stage(act)
    assert content(ledger) == BEFORE


def test_reading_within_an_act(ledger: Path) -> None:
    with acting(ledger) as act:
        assert act.read(ONE) == BEFORE[ONE]
        assert act.read(NEW) is None


def test_a_log_is_begun_by_adding_to_it(ledger: Path) -> None:
    with acting(ledger) as act:
        act.append("fills/2027.csv", b"at,cylinder\n", None)
        act.commit()
    assert (ledger / "fills/2027.csv").read_bytes() == b"at,cylinder\n"


def _as_it_stands(path: Path) -> tuple[int, ...]:
    found = path.stat()  # not when it was last read
    return found.st_ino, found.st_size, found.st_mode, found.st_mtime_ns, found.st_ctime_ns


def test_an_act_that_changes_nothing_writes_nothing(ledger: Path) -> None:
    before = _as_it_stands(ledger / ONE)
    with acting(ledger) as act:
        act.write(ONE, BEFORE[ONE], digest(BEFORE[ONE]))
        act.append(LOG, b"", digest(BEFORE[LOG]))
        act.commit()
    assert _as_it_stands(ledger / ONE) == before


def test_one_file_goes_through_the_journal_as_well(
    ledger: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Replaced, it is whole by itself; but an act that nobody was told of must be known again."""

    def die(*_: object) -> None:
        raise KeyboardInterrupt

    with monkeypatch.context() as patch, acting(ledger) as act:
        patch.setattr("tankbook.ledger.journal.carry_out", die)
        act.write(ONE, AFTER[ONE], digest(BEFORE[ONE]))
        with pytest.raises(KeyboardInterrupt):
            act.commit()
    assert (ledger / ONE).read_bytes() == BEFORE[ONE]
    settle(ledger)
    assert (ledger / ONE).read_bytes() == AFTER[ONE]


@pytest.mark.parametrize(
    ("path", "data", "text"),
    [
        (ONE, b"edited\n", "the file was changed since it was read"),
        (LOG, b"edited\n", "the file was changed since it was read"),
        (TWO, None, "the file has gone since it was read"),
        (NEW, b"made\n", "there is such a file already"),
        ("cylinders/c.YAML", b"made\n", "the name differs only in capitals from c.YAML"),
    ],
)
def test_a_change_by_hand_is_noticed(
    ledger: Path, path: str, data: bytes | None, text: str
) -> None:
    with acting(ledger) as act:
        stage(act)
        if data is None:
            (ledger / path).unlink()
        else:
            (ledger / path).write_bytes(data)
        by_hand = content(ledger)
        with pytest.raises(LedgerError, match=text):
            act.commit()
    assert content(ledger) == by_hand
    assert not (ledger / JOURNAL).exists()


@pytest.mark.parametrize("path", ["../x", ".git/config", JOURNAL, "/etc/passwd"])
def test_paths_outside_are_refused(ledger: Path, path: str) -> None:
    with acting(ledger) as act, pytest.raises(LedgerError):
        act.write(path, b"", None)


def test_a_file_is_staged_once_and_by_no_other_name(ledger: Path) -> None:
    (ledger / "cylinders/L.yaml").symlink_to("A.yaml")
    with acting(ledger) as act:
        act.write(ONE, b"", None)
        with pytest.raises(ValueError, match="staged twice"):
            act.write(ONE, b"", None)
        with pytest.raises(LedgerError, match="it is a symbolic link"):
            act.write("cylinders/L.yaml", b"", None)


def test_nothing_is_committed_without_the_lock(ledger: Path) -> None:
    with acting(ledger) as act:
        stage(act)
    with pytest.raises(RuntimeError):
        act.commit()
    assert content(ledger) == BEFORE


def test_a_killed_act_is_done_wholly_or_not_at_all(
    ledger: Path, killed_at_each_call: Callable[[Callable[[], Any]], Iterator[None]]
) -> None:
    outcomes = []
    for _ in killed_at_each_call(lambda: whole_act(ledger)):
        finished = settle(ledger)
        assert content(ledger) in (BEFORE, AFTER)
        assert not finished or content(ledger) == AFTER
        outcomes.append(content(ledger) == AFTER)
        with acting(ledger):
            pass
        assert {each.name for each in (ledger / "cylinders").iterdir()} <= {
            "A.yaml",
            "B.yaml",
            "C.yaml",
        }
        put(ledger, BEFORE)
    assert len(outcomes) > 60
    assert {True, False} == set(outcomes)


@pytest.fixture(name="interrupted")
def _interrupted(ledger: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A ledger with an act in its journal, none of it carried out."""

    def interrupt(*_: object) -> None:
        raise KeyboardInterrupt

    with monkeypatch.context() as patch:
        patch.setattr("tankbook.ledger.journal.carry_out", interrupt)
        with pytest.raises(KeyboardInterrupt):
            whole_act(ledger)
    assert content(ledger) == BEFORE
    return ledger


def test_the_next_to_read_finishes_an_interrupted_act(interrupted: Path) -> None:
    done = settle(interrupted)
    assert done is not None
    assert done.files == (ONE, TWO, NEW, LOG)
    assert content(interrupted) == AFTER
    assert settle(interrupted) is None


def test_the_next_to_write_finishes_an_interrupted_act(interrupted: Path) -> None:
    with acting(interrupted) as act:
        assert act.read(ONE) == AFTER[ONE]
    assert content(interrupted) == AFTER


@pytest.mark.parametrize(
    "done",
    [
        {},
        {ONE: AFTER[ONE]},
        {LOG: AFTER[LOG]},
        {LOG: AFTER[LOG][:-5]},
        {LOG: AFTER[LOG] + b"2026-01-03,A\n"},
        {ONE: AFTER[ONE], NEW: AFTER[NEW], LOG: AFTER[LOG]},
        AFTER,
    ],
)
def test_what_is_done_already_is_not_done_again(interrupted: Path, done: dict[str, bytes]) -> None:
    put(interrupted, BEFORE | done)
    settle(interrupted)
    assert content(interrupted) == AFTER | (done if len(done.get(LOG, b"")) > 50 else {})


@pytest.mark.parametrize(
    ("path", "data"),
    [
        (ONE, b"edited\n"),
        (TWO, None),
        (NEW, b"edited\n"),
        (LOG, BEFORE[LOG] + b"2026-01-03,A\n"),
        (LOG, BEFORE[LOG][:-1]),
        (LOG, b"x" + BEFORE[LOG][1:]),
        (LOG, None),
    ],
)
def test_a_change_by_hand_after_the_interruption_is_not_overwritten(
    interrupted: Path, path: str, data: bytes | None
) -> None:
    put(interrupted, {k: v for k, v in (BEFORE | {path: data}).items() if v is not None})
    by_hand = content(interrupted)
    for attempt in (lambda: settle(interrupted), lambda: acting(interrupted).__enter__()):
        with pytest.raises(LedgerError) as refusal:
            attempt()
        assert refusal.value.path == path
        said = "was changed by hand before an interrupted act" if data is not None else "is gone"
        assert f"this file {said}" in refusal.value.text
    assert content(interrupted) == by_hand
    assert (interrupted / JOURNAL).exists()


def test_a_recovery_may_be_killed_as_well(
    interrupted: Path, killed_at_each_call: Callable[[Callable[[], Any]], Iterator[None]]
) -> None:
    journal = (interrupted / JOURNAL).read_bytes()
    for _ in killed_at_each_call(lambda: settle(interrupted)):
        settle(interrupted)
        assert content(interrupted) == AFTER
        put(interrupted, BEFORE)
        (interrupted / JOURNAL).write_bytes(journal)


NOTE = {
    "verb": "hold",
    "subjects": ["A"],
    "sentence": "Held A",
    "by": "MV",
    "at": "2026-11-25T09:31:00+01:00",
    "edits": [],
    "commit": False,
}


def damaged(journal: bytes) -> Iterator[bytes]:
    body = json.loads(journal.partition(b"\n")[2])
    for change in (
        {"form": 3},
        {"act": 7},
        {"act": {"verb": "hold", "subjects": [], "sentence": "x", "by": "MV"}},
        {"act": NOTE | {"at": "2026-11-25T09:31:00"}},
        {"act": NOTE | {"sentence": "\x1b[2J"}},
        {"act": NOTE | {"edits": [1]}},
        {"steps": [{"path": "../outside", "old": None, "length": None, "content": "eA=="}]},
        {"steps": [{"path": ".git/config", "old": None, "length": None, "content": "eA=="}]},
        {"steps": [{"path": ONE, "old": None, "length": None, "content": "*"}]},
        {"steps": [{"path": ONE, "old": None, "length": -1, "content": "eA=="}]},
        {"steps": [{"path": ONE, "old": None, "length": 3, "content": None}]},
        {"steps": [{"path": 1, "old": None, "length": None, "content": "eA=="}]},
        {"steps": [{"path": ONE}]},
        {"steps": 7},
    ):
        changed = json.dumps(body | change).encode()
        yield digest(changed).encode() + b"\n" + changed
    yield digest(b"[" * 100_000).encode() + b"\n" + b"[" * 100_000
    yield digest(b"\xff").encode() + b"\n\xff"
    yield b""
    yield b"\0" * len(journal)
    yield journal[:-10]
    yield journal.replace(b"content", b"kontent")


def test_a_damaged_journal_is_told_and_kept(interrupted: Path) -> None:
    journal = (interrupted / JOURNAL).read_bytes()
    for bad in damaged(journal):
        (interrupted / JOURNAL).write_bytes(bad)
        with pytest.raises(LedgerError):
            settle(interrupted)
        assert (interrupted / JOURNAL).read_bytes() == bad
        assert content(interrupted) == BEFORE


def test_a_full_disk_leaves_nothing_or_a_promise(ledger: Path, failing_disk: Any) -> None:
    promises = []
    for number in range(1, 100):
        told = ""
        with acting(ledger) as act, failing_disk(number) as disk:
            stage(act)
            try:
                act.commit()
            except LedgerError as error:
                told = str(error)
        promised = "the act is in the journal and not finished" in told
        promises.append(promised)
        assert told or disk.cut_off in ("", "mkdir", "close")
        assert promised or content(ledger) == (BEFORE if told else AFTER)
        settle(ledger)
        assert content(ledger) == (AFTER if promised or not told else BEFORE)
        put(ledger, BEFORE)
        if not disk.cut_off:
            break
    assert not promises[0]
    assert sum(promises) > 20


def add_lines(root: Path, name: str, count: int) -> None:
    for number in range(count):
        with acting(root, patience=60) as act:
            current = act.read(LOG)
            line = addition(current, [(str(number), name)], LOG, ("at", "cylinder"))
            act.append(LOG, line, None if current is None else digest(current))
            act.commit()


def test_two_processes_add_to_one_log(root: Path) -> None:
    fork = multiprocessing.get_context("fork")
    writers = [fork.Process(target=add_lines, args=(root, name, 500)) for name in ("A", "B")]
    for each in writers:
        each.start()
    for each in writers:
        each.join()
        assert each.exitcode == 0
    rows, findings = read_rows((root / LOG).read_text(), LOG, ("at", "cylinder"))
    assert findings == []
    for name in ("A", "B"):
        assert [r.cells[0] for r in rows if r.cells[1] == name] == [str(n) for n in range(500)]


def test_what_a_dead_process_had_done_is_settled_before_the_journal_goes(
    interrupted: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It may have died between a write and its sync: done in memory, and not on the disk."""
    order: list[str] = []
    for name in ("settle", "write_atomic", "append"):
        real = getattr(atomic, name)
        monkeypatch.setattr(
            atomic,
            name,
            lambda root, path, *r, _=(name, real): (order.append(path), _[1](root, path, *r)),
        )
    monkeypatch.setattr(
        atomic, "sync_folder", lambda f: order.append(f"{f.relative_to(interrupted)}/")
    )
    assert settle(interrupted)
    assert order[:2] == ["./", ".tankbook/"]
    assert set(order) >= {ONE, TWO, NEW, LOG}
    assert order[-1] == ".tankbook/"
