"""An interrupted act whose files were renamed, deleted or changed since: the first message names a
way, and that way leads out, with the act there once or not at all."""

from __future__ import annotations

import re
import shutil
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import Any

import books
import pytest
from changing import replace

from tankbook.ledger import atomic
from tankbook.ledger.apply import apply
from tankbook.ledger.errors import LedgerError
from tankbook.ledger.journal import acting, settle
from tankbook.ledger.load import load
from tankbook.ledger.names import JOURNAL
from tankbook.ledger.note import Note
from tankbook.ledger.pending import Aside, drop_it, finish_it, look_at
from tankbook.ledger.steps import JournalAct, JournalStep, decoded, digest, encoded, may_write
from tankbook.ledger.tidy import tidy
from tankbook.records.edits import Act, AddEntry, AddLine, Edit, NewFile, SetValue
from tankbook.records.log import LogLine, columns
from tankbook.records.node import EVERY_CYLINDER

A, B, N, LOG = "cylinders/A.yaml", "cylinders/B.yaml", "cylinders/N.yaml", "fills/2026.csv"
ELSE = "cylinders/B2.yaml"
HELD = {"on": "2026-11-25", "by": "MV", "why": "dent"}
OLD = {"on": "2026-11-20", "by": "MV", "why": "boot off"}
CELLS = {"cylinder": "B", "act": "reading", "to": "2900 psi"}
EDITS: tuple[Edit, ...] = (
    AddEntry(A, ("held",), HELD),
    SetValue(A, ("status",), "held"),
    AddEntry(B, ("held",), HELD),
    SetValue(B, ("status",), "held"),
    NewFile(N, books.GOOD.replace("K118204", "K9")),
    AddLine({**CELLS, "at": "2026-11-25T09:30:00+01:00"}),
)
PATHS = (A, B, N, LOG)


class Cut(BaseException):
    """The process ends."""


@pytest.fixture(name="ledger")
def _ledger(tmp_path: Path) -> Path:
    root = tmp_path / "quay"
    (root / "cylinders").mkdir(parents=True)
    (root / "tankbook.yaml").write_text(books.SETTINGS)
    for number, id_ in enumerate("ABC"):
        text = books.GOOD.replace("K118204", f"K11820{number}")
        (root / f"cylinders/{id_}.yaml").write_text(text)
    line = AddLine({**CELLS, "at": "2026-11-24T09:30:00+01:00"})
    apply(root, Act("reading", ("B",), "Read B", (line,)))
    return root


def cut_before(root: Path, path: str, edits: tuple[Edit, ...] = EDITS) -> None:
    """An act that ends before it comes to a file; an empty path: after the last one."""

    def dying(real: Callable[..., Any]) -> Callable[..., Any]:
        def call(where: Path, name: str, *rest: Any) -> Any:
            if name == path:
                raise Cut
            return real(where, name, *rest)

        return call

    def end(*_: object) -> None:
        raise Cut

    with pytest.MonkeyPatch.context() as patch:
        for name in ("write_atomic", "append"):
            patch.setattr(atomic, name, dying(getattr(atomic, name)))
        patch.setattr("tankbook.ledger.receipts.put_away", end)
        with pytest.raises(Cut):
            apply(root, Act("hold", ("A", "B"), "Held A, B: dent", edits))


def renamed(old: str, new: str, said: bool = True) -> Callable[[Path], None]:
    def rename(root: Path) -> None:
        (root / old).rename(root / new)
        if said:
            with (root / new).open("a") as file:
                file.write(f"formerly: [{Path(old).stem}]\n")

    return rename


def deleted(path: str) -> Callable[[Path], None]:
    return lambda root: (root / path).unlink()


def changed(path: str, text: str = "note: by hand\n") -> Callable[[Path], None]:
    def change(root: Path) -> None:
        with (root / path).open("a") as file:
            file.write(text)

    return change


def another(path: str) -> Callable[[Path], None]:
    return lambda root: (root / path).write_text(books.GOOD.replace("K118204", "K7"))


def both(*how: Callable[[Path], None]) -> Callable[[Path], None]:
    def do(root: Path) -> None:
        for each in how:
            each(root)

    return do


HEADER = ",".join(columns(LogLine)) + "\n"
MORE = "2026-11-25T10:30:00+01:00,C,reading,,2900 psi,,,,,,,,,,,\n"
SINCE: dict[str, Callable[[Path], None]] = {
    "renamed": renamed(B, ELSE),
    "renamed, nobody says so": renamed(B, ELSE, said=False),
    "both renamed": both(renamed(A, "cylinders/A2.yaml"), renamed(B, ELSE)),
    "renamed and the other changed": both(changed(A), renamed(B, ELSE)),
    "renamed and changed": both(renamed(B, ELSE), changed(ELSE)),
    "renamed, another took the id": both(renamed(B, ELSE), another(B)),
    "deleted, another took the id": both(deleted(B), another(B)),
    "deleted": deleted(B),
    "the other deleted": deleted(A),
    "both deleted": both(deleted(A), deleted(B)),
    "deleted and the other changed": both(changed(A), deleted(B)),
    "deleted and lines added": both(changed(LOG, MORE), deleted(B)),
    "log deleted": deleted(LOG),
    "card and log deleted": both(deleted(LOG), deleted(B)),
    "changed": changed(B),
    "an entry put first": lambda root: (root / B).write_text(
        (root / B).read_text() + ("" if "held:" in (root / B).read_text() else "held: []\n")
    ),
}


def after(root: Path) -> tuple[dict[str, int], int]:
    """How often the act is in each card, and in the log."""
    cards = {p.stem: p.read_text().count("why: dent") for p in (root / "cylinders").iterdir()}
    log = root / LOG
    return cards, log.read_text().count("2026-11-25T09:30") if log.exists() else 0


def ways(root: Path) -> tuple[str, list[str]]:
    """The first message of whoever records next, and the ways that it names."""
    told: LedgerError | None = None
    try:
        with acting(root):
            return "", []
    except LedgerError as error:
        told = error
    assert "\n" not in str(told)
    assert "Held A, B: dent" in told.text
    assert "delete" not in told.mend
    return str(told), re.findall(r"pending --(\w+)", told.mend)


DO: dict[str, Callable[[Path], object]] = {"finish": finish_it, "drop": drop_it}


@pytest.mark.parametrize("since", SINCE)
@pytest.mark.parametrize("cut", [*PATHS, ""])
def test_the_first_message_names_a_way_and_one_that_it_names_leads_out(
    ledger: Path, cut: str, since: str
) -> None:
    cut_before(ledger, cut)
    try:
        SINCE[since](ledger)
    except FileNotFoundError:
        pytest.skip("it is not there yet")
    journal = (ledger / JOURNAL).read_bytes()
    said, named = ways(ledger)
    if not said:
        assert look_at(ledger) is None
        return
    assert named, said
    files = {p: p.read_bytes() for p in ledger.rglob("*.yaml")}
    followed = ""
    for way in named:
        with suppress(LedgerError):
            DO[way](ledger)
            followed = way
            break
        assert {p: p.read_bytes() for p in ledger.rglob("*.yaml")} == files
    while not followed:  # the second message names what is to be done by hand
        with pytest.raises(LedgerError, match="by hand") as told:
            drop_it(ledger)
        file = ledger / told.value.path
        lines = file.read_text().splitlines(keepends=True)
        mine = ("why: dent", "2026-11-25T09:30", "status: held", "held:")
        left = [line for line in lines if not any(each in line for each in mine)]
        assert left != lines
        file.write_text("".join(left))
        with suppress(LedgerError):
            drop_it(ledger)
            followed = "drop"
    cards, lines = after(ledger)
    assert look_at(ledger) is None
    assert ways(ledger) == ("", [])
    if followed == "finish":
        out = {"C", "N", "B" if "B2" in cards else ""}
        there = {id_: n for id_, n in cards.items() if id_ not in out}
        assert "K7" not in (text := (ledger / B).read_text() if "B" in cards else "") or (
            "dent" not in text
        )
        assert set(there.values()) == {1}, cards
        assert (lines, (ledger / N).exists()) == (1, True)
    else:
        assert set(cards.values()) <= {0}, (cards, journal)


def test_under_a_new_name_it_is_known_when_it_is_given_again(ledger: Path) -> None:
    cut_before(ledger, B)
    renamed(B, ELSE)(ledger)
    finish_it(ledger)
    from tankbook.ledger.receipts import standing_receipts

    (receipt,) = standing_receipts(ledger)
    edits = tuple(
        AddEntry(ELSE, e.trail, e.entry) if getattr(e, "file", "") == B and isinstance(e, AddEntry)
        else SetValue(ELSE, e.trail, e.value) if getattr(e, "file", "") == B and isinstance(e, SetValue)
        else AddLine({**e.cells, "cylinder": "B2"}) if isinstance(e, AddLine) else e
        for e in EDITS
    )  # fmt: skip
    same = Note.of(Act("hold", ("A", "B2"), "Held A, B2: dent", edits), "", receipt.note.at)
    assert same.is_again(receipt.note)


@pytest.mark.parametrize("said", [True, False])
def test_while_it_stands_the_cylinder_is_touched_under_its_new_name(
    ledger: Path, said: bool
) -> None:
    cut_before(ledger, B)
    renamed(B, ELSE, said)(ledger)
    (found,) = (f for f in load(ledger).findings if f.code == "pending")
    assert {"A", "B", "B2"} <= set(found.touches)
    assert f"it is called {ELSE} now" in found.text
    assert "`tankbook pending --finish`" in found.mend


@pytest.mark.parametrize("how", ["renamed", "renamed, and says so", "deleted"])
def test_a_card_of_an_older_life_of_the_id_is_not_it(ledger: Path, how: str) -> None:
    """C says that it was called B once, and is another cylinder by its serial."""
    cut_before(ledger, B)
    c = ledger / "cylinders/C.yaml"
    c.write_text(c.read_text() + "formerly: B\n")
    deleted(B)(ledger) if how == "deleted" else renamed(B, ELSE, "says" in how)(ledger)
    if how == "deleted":
        with pytest.raises(LedgerError):
            finish_it(ledger)
    else:
        finish_it(ledger)
        assert "dent" in (ledger / ELSE).read_text()
    assert "dent" not in c.read_text()


@pytest.mark.parametrize("way", [finish_it, drop_it])
def test_what_the_writer_left_half_made_is_swept(
    ledger: Path, way: Callable[[Path], object]
) -> None:
    cut_before(ledger, B)
    left = ledger / "cylinders/.A.yaml.0123abcd.tmp"
    left.write_text("half")
    way(ledger)
    assert not left.exists()


def test_while_a_card_of_it_is_gone_every_cylinder_is_touched(ledger: Path) -> None:
    cut_before(ledger, B)
    deleted(B)(ledger)
    (found,) = (f for f in load(ledger).findings if f.code == "pending")
    assert found.touches == (EVERY_CYLINDER,)


def test_a_release_goes_to_the_hold_that_it_was_given_for(ledger: Path) -> None:
    """A pull may put another hold before it meanwhile."""
    apply(ledger, Act("hold", ("B",), "Held B", (AddEntry(B, ("held",), HELD),)))
    release = (
        SetValue(A, ("status",), "in-service"),
        AddEntry(A, ("held",), OLD),
        SetValue(B, ("held", 0, "released"), "2026-11-25"),
        SetValue(B, ("held", 0, "released_by"), "MV"),
    )
    cut_before(ledger, B, release)
    text = (ledger / B).read_text()
    first = "held:\n  - {on: 2026-11-20, by: MV, why: cracked}\n"
    (ledger / B).write_text(text.replace("held:\n", first))
    finish_it(ledger)
    holds = load(ledger).cylinders["B"].held
    assert [(h.why, h.released is not None) for h in holds] == [("cracked", False), ("dent", True)]


def test_which_hold_is_released_is_not_guessed(ledger: Path) -> None:
    apply(ledger, Act("hold", ("B",), "Held B", (AddEntry(B, ("held",), HELD),)))
    release = (AddEntry(A, ("held",), OLD), SetValue(B, ("held", 0, "released"), "2026-11-25"))
    cut_before(ledger, B, release)
    text = (ledger / B).read_text()
    (ledger / B).write_text(text.replace("why: dent", "why: cracked"))
    with pytest.raises(LedgerError, match="can no longer be told"):
        finish_it(ledger)
    drop_it(ledger)
    assert "boot off" not in (ledger / A).read_text()
    assert "released" not in (ledger / B).read_text()


# --- copies


@pytest.mark.parametrize("way", ["finish", "drop"])
def test_in_a_copy_nothing_is_recorded_before_somebody_decides(
    ledger: Path, tmp_path: Path, way: str
) -> None:
    cut_before(ledger, B)
    copy = Path(shutil.copytree(ledger, tmp_path / "copy"))
    before = {p: p.read_bytes() for p in copy.rglob("*") if p.is_file() and p.name != "lock"}
    line = AddLine({**CELLS, "at": "2026-11-25T11:30:00+01:00"})
    for _ in range(2):
        with pytest.raises(LedgerError, match="begun on another computer") as told:
            apply(copy, Act("reading", ("B",), "Read B", (line,)))
        assert "Held A, B: dent" in told.value.text
        assert "pending --finish" in told.value.mend
        assert "pending --drop" in told.value.mend
        now = {p: p.read_bytes() for p in copy.rglob("*") if p.is_file() and p.name != "lock"}
        assert now == before
    DO[way](copy)
    apply(copy, Act("reading", ("B",), "Read B", (line,)))
    assert after(copy)[0]["B"] == (1 if way == "finish" else 0)


# --- what a journal may name

WRITES = {
    "cylinders/RB-014.yaml": True,
    "sets/T-1.yaml": True,
    "fills/2026.csv": True,
    "station.yaml": True,
    "audited.yaml": True,
    "tankbook.yaml": False,
    "rules/shop.yaml": False,
    "checklists/own.yaml": False,
    "contacts.csv": False,
    ".gitattributes": False,
    ".gitignore": False,
    "cylinders/.gitattributes": False,
    "fills/.gitattributes": False,
    "fills/.x.csv": False,
    "cylinders/../rules/shop.yaml": False,
    "cylinders/deep/A.yaml": False,
    "Cylinders/A.yaml": False,
    ".git/config": False,
    ".tankbook/recorded": False,
    "/etc/passwd": False,
    "../x.yaml": False,
    "cylinders/A.yaml\n": False,
    "": False,
}


@pytest.mark.parametrize("path", WRITES)
def test_only_what_acts_write_is_believed_of_a_journal(ledger: Path, path: str) -> None:
    assert may_write(path) is (WRITES[path] or path == "tankbook.yaml")
    if WRITES[path]:
        return
    cut_before(ledger, B)
    held = (ledger / JOURNAL).read_bytes()
    real = decoded(held)
    evil, was = b"* filter=evil\n", None
    if path == "tankbook.yaml":
        was = (ledger / path).read_bytes()
        evil = was + b"late_entry: 999\n"
    old = None if was is None else digest(was)
    forged = JournalAct((*real.steps, JournalStep(path, old, evil, before=was)), real.note)
    (ledger / JOURNAL).write_bytes(encoded(forged))
    before = {p: p.read_bytes() for p in ledger.rglob("*") if p.is_file() and p.name != "lock"}
    (found,) = (f for f in load(ledger).findings if f.code == "pending")
    assert found.touches == (EVERY_CYLINDER,)
    for ask in (settle, look_at, finish_it):
        with pytest.raises(LedgerError, match="the journal is not believed") as told:
            ask(ledger)
        assert "Held A, B: dent" in told.value.text
        assert "`tankbook pending --drop` sets the journal aside" in told.value.mend
        assert "\n" not in str(told.value)
    now = {p: p.read_bytes() for p in ledger.rglob("*") if p.is_file() and p.name != "lock"}
    assert now == before
    aside = drop_it(ledger)
    assert isinstance(aside, Aside)
    assert (ledger / aside.name).read_bytes() == encoded(forged)
    assert ways(ledger) == ("", [])
    assert not [f for f in load(ledger).findings if f.code == "pending"]


def no_edits(real: JournalAct) -> JournalAct:
    assert real.note is not None
    return replace(real, note=replace(real.note, edits=()))


def no_steps(real: JournalAct) -> JournalAct:
    return replace(real, steps=())


def another_file(real: JournalAct) -> JournalAct:
    was = books.GOOD.replace("K118204", "K118202").encode()
    step = JournalStep("cylinders/C.yaml", digest(was), was + b"note: forged\n", before=was)
    return replace(real, steps=(*real.steps, step))


def other_content(real: JournalAct) -> JournalAct:
    first, *rest = real.steps
    assert first.path == A
    return replace(real, steps=(replace(first, content=first.before), *rest))


def a_log_cut(real: JournalAct) -> JournalAct:
    was = (HEADER + MORE).encode()
    step = JournalStep(LOG, digest(was), HEADER.encode(), before=was)
    return replace(no_edits(real), steps=(step,))


def nothing_at_all(_: JournalAct) -> JournalAct:
    return JournalAct(())


FORGED = (no_edits, no_steps, another_file, other_content, a_log_cut, nothing_at_all)


@pytest.mark.parametrize("forge", FORGED)
def test_a_journal_that_does_not_write_what_its_act_says_is_not_carried_out(
    ledger: Path, forge: Callable[[JournalAct], JournalAct]
) -> None:
    cut_before(ledger, A)
    real = decoded((ledger / JOURNAL).read_bytes())
    (ledger / JOURNAL).write_bytes(encoded(forge(real)))
    before = {p: p.read_bytes() for p in ledger.rglob("*") if p.is_file() and p.name != "lock"}
    (found,) = (f for f in load(ledger).findings if f.code == "pending")
    assert found.touches == (EVERY_CYLINDER,)
    for ask in (settle, look_at, finish_it):
        with pytest.raises(LedgerError, match="the journal is not believed") as told:
            ask(ledger)
        assert "`tankbook pending --drop` sets the journal aside" in told.value.mend
    now = {p: p.read_bytes() for p in ledger.rglob("*") if p.is_file() and p.name != "lock"}
    assert now == before
    assert isinstance(drop_it(ledger), Aside)
    assert not [f for f in load(ledger).findings if f.code == "pending"]


def test_a_log_that_is_put_in_order_names_no_change(ledger: Path) -> None:
    early = "2026-11-23T09:30:00+01:00,C,reading,,2900 psi,,,,,,,,,,,\n"
    with (ledger / LOG).open("a") as file:
        file.write(early)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(atomic, "write_atomic", raises_cut)
        with pytest.raises(Cut):
            tidy(ledger)
    assert settle(ledger) is not None
    assert (ledger / LOG).read_text().splitlines()[1] == early.strip()


def raises_cut(*_: object) -> None:
    raise Cut


def test_each_journal_that_is_set_aside_is_kept(ledger: Path) -> None:
    apply(ledger, Act("hold", ("B",), "Held B", (AddEntry(B, ("held",), HELD),)))
    names = []
    for text in (b"one", b"two"):
        (ledger / JOURNAL).write_bytes(text)
        aside = drop_it(ledger)
        assert isinstance(aside, Aside)
        names.append(aside.name)
        assert (ledger / aside.name).read_bytes() == text
    assert len(set(names)) == 2


def test_what_the_settings_say_of_what_was_removed_is_written_by_acts(ledger: Path) -> None:
    said = {"on": "2026-11-25", "by": "MV", "what": "rules/old.yaml", "why": "twice the same"}
    cut_before(ledger, "tankbook.yaml", (AddEntry("tankbook.yaml", ("removed",), said),))
    assert settle(ledger) is not None
    assert "twice the same" in (ledger / "tankbook.yaml").read_text()


@pytest.mark.parametrize("to", ["rules/shop.yaml", ".gitattributes"])
def test_no_act_writes_through_a_link_to_what_is_no_record(ledger: Path, to: str) -> None:
    (ledger / "rules").mkdir()
    (ledger / to).write_text("rows: []\n")
    before = (ledger / to).read_bytes()
    (ledger / B).unlink()
    (ledger / B).symlink_to(ledger / to)
    step = JournalStep(B, digest(before), b"rows: [evil]\n")
    (ledger / ".tankbook").mkdir(exist_ok=True)
    (ledger / JOURNAL).write_bytes(encoded(JournalAct((step,))))
    for ask in (settle, finish_it):
        with pytest.raises(LedgerError, match="it is a symbolic link"):
            ask(ledger)
    assert (ledger / to).read_bytes() == before
