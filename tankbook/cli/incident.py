"""`tankbook incident` and `tankbook incidents`."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Annotated, NamedTuple

from msgspec.structs import replace

from tankbook.acts.options import Arg, Flag, Note, Opt
from tankbook.cli.answer import DONE, Answer, RequestError, shown
from tankbook.cli.options import Common, Csv
from tankbook.cli.papers import Html
from tankbook.cli.printing import Pdf, Written, files_asked, notes_on, write_into
from tankbook.cli.recording import Bench, Given, Planned, run, time_of
from tankbook.units import PartialDate, UnitError

if TYPE_CHECKING:
    from tankbook.acts.incident import Happened
    from tankbook.output.page import Page
    from tankbook.records.book import Book
    from tankbook.records.counter import Incident
    from tankbook.units import GaugePressure


def incident(
    given: Given,
    what: Annotated[str, Arg("WHAT", "What happened, as it was seen.")],
    ids: Annotated[
        list[str] | None, Arg("ID", "Cylinders or sets; a tail will do, or a range: 1..12.")
    ] = None,
    *,
    hour: Annotated[str, Opt("HH:MM", "At what time of the day, if known.", "--at")] = "",
    place: Annotated[str, Opt("TEXT", "Where it happened.")] = "",
    position: Annotated[
        Sequence[str], Opt("NAME", "A fill position; it is failed, with its whip.")
    ] = (),
    whip: Annotated[Sequence[str], Opt("NAME", "A whip; it is failed.")] = (),
    bank: Annotated[Sequence[str], Opt("NAME", "A bank; it is set aside.")] = (),
    compressor: Annotated[
        Sequence[str], Opt("NAME", "A compressor or booster; it is out of use.")
    ] = (),
    reading: Annotated[
        Sequence[str], Opt("NAME=PRESSURE", "What a gauge showed: 14=2100, B1=4100.")
    ] = (),
    saw: Annotated[
        Sequence[str], Opt("TEXT", "Who saw it: initials or a reference; no name.")
    ] = (),
    told: Annotated[Sequence[str], Opt("TEXT", "Who was told, and how.")] = (),
    other: Annotated[
        Sequence[str], Opt("TEXT", "A cylinder that is not in the ledger, in words.")
    ] = (),
    note: Note = "",
    again: Annotated[
        bool, Flag("It is on record already, and happened once more or is told more fully.")
    ] = False,
    pdf: Annotated[str, Opt("FILE", "Print its sheet into this PDF as well.")] = "",
) -> Answer:
    """Record that something happened, hold all that is named in it, and print its sheet.

    Cylinders are held, whips and positions failed, banks set aside, compressors out of use. Gauges
    are as given, else as last recorded; nothing later than the day and its hour is gathered.
    `incidents` prints it again.
    """
    files = files_asked({".pdf": pdf})
    made: list[_SheetMade] = []

    def planned(bench: Bench) -> Planned:
        from tankbook.acts.incident import incident as plan
        from tankbook.records.edits import Refusal

        texts = (place, note, pdf)
        lists = [list(each or ()) for each in (position, whip, bank, saw, told, other, compressor)]
        said, reasons = _said(bench, what, ids or [], hour, texts[:2], lists, list(reading or ()))
        now = bench.at
        got = plan(
            bench.book, said, by=bench.by, on=bench.today, now=now, reasons=reasons, again=again
        )
        if isinstance(got, Refusal):
            return got
        act, entry = got
        made[:] = [_sheet(entry, act.subjects, bench, printed=bool(files))]
        return act

    answer = run(given, planned, again=again)
    if answer.code != DONE or not made:
        return answer
    sheet, data, notes, book, page = made[0].told_by(given)
    if files and data is not None and not given.dry_run:
        written = write_into(files, lambda _: data, book)
        sheet = f"Sheet: {written.names}\n{notes.told(page)}"
    if given.common.json:
        return replace(answer, notes=(*answer.notes, *notes.notes))
    if given.dry_run and files:
        return answer
    return replace(answer, text=f"{answer.text}\n{sheet}")


class _SheetMade(NamedTuple):
    """The sheet as text and, where it is asked for, as PDF; what could not be printed on that."""

    text: str
    pdf: bytes | None
    notes: Written
    book: Book
    page: Page
    entry: Incident | None = None
    runs: tuple[str, ...] = ()

    def told_by(self, given: Given) -> tuple[str, bytes | None, Written, Book, Page]:
        """The sheet once the incident is on file: what could not be printed is told with its line
        there, which nobody knew before it was written."""
        notes = self.notes
        if self.runs and self.entry is not None and not given.dry_run:
            from tankbook.cli.open_ledger import open_desk

            counter = open_desk(given.common).book.counter
            every = counter.incidents if counter else ()
            now = [e for e in every if (e.on, e.what) == (self.entry.on, self.entry.what)]
            if now:
                settings = self.book.settings
                notes = Written("", notes_on(self.runs, (now[-1], settings), "the incident"))
        return self.text, self.pdf, notes, self.book, self.page


def _sheet(entry: Incident, held: Sequence[str], bench: Bench, *, printed: bool) -> _SheetMade:
    """The sheet as text, and as PDF where that is asked for.

    Raises:
        RequestError: something on it does not fit; nothing is recorded then.
    """
    from tankbook.output import incident as output
    from tankbook.rules.incident_held import set_aside

    settings, page = bench.book.settings, bench.desk.page
    aside = set_aside(bench.book, entry, held)
    text = output.text(entry, settings, page, aside)
    if not printed:
        return _SheetMade(text, None, Written(), bench.book, page)
    from tankbook.output.paper.face import PaperError, written_on
    from tankbook.output.paper.incident import incident_pdf
    from tankbook.records.counter import COUNTER_FILE

    try:
        data, runs = written_on(lambda: incident_pdf(entry, settings, page, aside))
    except PaperError as error:
        mend = f"{error.mend}, or leave --pdf out" if error.mend else "leave --pdf out"
        raise RequestError(str(error), mend) from error
    place = {f"{COUNTER_FILE}: incidents": entry}
    notes = Written("", notes_on(runs, (settings,), "the incident", place))
    return _SheetMade(text, data, notes, bench.book, page, entry, runs)


def _said(
    bench: Bench,
    what: str,
    ids: Sequence[str],
    hour: str,
    texts: tuple[str, ...],
    lists: list[list[str]],
    reading: Sequence[str],
) -> tuple[Happened, list[str]]:
    """What is said of it, read with the ledger, and every reason why some of it cannot be."""
    from tankbook.acts.incident import Happened
    from tankbook.ledger.errors import LedgerError

    reasons, found, at = list[str](), list[str](), None
    for each in ids:
        try:
            found += bench.every([each])
        except (LedgerError, RequestError) as error:
            reasons.append(f"{error}; what is none of the ledger's is said in words: --other")
    if hour:
        try:
            at = time_of(bench, hour)
        except RequestError as error:
            reasons.append(str(error))
    positions, whips, banks, saw, told, other, compressors = lists
    read = dict[str, "GaugePressure"]()
    for each in reading:
        try:
            name, pressure = _read(bench, each, banks)
        except (LedgerError, RequestError) as error:
            reasons.append(str(error))
            continue
        if name in read:
            reasons.append(f"--reading {name}: it is read twice")
        read[name] = pressure
    place, note = texts
    said = Happened(
        what=what, ids=tuple(dict.fromkeys(found)), at=at, place=place, positions=positions,
        whips=whips, banks=banks, compressors=compressors, readings=read, saw=saw, told=told,
        other=other, note=note,
    )  # fmt: skip
    return said, reasons


def _read(bench: Bench, text: str, banks: Sequence[str]) -> tuple[str, GaugePressure]:
    """What `14=2100` says: the whole id, or the label of a bank, and the pressure.

    Raises:
        LedgerError: no id, or more than one, is meant.
        RequestError: it is none.
    """
    name, sign, value = text.rpartition("=")
    if not sign or not name.strip():
        raise RequestError(f"--reading: {shown(text)} says no reading", "write 14=2100 or B1=4100")
    pressure = bench.pressure("--reading", value)
    known = {b.casefold(): b for b in banks}
    if name.casefold() in known:
        return known[name.casefold()], pressure
    return bench.resolve([name])[0], pressure


# --- again ---------------------------------------------------------------------------------------


def incidents(
    asked: Common,
    which: Annotated[
        str, Arg("DATE", "The sheet of that day's again, or DATE#2 for the second of it.")
    ] = "",
    *,
    csv: Csv = False,
    html: Html = "",
    pdf: Pdf = "",
) -> Answer:
    """The incidents on record by their days, or the sheet of one again."""
    from tankbook.cli.open_ledger import open_desk
    from tankbook.output import incident as output
    from tankbook.rules.incident_held import set_aside

    desk = open_desk(asked)
    every = _numbered(desk.book.counter.incidents if desk.book.counter else ())
    if not which:
        if pdf or html:
            raise RequestError("--pdf and --html are of one sheet", "say of which day")
        if csv:
            return desk.table(output.COLUMNS, every)
        if asked.json:
            return desk.data(output.COLUMNS.objects(every))
        return desk.answer(output.listed(every, desk.page))
    if csv:
        raise RequestError("--csv is of the list", "leave the day out")
    number, entry = _one(which, every)
    settings, aside = desk.book.settings, set_aside(desk.book, entry)
    files = files_asked({".html": html, ".pdf": pdf})

    def made(ending: str) -> bytes:
        if ending == ".pdf":
            from tankbook.output.paper.incident import incident_pdf

            return incident_pdf(entry, settings, desk.page, aside)
        from tankbook.output.html import page as html_page

        return html_page(output.document(entry, settings, desk.page, aside)).encode()

    printed = write_into(files, made, desk.book, of=(entry, settings))
    if asked.json:
        data = output.sheet_data(number, entry)
        aside_data = [{"name": name, "said": said} for name, said in aside]
        return desk.data({**data, "set_aside": aside_data, **printed.data})
    said = printed.said(output.heading(entry), desk.page)
    return desk.answer(said or output.text(entry, settings, desk.page, aside))


def _numbered(entries: Sequence[Incident]) -> list[tuple[int, Incident]]:
    """Each with its number among all of its day as the file has them, by their days."""
    counts = dict[object, int]()
    found = []
    for each in entries:
        counts[each.on] = counts.get(each.on, 0) + 1
        found.append((counts[each.on], each))
    return sorted(found, key=lambda i: (i[1].on.first, i[0]))


def _one(which: str, every: Sequence[tuple[int, Incident]]) -> tuple[int, Incident]:
    """The incident that a day, with a number or without, names.

    Raises:
        RequestError: there is none, or there are several.
    """
    day, _, number = which.partition("#")
    try:
        on = PartialDate.parse(day)
    except UnitError:
        raise RequestError(
            f"{shown(which)} is no day", "write 2026-11-24 or 2026-11-24#2"
        ) from None
    same = [(n, e) for n, e in every if e.on == on]
    if number:
        same = [(n, e) for n, e in same if str(n) == number]
    if not same:
        raise RequestError(
            f"no incident {shown(which)} is on record", "`tankbook incidents` lists them"
        )
    standing = [(n, e) for n, e in same if e.void is None] if not number else same
    if len(standing or same) > 1:
        listed = ", ".join(f"{day}#{n}" for n, _ in same)
        raise RequestError(f"{len(same)} incidents are of {day}", f"say which: {listed}")
    return (standing or same)[0]
