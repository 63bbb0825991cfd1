"""An interrupted act looked at, finished on purpose, and taken back; torn ends of the log."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import books
import pytest

from tankbook.ledger import atomic
from tankbook.ledger.apply import apply
from tankbook.ledger.errors import LedgerError
from tankbook.ledger.journal import settle
from tankbook.ledger.load import load
from tankbook.ledger.names import JOURNAL
from tankbook.ledger.pending import Aside, drop_it, finish_it, look_at
from tankbook.ledger.receipts import standing_receipts
from tankbook.ledger.steps import JournalAct, JournalStep, StepState, digest, encoded
from tankbook.records.edits import Act, AddEntry, AddLine, Edit, NewFile, SetValue

A, B, NEW, LOG = "cylinders/A.yaml", "cylinders/B.yaml", "cylinders/N.yaml", "fills/2026.csv"
HELD = {"on": "2026-11-25", "by": "MV", "why": "dent"}
CELLS = {"cylinder": "A", "act": "reading", "to": "2900 psi"}
OLD = AddLine({**CELLS, "at": "2026-11-24T09:30:00+01:00"})
LINE = AddLine({**CELLS, "at": "2026-11-25T09:30:00+01:00", "note": "cold, in the shed"})
EDITS: tuple[Edit, ...] = (
    AddEntry(A, ("held",), HELD),
    SetValue(A, ("status",), "held"),
    AddEntry(B, ("held",), HELD),
    SetValue(B, ("status",), "held"),
    NewFile(NEW, books.GOOD.replace("K118204", "K9")),
    LINE,
)
PATHS = (A, B, NEW, LOG)
WRITTEN = '2026-11-25T09:30:00+01:00,A,reading,,2900 psi,,,,,,,,,,,"cold, in the shed"\n'


@pytest.fixture(name="ledger")
def _ledger(tmp_path: Path) -> Path:
    root = tmp_path / "quay"
    (root / "cylinders").mkdir(parents=True)
    (root / "tankbook.yaml").write_text(books.SETTINGS)
    for number, id_ in enumerate("AB"):
        text = books.GOOD.replace("K118204", f"K11820{number}")
        (root / f"cylinders/{id_}.yaml").write_text(text)
    apply(root, Act("reading", ("A",), "Read A", (OLD,)))
    return root


def content(root: Path) -> dict[str, bytes]:
    return {path: (root / path).read_bytes() for path in PATHS if (root / path).exists()}


class Cut(BaseException):
    """The process ends."""


def cut_before(
    root: Path, monkeypatch: pytest.MonkeyPatch, path: str, edits: tuple[Edit, ...] = EDITS
) -> None:
    """An act that ends before it comes to a file; an empty path: after the last one."""

    def dying(real: Callable[..., Any]) -> Callable[..., Any]:
        def call(where: Path, name: str, *rest: Any) -> Any:
            if name == path:
                raise Cut
            return real(where, name, *rest)

        return call

    def end(*_: object) -> None:
        raise Cut

    with monkeypatch.context() as patch:
        for name in ("write_atomic", "append"):
            patch.setattr(atomic, name, dying(getattr(atomic, name)))
        patch.setattr("tankbook.ledger.receipts.put_away", end)
        with pytest.raises(Cut):
            apply(root, Act("hold", ("A", "B"), "Held A, B: dent", edits))


@pytest.mark.parametrize("path", [*PATHS, ""])
def test_an_act_is_looked_at_and_nothing_is_touched(
    ledger: Path, monkeypatch: pytest.MonkeyPatch, path: str
) -> None:
    assert look_at(ledger) is None
    cut_before(ledger, monkeypatch, path)
    before = content(ledger)
    found = look_at(ledger)
    assert found is not None
    assert str(found).startswith("Held A, B: dent (2")
    done = PATHS.index(path) if path else 4
    assert [f.state for f in found.files] == [StepState.DONE] * done + [StepState.TO_DO] * (
        4 - done
    )
    assert "+status: held" in found.files[0].diff
    assert found.files[2].diff.startswith(f"--- /dev/null\n+++ {NEW}\n")
    assert f"+{WRITTEN}" in found.files[3].diff
    assert "2026-11-24" not in found.files[3].diff
    assert content(ledger) == before


@pytest.mark.parametrize("path", [*PATHS, ""])
def test_an_act_is_taken_back_wholly(
    ledger: Path, monkeypatch: pytest.MonkeyPatch, path: str
) -> None:
    before = content(ledger)
    cut_before(ledger, monkeypatch, path)
    assert drop_it(ledger) is not None
    assert content(ledger) == before
    assert look_at(ledger) is None
    assert not [f for f in load(ledger).findings if f.code == "pending"]
    assert drop_it(ledger) is None


@pytest.mark.parametrize("path", [*PATHS, ""])
def test_a_taking_back_that_is_killed_is_gone_on_with(
    ledger: Path,
    monkeypatch: pytest.MonkeyPatch,
    killed_at_each_call: Any,
    path: str,
) -> None:
    """Wholly back, or wholly done where it was not begun: never in between."""
    before = content(ledger)
    cut_before(ledger, monkeypatch, path)
    kept, half = (ledger / JOURNAL).read_bytes(), content(ledger)
    for number, _ in enumerate(killed_at_each_call(lambda: drop_it(ledger))):
        if number % 4 == 0:
            told: list[str] = []
            load(ledger, tell=told.append)
            after = content(ledger)
            assert after == before or b"status: held" in after[B]
            assert len(after) == (3 if after == before else 4)
        shutil.rmtree(ledger / ".tankbook")
        (ledger / ".tankbook").mkdir()
        for each in PATHS:
            (ledger / each).unlink(missing_ok=True)
        for each, data in half.items():
            (ledger / each).write_bytes(data)
        (ledger / JOURNAL).write_bytes(kept)
        from tankbook.ledger.lock import mark_here

        mark_here(ledger)


def killed_on_the_way_back(root: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """An act of which one card stands is dropped in a copy, and the process ends in the middle."""
    cut_before(root, monkeypatch, B)
    (root / ".tankbook/here").write_text("another computer\n")

    def end(*_: object) -> None:
        raise Cut

    with monkeypatch.context() as patch:
        patch.setattr(JournalStep, "apply", end)
        with pytest.raises(Cut):
            drop_it(root)


def test_dropping_again_goes_on_with_the_way_back(
    ledger: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """And does not take back the taking back, which would leave half an act."""
    before = content(ledger)
    killed_on_the_way_back(ledger, monkeypatch)
    assert [f.code for f in load(ledger).findings] == ["pending"]  # nobody finished it unasked
    assert str(drop_it(ledger)).startswith("Took back: Held A, B: dent (2")
    assert content(ledger) == before
    assert look_at(ledger) is None
    assert not list(standing_receipts(ledger))


def test_a_way_back_over_a_file_changed_by_hand_is_neither_gone_nor_forgotten(
    ledger: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    killed_on_the_way_back(ledger, monkeypatch)
    with (ledger / A).open("a") as file:
        file.write("note: by hand\n")
    for ask in (drop_it, finish_it):
        with pytest.raises(LedgerError):
            ask(ledger)
        assert look_at(ledger) is not None


def test_an_act_in_a_copy_is_finished_there_on_purpose(
    ledger: Path, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    cut_before(ledger, monkeypatch, B)
    copy = Path(shutil.copytree(ledger, tmp_path / "copy"))
    assert [f for f in load(copy).findings if f.code == "pending"]
    assert finish_it(copy) is not None
    book = load(copy)
    assert not book.findings
    assert [id_ for id_, card in book.cylinders.items() if card.held] == ["A", "B"]
    assert finish_it(copy) is None


def test_a_card_changed_by_hand_takes_the_act_as_it_is_now(
    ledger: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    cut_before(ledger, monkeypatch, B)
    with (ledger / B).open("a") as file:
        file.write("note: by hand\n")
    with pytest.raises(LedgerError, match="changed by hand") as told:
        settle(ledger)
    assert "`tankbook pending --finish` adds it to the file as it is now" in told.value.mend
    finish_it(ledger)
    card = load(ledger).cylinders["B"]
    assert (card.note, [h.why for h in card.held], card.status) == ("by hand", ["dent"], "held")


def test_a_card_that_holds_the_act_already_takes_it_no_second_time(
    ledger: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    cut_before(ledger, monkeypatch, NEW)
    with (ledger / B).open("a") as file:
        file.write("note: by hand\n")
    finish_it(ledger)
    book = load(ledger)
    assert [len(book.cylinders[i].held) for i in "AB"] == [1, 1]
    assert len(book.log) == 2


def test_a_card_that_cannot_take_it_stays_and_says_why(
    ledger: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    cut_before(ledger, monkeypatch, B)
    good = (ledger / B).read_text()
    (ledger / B).write_text("<<<<<<< HEAD\n" + good)
    before = content(ledger)
    with pytest.raises(LedgerError, match="merge conflict"):
        finish_it(ledger)
    assert content(ledger) == before
    (ledger / B).write_text(good + "note: settled\n")  # as the advice says
    finish_it(ledger)
    assert load(ledger).cylinders["B"].status == "held"


EARLIER = "  - {on: 2026-11-25, by: KD, why: boot off, released: 2026-11-25}\n"
ACTS = "  - {on: 2026-11-25, by: MV, why: dent}\n"


HOLDS = {
    "another of its day": (EARLIER, EARLIER, True),
    "another of its day, mended": (EARLIER, EARLIER.replace("boot off", "boot was off"), True),
    "the same words of another day": (ACTS.replace("25", "20"), ACTS.replace("25", "20"), True),
    "its own": (EARLIER, EARLIER + ACTS, False),
    "its own alone": ("", ACTS, False),
    "its own in other words": (EARLIER, EARLIER + ACTS.replace("dent", "a crack"), False),
    "its own of another day": (EARLIER, EARLIER + ACTS.replace("25", "24"), False),
    "its own twice": (EARLIER, ACTS + EARLIER + ACTS, False),
}


@pytest.mark.parametrize(("before", "now", "drops"), HOLDS.values(), ids=HOLDS)
def test_a_card_changed_by_hand_is_left_where_it_holds_nothing_of_the_act(
    ledger: Path, monkeypatch: pytest.MonkeyPatch, before: str, now: str, drops: bool
) -> None:
    assert HELD == {"on": "2026-11-25", "by": "MV", "why": "dent"}
    plain = (ledger / B).read_text()
    if before:
        (ledger / B).write_text(f"{plain}held:\n{before}")
    cut_before(ledger, monkeypatch, B)
    (ledger / B).write_text(f"{plain}note: by hand\nheld:\n{now}")
    if drops:
        assert drop_it(ledger) is not None
        assert not load(ledger).cylinders["A"].held
        assert (ledger / B).read_text().endswith(now)
    else:
        with pytest.raises(LedgerError, match="changed by hand"):
            drop_it(ledger)


RELEASE = SetValue(B, ("held", 1, "released"), "2026-11-25")


@pytest.mark.parametrize("holds", [True, False])
def test_a_release_is_told_from_that_of_another_hold_of_the_day(
    ledger: Path, monkeypatch: pytest.MonkeyPatch, holds: bool
) -> None:
    (ledger / B).write_text(f"{(ledger / B).read_text()}held:\n{EARLIER}{ACTS}")
    cut_before(ledger, monkeypatch, B, (RELEASE,))
    text = (ledger / B).read_text()
    said = text.replace("dent}", "dent, released: 2026-11-25}") if holds else text
    (ledger / B).write_text(said + "note: by hand\n")
    if holds:
        with pytest.raises(LedgerError, match="changed by hand"):
            drop_it(ledger)
    else:
        assert drop_it(ledger) is not None


def test_lines_added_since_keep_an_act_from_being_dropped(
    ledger: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    cut_before(ledger, monkeypatch, "")
    with (ledger / LOG).open("a") as file:
        file.write(WRITTEN.replace("09:30", "10:30"))
    with pytest.raises(LedgerError, match="lines were added to it since"):
        drop_it(ledger)
    finish_it(ledger)
    assert len(load(ledger).log) == 3


def test_a_garbage_journal_is_not_finished_and_is_set_aside(
    ledger: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    cut_before(ledger, monkeypatch, B)
    (ledger / JOURNAL).write_bytes(b"garbage")
    before = content(ledger)
    for ask in (look_at, finish_it):
        with pytest.raises(LedgerError, match="the journal cannot be read") as told:
            ask(ledger)
        assert "`tankbook pending --drop` sets the journal aside" in told.value.mend
        assert (ledger / JOURNAL).read_bytes() == b"garbage"
    found = drop_it(ledger)
    assert isinstance(found, Aside)
    assert (ledger / found.name).read_bytes() == b"garbage"
    assert content(ledger) == before
    assert look_at(ledger) is None


def test_an_act_of_an_older_version_is_finished_and_not_dropped(ledger: Path) -> None:
    """Its journal says neither what the act was nor what stood there before."""
    old = (ledger / A).read_bytes()
    new = old.replace(b"in-service", b"held")
    body = encoded(JournalAct((JournalStep(A, digest(old), new),))).partition(b"\n")[2]
    body = body.replace(b'"form": 2', b'"form": 1').replace(b',\n   "before": null', b"")
    body = body.replace(b' "act": null,\n', b"")
    (ledger / JOURNAL).write_bytes(digest(body).encode() + b"\n" + body)
    (ledger / A).write_bytes(new)
    with pytest.raises(LedgerError, match="what was there before is not known"):
        drop_it(ledger)
    (ledger / A).write_bytes(old)
    found = finish_it(ledger)
    assert str(found) == f"an act on {A}"
    assert (ledger / A).read_bytes() == new


# --- torn ends of the log: the act in its journal


TORN = {
    "half a line": WRITTEN.encode()[:30],
    "half a line and zeros": WRITTEN.encode()[:30] + b"\0" * (len(WRITTEN) - 30),
    "zeros": b"\0" * len(WRITTEN),
    "zeros to the end of a block": b"\0" * 4096,
    "all but its end": WRITTEN.encode()[:-1],
}


@pytest.mark.parametrize("torn", TORN)
@pytest.mark.parametrize("way", [settle, finish_it, drop_it])
def test_a_torn_end_is_no_edit_by_hand(
    ledger: Path, monkeypatch: pytest.MonkeyPatch, torn: str, way: Callable[[Path], object]
) -> None:
    before = content(ledger)
    cut_before(ledger, monkeypatch, LOG)
    with (ledger / LOG).open("ab") as file:
        file.write(TORN[torn])
    found = look_at(ledger)
    assert found is not None
    assert found.files[3].state is StepState.TORN
    way(ledger)
    if way is drop_it:
        assert content(ledger) == before
    else:
        assert (ledger / LOG).read_bytes() == before[LOG] + WRITTEN.encode()


BY_HAND: dict[str, Callable[[bytes], bytes]] = {
    "completed as it was": lambda log: log + WRITTEN.encode(),
    "completed without its end": lambda log: log + WRITTEN.encode()[:-1],
    "completed in other words": lambda log: log + WRITTEN.replace("shed", "yard").encode(),
    "deleted": lambda log: log,
    "deleted with a line end too many": lambda log: log[:-1],
    "another line behind it": lambda log: log + WRITTEN.replace("09:30", "10:30").encode(),
    "lines end in CR LF": lambda log: (log + WRITTEN.encode()).replace(b"\n", b"\r\n"),
}


@pytest.mark.parametrize("how", BY_HAND)
def test_the_advice_for_a_torn_line_leads_out(
    ledger: Path, monkeypatch: pytest.MonkeyPatch, how: str
) -> None:
    """The line completed or deleted in an editor while the act was pending: either any command
    finishes it now, or `pending --finish` does, and the line stands once."""
    log = (ledger / LOG).read_bytes()
    cut_before(ledger, monkeypatch, LOG)
    (ledger / LOG).write_bytes(BY_HAND[how](log))
    mend = ""
    try:
        settle(ledger)
    except LedgerError as error:
        mend = error.mend
        finish_it(ledger)
    assert not mend or "`tankbook pending --finish`" in mend
    lines = [line for line in load(ledger).log if f"{line.at:%H:%M %d}" == "09:30 25"]
    assert len(lines) == 1
    assert load(ledger).cylinders["B"].status == "held"
    assert not (ledger / JOURNAL).exists()


# --- torn ends of the log: no journal


def test_zeros_at_the_end_of_the_log_are_cut_off_as_the_advice_says(ledger: Path) -> None:
    from tankbook.ledger.tidy import tidy

    log = (ledger / LOG).read_bytes()
    for tail in (b"\0" * 512, b"2026-11-25T09:30" + b"\0" * 512):
        (ledger / LOG).write_bytes(log + tail)
        (found,) = (f for f in load(ledger).findings if "zero" in f.text)
        assert found.text == "it ends in 512 zero bytes, as a power cut leaves them"
        assert "`tankbook tidy` cuts them off" in found.mend
        with pytest.raises(LedgerError, match="it ends in 512 zero bytes") as told:
            apply(ledger, Act("reading", ("A",), "Read A", (LINE,)))
        assert "`tankbook tidy` cuts them off" in told.value.mend
        done = tidy(ledger, commit=False)
        assert done.act.sentence == f"Tidied {LOG} (0 late, 0 twice, 512 zero bytes cut off)"
        assert (ledger / LOG).read_bytes() == log + tail.rstrip(b"\0")
    # half a line is left: that is for somebody to judge
    with pytest.raises(LedgerError, match="the last line is cut short") as told:
        apply(ledger, Act("reading", ("A",), "Read A", (LINE,)))
    assert "complete it or delete it in an editor" in told.value.mend
    (ledger / LOG).write_bytes(log)
    apply(ledger, Act("reading", ("A",), "Read A", (LINE,)))
    assert len(load(ledger).log) == 2


def test_the_folder_of_the_journal_is_settled_in_its_own(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Else a power cut may take the folder, and with it the journal of the ledger's first act."""
    from tankbook.ledger import lock

    settled: list[Path] = []
    monkeypatch.setattr(lock, "sync_folder", settled.append)
    lock.private_folder(tmp_path)
    assert settled == [tmp_path]
    lock.private_folder(tmp_path)
    assert settled == [tmp_path]
    assert (tmp_path / ".tankbook").is_dir()
