"""Recording an act: exact text out, all or nothing, and never a record that cannot be read back."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path

import books
import pytest

from tankbook.ledger.apply import Recorded, apply, record
from tankbook.ledger.errors import LedgerError
from tankbook.ledger.journal import acting
from tankbook.ledger.load import load
from tankbook.ledger.receipts import acknowledge
from tankbook.records.book import Book
from tankbook.records.edits import Act, AddEntry, AddLine, Edit, NewFile, Refusal, SetValue
from tankbook.records.log import LogLine, columns

ONE, TWO, LOG = "cylinders/RB-014.yaml", "cylinders/RB-015.yaml", "fills/2026.csv"
HEADER = ",".join(columns(LogLine)) + "\n"
LINE = "2026-11-20T09:30:00+01:00,RB-014,fill,500 psi,3000 psi,64 degF,air,,,MV,,B1,,,,\n"
AT = "2026-11-25T10:00:00+01:00"
HELD = AddEntry(ONE, ("held",), {"on": "2026-11-25", "by": "MV", "why": "dent"})
STATUS = SetValue(ONE, ("status",), "held")
READING = AddLine({"at": AT, "cylinder": "RB-014", "act": "reading", "to": "2900 psi"})


def act(*edits: Edit) -> Act:
    return Act("hold", ("RB-014",), "Held RB-014: dent", edits)


def content(root: Path) -> dict[str, bytes]:
    """Every file of a ledger but those of the lock."""
    files = (p for p in root.rglob("*") if p.is_file() and ".tankbook" not in p.parts)
    return {p.relative_to(root).as_posix(): p.read_bytes() for p in files}


@pytest.fixture(name="ledger")
def _ledger(tmp_path: Path) -> Path:
    root = tmp_path / "quay"
    two = books.GOOD.replace("K118204", "K118205")
    texts = {"tankbook.yaml": books.SETTINGS, ONE: books.GOOD, TWO: two, LOG: HEADER + LINE}
    for path, text in texts.items():
        (root / path).parent.mkdir(parents=True, exist_ok=True)
        (root / path).write_text(text, encoding="utf-8")
    return root


def test_an_act_changes_its_lines_and_no_other(ledger: Path) -> None:
    (ledger / ONE).write_bytes(
        b"# RB-014\r\nserial:   'K118204'   # read twice\r\nstatus: in-service  # rack 2\r\n"
        b"held: [ {on: 2026-03-01, why: dent, released: 2026-03-02} ]\r\n"
    )
    got = apply(ledger, act(HELD, STATUS))
    assert (ledger / ONE).read_bytes() == (
        b"# RB-014\r\nserial:   'K118204'   # read twice\r\nstatus: held  # rack 2\r\n"
        b"held: [ {on: 2026-03-01, why: dent, released: 2026-03-02}, "
        b"{on: 2026-11-25, by: MV, why: dent} ]\r\n"
    )
    assert got.files == (ONE,)
    assert got.commit is None
    assert got.diff.splitlines()[:2] == [f"--- {ONE}", f"+++ {ONE}"]
    assert {"-status: in-service  # rack 2", "+status: held  # rack 2"} <= {*got.diff.splitlines()}


def test_a_log_is_added_to_and_only_the_new_line_is_shown(ledger: Path) -> None:
    got = apply(ledger, act(READING))
    line = f"{AT},RB-014,reading,,2900 psi,,,,,,,,,,,\n"
    assert (ledger / LOG).read_text() == HEADER + LINE + line
    assert got.diff == f"--- {LOG}\n+++ {LOG}\n@@ -3,0 +3,1 @@\n+{line}"


def test_a_line_goes_into_the_log_of_its_year(ledger: Path) -> None:
    new_year = AddLine({**READING.cells, "at": "2027-01-01T10:00:00+01:00"})
    got = apply(ledger, act(READING, new_year))
    assert got.files == (LOG, "fills/2027.csv")
    assert (ledger / "fills/2027.csv").read_text().startswith(HEADER + "2027-01-01T10")
    assert len(load(ledger).log) == 3


def test_several_files_at_once_and_the_ledger_reads_back(ledger: Path) -> None:
    made = NewFile("cylinders/RB-016.yaml", books.GOOD.replace("K118204", "K118206"))
    got = apply(ledger, act(HELD, STATUS, made, READING))
    assert got.files == (ONE, "cylinders/RB-016.yaml", LOG)
    book = load(ledger)
    assert not book.findings
    assert [h.why for h in book.cylinders["RB-014"].held] == ["dent"]
    assert "RB-016" in book.cylinders
    assert len(book.log) == 2


REFUSED: dict[str, tuple[Edit, str]] = {
    "a file that is there": (NewFile(TWO, books.GOOD), "there is such a file already"),
    "a file that is not": (SetValue("cylinders/RB-099.yaml", ("status",), "held"), "no such file"),
    "a value nobody could read": (SetValue(TWO, ("status",), "flying"), "`flying` is not a known"),
    "a nothing word": (SetValue(TWO, ("note",), "null"), "is text here, not a missing value"),
    "a key that is none": (SetValue(TWO, ("colour",), "blue"), "`colour` is not a key"),
    "an entry without its reason": (AddEntry(TWO, ("held",), {"on": "2026-11-25"}), "why is missing"),
    "an entry that is not there": (SetValue(TWO, ("held", 3, "released"), "2026-11-25"), "held"),
    "a new file at fault": (NewFile("cylinders/X-1.yaml", "maker: Example\n"), "serial is missing"),
    "a path out of the ledger": (NewFile("../X-1.yaml", books.GOOD), "not a path inside"),
    "a name no file may have": (NewFile("cylinders/CON.yaml", books.GOOD), "cannot be a record"),
    "a folder of no records": (NewFile("pictures/X-1.yaml", books.GOOD), "cannot be a record"),
    "a line at fault": (AddLine({**READING.cells, "to": "2900"}), "carries its unit"),
    "a line without its time": (AddLine({"cylinder": "RB-014", "act": "fill"}), "`at` is empty"),
    "a line of two lines": (AddLine({**READING.cells, "note": "a\nb"}), "holds a line end"),
}  # fmt: skip


@pytest.mark.parametrize("name", REFUSED)
def test_nothing_is_written_when_anything_is_refused(name: str, ledger: Path) -> None:
    edit, text = REFUSED[name]
    before = content(ledger)
    with pytest.raises(LedgerError) as refused:
        apply(ledger, act(HELD, STATUS, edit))
    assert text in str(refused.value)
    assert content(ledger) == before
    with pytest.raises(LedgerError):
        apply(ledger, act(HELD, STATUS, edit), dry_run=True)


def test_a_column_that_does_not_exist_is_a_fault_of_ours(ledger: Path) -> None:
    with pytest.raises(ValueError, match="no such columns: colour"):
        apply(ledger, act(AddLine({**READING.cells, "colour": "blue"})))


BROKEN = {
    "a file already at fault": (ONE, "serial: K1\nstatus: [\n", f"{ONE}:3:1"),
    "a file with a key nobody knows": (ONE, "serial: K1\nstatos: held\n", f"{ONE}:2:1"),
    "a file in conflict": (ONE, "serial: K1\n<<<<<<< ours\nstatus: held\n", f"{ONE}:2:1"),
    "a log in conflict": (LOG, HEADER + "<<<<<<< ours\n" + LINE, f"{LOG}:2:1"),
    "a torn log": (LOG, HEADER + LINE + "2026-11-20T09:3", f"{LOG}:3:1"),
    "a log of other columns": (LOG, "at,cylinder\n", f"{LOG}:1:1"),
}


@pytest.mark.parametrize("name", BROKEN)
def test_a_file_at_fault_is_left_as_it_is(name: str, ledger: Path) -> None:
    path, text, where = BROKEN[name]
    (ledger / path).write_text(text)
    before = content(ledger)
    with pytest.raises(LedgerError) as refused:
        apply(ledger, act(HELD, READING))
    assert str(refused.value).startswith(where)
    assert content(ledger) == before


def test_a_hand_saved_log_without_its_last_line_end_is_added_to(ledger: Path) -> None:
    (ledger / LOG).write_text(HEADER + LINE.rstrip("\n"))
    apply(ledger, act(READING))
    assert len(load(ledger).log) == 2
    assert (ledger / LOG).read_text().startswith(HEADER + LINE + AT)


def test_a_dry_run_touches_nothing_and_says_the_same(ledger: Path, tmp_path: Path) -> None:
    copy = tmp_path / "copy"
    shutil.copytree(ledger, copy)
    dry = apply(ledger, act(HELD, STATUS, READING), dry_run=True)
    assert not (ledger / ".tankbook").exists()
    assert content(ledger) == content(copy)
    assert dry.dry_run
    real = apply(copy, act(HELD, STATUS, READING))
    assert (dry.files, dry.diff) == (real.files, real.diff)
    assert apply(ledger, act(HELD, STATUS, READING), dry_run=True).diff == real.diff


def test_an_act_that_changes_nothing_touches_no_file(ledger: Path) -> None:
    got = apply(ledger, act(SetValue(ONE, ("status",), "in-service")))
    assert (got.files, got.diff) == ((), "")


def hold_again(book: Book) -> Act | Refusal:
    if book.cylinders["RB-014"].held:
        return Refusal("nothing was recorded", ("it is held",))
    return act(HELD, STATUS)


def test_an_act_is_planned_on_the_ledger_as_it_stands(ledger: Path) -> None:
    assert isinstance(record(ledger, hold_again, dry_run=True), Recorded)
    done = record(ledger, hold_again)
    assert isinstance(done, Recorded)
    before = content(ledger)
    again = record(ledger, hold_again)  # nobody was told yet, so that it is the same act
    assert isinstance(again, Recorded)
    assert again.already.startswith("Held RB-014: dent (")
    assert content(ledger) == before
    acknowledge(ledger, done.receipt)
    assert record(ledger, hold_again) == Refusal("nothing was recorded", ("it is held",))
    assert record(ledger, hold_again, dry_run=True) == record(ledger, hold_again)
    assert content(ledger) == before


def test_nobody_else_writes_between_reading_and_writing(ledger: Path) -> None:
    def plan(book: Book) -> Act:
        with pytest.raises(LedgerError, match="being written"), acting(ledger, patience=0):
            pass
        return act(HELD)

    record(ledger, plan)
    with acting(ledger, patience=0):
        pass


Write = Callable[[dict[str, str]], Path]


def test_the_settings_say_whether_to_commit(ledger: Path) -> None:
    """Outside a repository the act is recorded all the same."""
    settings = ledger / "tankbook.yaml"
    settings.write_text(settings.read_text() + "commit: yes\n")
    got = record(ledger, hold_again)
    assert isinstance(got, Recorded)
    assert got.why_not_committed == "the ledger is not in a git repository"
    assert load(ledger).cylinders["RB-014"].held
    (ledger / ONE).write_text(books.GOOD)
    quiet = record(ledger, hold_again, commit=False)
    assert isinstance(quiet, Recorded)
    assert quiet.why_not_committed == ""
