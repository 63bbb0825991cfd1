"""What an audit found: the signs of tampering by kind, and the corrections apart from them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Any

from tankbook.output.page import Page, counted, titled
from tankbook.output.tables import Column, Table
from tankbook.records.audited import Checkpoint
from tankbook.records.commits import Commit
from tankbook.rules.tamper_signs import FoundSign, Sign

if TYPE_CHECKING:
    from tankbook.rules.audit import Audit, Move

SHOWN = 10
"""How many of a kind are shown, unless all are asked for."""

HEADINGS = {
    Sign.ENTRY_ALTERED: "Past entries altered",
    Sign.ENTRY_REMOVED: "Past entries removed",
    Sign.FACT_ALTERED: "Facts changed that do not change",
    Sign.RECORD_REMOVED: "Files removed",
    Sign.RENAMED: "Called otherwise without a word",
    Sign.LINE_EDITED: "Log lines edited",
    Sign.LINE_REMOVED: "Log lines removed",
    Sign.LOST_IN_MERGE: "Lost in a merge",
    Sign.SETTINGS_LOOSENED: "Settings loosened",
    Sign.RULES_LOOSENED: "The ledger's own rules loosened",
    Sign.BEGUN_AGAIN: "Begun a second time",
    Sign.CHECKPOINT: "Checkpoints that do not hold",
    Sign.UNREADABLE: "Committed so that it cannot be read",
    Sign.NOT_CERTIFIED: "By people not certified then",
    Sign.LATE: "Recorded late",
    Sign.AHEAD: "Recorded before the day",
    Sign.MANY: "Many cylinders in one commit",
    Sign.UNSIGNED: "Not signed",
    Sign.DATES: "Dates of commits that do not fit",
}
"""Every sign, the gravest first, as a heading."""

TOP = "the top of the repository"
LIMITS = (
    "This covers the copy of the history that was read. docs/evidence.md says what git proves, and "
    "what it does not."
)

SHALLOW = "This is a shallow clone: what was before it was not read (git fetch --unshallow)."


def data(audit: Audit, shallow: bool) -> dict[str, Any]:
    """The JSON shape of `audit`."""
    return {
        "clean": audit.is_clean,
        "commits": audit.commits,
        "entries": audit.entries,
        "log_lines": audit.lines,
        "first": commit_data(audit.first),
        "last": commit_data(audit.last),
        "shallow": shallow,
        "brought": audit.brought,
        "checkpoint": checkpoint_data(audit.since),
        "moves": MOVES.objects(audit.moves),
        "signs": FOUND.objects(in_order(audit.signs)),
        "corrections": FOUND.objects(audit.corrections),
    }


CHECKPOINT = Table[Checkpoint](
    Column("on", lambda c: c.on),
    Column("by", lambda c: c.by),
    Column("through", lambda c: c.through),
    Column("commits", lambda c: c.commits),
    Column("signs", lambda c: c.signs),
)
"""What is said of a checkpoint."""


def checkpoint_data(checkpoint: Checkpoint | None) -> dict[str, Any] | None:
    """The JSON shape of a checkpoint; null where there is none."""
    return CHECKPOINT.object(checkpoint) if checkpoint else None


COMMIT = Table[Commit](
    Column("id", lambda c: c.id),
    Column("at", lambda c: c.at),
    Column("author", lambda c: c.author),
    Column("authored", lambda c: c.authored),
    Column("subject", lambda c: c.subject),
    Column("signed", lambda c: c.signed),
)
"""What is said of a commit."""


def commit_data(commit: Commit | None) -> dict[str, Any] | None:
    """The JSON shape of a commit; null for what is not committed."""
    return COMMIT.object(commit) if commit and commit.id else None


MOVES: Table[Move] = Table(
    Column("before", lambda m: m.before),
    Column("after", lambda m: m.after),
    Column("commit", lambda m: commit_data(m.commit)),
)
"""What is said of a ledger that went to another folder."""

DIFFERS = Table[tuple[str, str, str]](
    Column("key", lambda d: d[0]),
    Column("before", lambda d: d[1] or None),
    Column("after", lambda d: d[2] or None),
)
"""What is said of a key with another value than before."""

FOUND = Table[FoundSign](
    Column("sign", lambda f: f.sign),
    Column("id", lambda f: f.id or None),
    Column("what", lambda f: f.what or None),
    Column("why", lambda f: f.why or None),
    Column("differs", lambda f: DIFFERS.objects(f.differs)),
    Column("path", lambda f: f.path or None),
    Column("line", lambda f: f.line or None),
    Column("commit", lambda f: commit_data(f.commit)),
)
"""What is said of a sign or a correction."""


def in_order(signs: Iterable[FoundSign]) -> list[FoundSign]:
    """The gravest first, each kind as it was found."""
    order = list(HEADINGS)
    return sorted(signs, key=lambda f: order.index(f.sign))


def headline(audit: Audit) -> str:
    """The answer, and how much was read, in one line."""
    read = ", ".join(
        [
            counted(audit.commits, "commit"),
            counted(audit.entries, "entry", "entries"),
            counted(audit.lines, "log line"),
        ]
    )
    since = f" since {audit.since.on}" if audit.since else ""
    if audit.is_clean:
        return f"CLEAN{since}: no sign of tampering; read {read}"
    signs = counted(len(audit.signs), "sign") if audit.signs else "no new sign"
    before = f", and {audit.before} up to {audit.since.on}" if audit.since and audit.before else ""
    return f"NOT CLEAN: {signs}{since}{before}; read {read}"


def audited_line(checkpoint: Checkpoint) -> str:
    """Up to where a history was audited, by whom, and what was found."""
    by = f" by {checkpoint.by}" if checkpoint.by else ""
    found = counted(checkpoint.signs, "sign") if checkpoint.signs else "no sign"
    return (
        f"Audited through {checkpoint.through[:10]} on {checkpoint.on}{by}: "
        f"{counted(checkpoint.commits, 'commit')}, {found}"
    )


def text(audit: Audit, shallow: bool, page: Page, *, everything: bool = False) -> str:
    """The headline, the signs by kind, the corrections, and what the answer covers."""
    under = []
    if audit.first and audit.last:
        ends = " to ".join(f"{c.short} of {c.at:%Y-%m-%d}" for c in (audit.first, audit.last))
        under.append(f"From {ends}.")
    if audit.since:
        under.append(f"{audited_line(audit.since)}. `audit --whole` reads all of it again.")
    if audit.brought:
        brought = counted(audit.brought, "older entry", "older entries")
        under.append(f"It began with {brought}; what was before the first commit is not in git.")
    under += [
        f"Moved from {each.before or TOP} to {each.after or TOP} in {commit_line(each.commit)}."
        for each in audit.moves
    ]
    under += [SHALLOW] if shallow else []
    parts = []
    for sign, heading in HEADINGS.items():
        found = [f for f in audit.signs if f.sign is sign]
        parts.append(_section(f"{heading} ({len(found)})", found, page, everything))
    title = f"Corrections, openly made ({len(audit.corrections)}): these are usual"
    parts.append(_section(title, audit.corrections, page, everything))
    return page.answer(headline(audit), *parts, page.wrap(LIMITS), under=under)


def _section(title: str, found: Sequence[FoundSign], page: Page, everything: bool) -> str:
    shown = found if everything else found[:SHOWN]
    said = [line for each in shown for line in lines(each, page)]
    if len(shown) < len(found):
        said.append(f"  {len(found) - len(shown)} more; --all lists them")
    return titled(page.wrap(title, hang="  "), "\n".join(said))


def lines(found: FoundSign, page: Page, about: str = "") -> list[str]:
    """A sign in lines: what it is `about`, what differs, and which commit shows it."""
    about = about or " ".join(filter(None, (found.id, found.what))) or "the whole commit"
    said = [page.wrap(f"{about}: {found.why}" if found.why else about, "  ", "    ")]
    said += [page.wrap(each, "    ", "      ") for each in _differences(found)]
    return [*said, page.wrap(_where(found), "    ", "      ")]


def _differences(found: FoundSign) -> list[str]:
    """Each key with both values; of what is gone altogether, all that it said in one line."""
    if found.differs and not any(after for _, _, after in found.differs):
        return ["said " + ", ".join(f"{key} {before}" for key, before, _ in found.differs)]
    return [difference(*each) for each in found.differs]


def difference(key: str, before: str, after: str) -> str:
    """`on: 2024-03 -> 2025-03`, with `nothing` for what is not there."""
    return f"{key}: {before or 'nothing'} -> {after or 'nothing'}"


def _where(found: FoundSign) -> str:
    place = f", {found.path}:{found.line}" if found.line else ""
    place = place or (f", {found.path}" if found.path else "")
    return f"{commit_line(found.commit)}{place}"


def commit_line(commit: Commit | None) -> str:
    """`1a2b3c4d5e 2026-04-10 18:00 +0200 TO`."""
    if commit is None or not commit.id:
        return "not committed"
    return f"{commit.short} {commit.at:%Y-%m-%d %H:%M %z} {commit.author}"
