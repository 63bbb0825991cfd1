"""`tankbook pages`."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, NamedTuple

from msgspec.structs import replace

from tankbook.acts.options import Arg, Flag
from tankbook.cli.answer import Answer
from tankbook.cli.options import Common

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterator

    from tankbook.cli.open_ledger import Desk
    from tankbook.output.pages import CylinderSeen, PageRun, WrittenAt
    from tankbook.records.commits import Commit
    from tankbook.rules.answers import Due


def pages(
    asked: Common,
    folder: Annotated[str, Arg("DIR", "A new or empty folder, or one of such pages.")],
    customers: Annotated[
        bool, Flag("Customers' cylinders too, and references of customers.")
    ] = False,
    initials: Annotated[bool, Flag("Initials of those who signed.")] = False,
    prices: Annotated[bool, Flag("What the next twelve months cost.")] = False,
) -> Answer:
    """Pages for a tablet at the counter: a board, one of each cylinder, the station, the month.

    They need neither network nor script. None says that a cylinder may be filled: each says DO NOT
    FILL and why, or that nothing was against it when it was written, and to which day at the most.
    Only what changed is written; run it again after each act, and every day.
    """
    from pathlib import Path

    from tankbook.cli.open_ledger import open_desk
    from tankbook.cli.progress import along
    from tankbook.ledger import page_folder
    from tankbook.output import pages as output
    from tankbook.output.page_names import BOARD
    from tankbook.output.screen import one_line

    desk = open_desk(asked, fleet=True, fit=True)
    where = Path(folder).expanduser()
    ledgers = page_folder.known_by(desk.root, desk.book.settings.ledger, _kind(asked))

    def whose(data: bytes) -> str | None:
        found = output.mark_of(data)
        return found[0] if found else None

    there = page_folder.look(where, desk.root, ledgers, whose)
    tip = "" if _kind(asked) else page_folder.made_from(desk.root)
    if tip:
        board = there.pages.get(BOARD, b"")
        page_folder.refuse_older(where / BOARD, desk.root, output.tip_of(board))
    git, of_day = _Git.of(desk), bool(_kind(asked))
    run = _run(desk, git, of_day=of_day, customers=customers, initials=initials, prices=prices)
    drafts = list(output.drafts(run))
    names = {draft.name for draft in drafts}
    page_folder.check(where, there, names)
    now = _stamp(asked, desk)
    made = [
        (d, output.written(d, ledgers[0], now, there.pages.get(d.name), tip))
        for d in along("pages made", drafts)
    ]
    new = [(draft.name, data) for draft, data in made if data is not None]
    stale = [n for n, _ in new if n in there.pages and not output.closes(there.pages[n])]
    closed = {draft.name for draft, _ in made if draft.closed}
    gone = page_folder.remove(where, sorted(there.pages.keys() - names), ledgers, whose)
    untrue = [name for name in stale if name in closed]
    if untrue or gone:
        untrue = [BOARD, *untrue]  # it leads to them, and gives leave as well

    def is_later(data: bytes) -> bool:
        found = output.mark_of(data)
        return found is not None and not found[1].may_stand(now) and not _kind(asked)

    shown = along("pages written", new)
    done = page_folder.write(where, shown, there.pages, is_later, untrue=untrue, stale=stale)
    apart = tuple(sorted(git.uncommitted))
    told = output.PagesDone(one_line(folder), len(drafts), tuple(done), tuple(gone), now, apart)
    desk = replace(desk, say=run.unnamed)
    if asked.json:
        return desk.data(output.data(told))
    return desk.answer(output.text(told, run, desk.page))


def _kind(asked: Common) -> str:
    """Pages of a day that was asked about stand in a folder of their own: written over the pages of
    now, they told nothing of what is against a fill today."""
    return "of a day" if asked.on or asked.as_of else ""


def _stamp(asked: Common, desk: Desk) -> WrittenAt:
    """Now; of a past day that was asked about, that day."""
    from tankbook.cli.open_ledger import moment
    from tankbook.output.pages import WrittenAt

    if _kind(asked):
        return WrittenAt(desk.today)
    now = desk.book.now or moment()  # as it was read: by now it may be another day
    return WrittenAt(now.replace(microsecond=0))


def _run(
    desk: Desk, git: _Git, *, of_day: bool, customers: bool, initials: bool, prices: bool
) -> PageRun:
    from tankbook.cli import loud
    from tankbook.ledger.contacts import names_and_numbers
    from tankbook.output.page import WIDTH, Page
    from tankbook.output.pages import PageRun
    from tankbook.output.unnamed import Unnamed
    from tankbook.rules.holding import station_until
    from tankbook.rules.summary import summary

    told = summary(desk.book, desk.today)
    until = desk.today if of_day else station_until(desk.book, desk.today, told.dues)
    return PageRun(
        told=told,
        page=Page(WIDTH, desk.shore),
        unnamed=Unnamed(
            desk.book, initials=initials, customers=customers, contacts=names_and_numbers(desk.root)
        ),
        seen=tuple(_seen(desk, git, told.dues, until, customers=customers)),
        station_until=until,
        station_change=git.change_of("station.yaml", "file"),
        besides="; ".join(filter(None, (desk.said, loud.loosening(desk.loosened, whole=False)))),
        prices=prices,
        ahead=desk.book.clock is not None and desk.today > desk.book.clock,
    )


def _seen(
    desk: Desk, git: _Git, dues: tuple[Due, ...], station: dt.date, *, customers: bool
) -> Iterator[CylinderSeen]:
    """Each cylinder and set with what its page says of it."""
    from collections import defaultdict

    from tankbook.cli.progress import along
    from tankbook.cli.show import card_of
    from tankbook.output.pages import CylinderSeen
    from tankbook.rules.fill_history import lines_about
    from tankbook.rules.holding import is_of_customer, nothing_against_until

    book = desk.book
    by_id = defaultdict(list)
    for item in dues:
        by_id[item.id].append(item)
    every = {*book.cylinders, *book.sets, *book.broken}
    ids = [i for i in sorted(every) if customers or not is_of_customer(book, i)]
    for id_ in along("pages", ids):
        card = card_of(desk, id_, dues=by_id[id_])
        about = [d for i in {id_, *card.answer.members} for d in by_id[i]]
        sides = card.answer.members if id_ in book.sets else ()
        commit, said = git.change_of(f"{'sets' if id_ in book.sets else 'cylinders'}/{id_}.yaml")
        yield CylinderSeen(
            card=card,
            until=nothing_against_until(book, card.answer, desk.today, about, station),
            commit=commit,
            git=said,
            lines=lines_about(book, id_),
            serials=tuple((m, book.cylinders[m].serial) for m in sides if m in book.cylinders),
        )


class _Git(NamedTuple):
    """What git says of the files that pages are made of: who changed each last, None where it
    cannot be asked, and which differ from the last commit."""

    changes: dict[str, Commit] | None
    uncommitted: frozenset[str]

    @classmethod
    def of(cls, desk: Desk) -> _Git:
        from tankbook.ledger.git import last_changes, uncommitted

        changes = last_changes(desk.root, desk.commit.id if desk.commit else "HEAD")
        return cls(changes, frozenset(() if desk.commit else uncommitted(desk.root) or ()))

    def change_of(self, path: str, what: str = "card") -> tuple[Commit | None, str]:
        """The commit of the last change of a file, and what git cannot say of it."""
        if self.changes is None:
            why = "is not under git, or git cannot be asked"
            return None, f"Its {what} {why}: no commit of its last change."
        if path not in self.changes:
            return None, f"Its {what} is in no commit yet."
        changed = path in self.uncommitted
        said = f"Its {what} was changed since, and that is in no commit yet." if changed else ""
        return self.changes[path], said
