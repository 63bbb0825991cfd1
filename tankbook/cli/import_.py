"""`tankbook import`."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from msgspec.structs import replace

from tankbook.acts.options import Arg, Flag, Opt
from tankbook.cli.answer import DONE, NO, Answer, RequestError, as_data
from tankbook.cli.recording import Bench, Given, Planned, file_named, run

if TYPE_CHECKING:
    from tankbook.acts.import_ import Imported
    from tankbook.output.imported import Left
    from tankbook.records.node import Finding
    from tankbook.records.sheet_mapping import SheetMapping
    from tankbook.records.tab import Tab

MOST_TOLD = 200
"""Of more cylinders than this, what keeps each from a YES is worked out for the rack alone."""


def import_(
    given: Given,
    file: Annotated[
        str, Arg("FILE", "A table: CSV with any separator, or a workbook (.xlsx); - reads a pipe.")
    ],
    map_: Annotated[
        str, Opt("FILE", "What its columns mean; written for you to correct where there is none.")
    ] = "",
    sheet: Annotated[str, Opt("NAME", "The sheet of a workbook, where no mapping says it.")] = "",
    all_: Annotated[bool, Flag("Record it: all of it in one act, or nothing.")] = False,
    good: Annotated[
        bool, Flag("Record the rows that can be taken, and leave those that cannot.")
    ] = False,
    rack: Annotated[
        str, Opt("FILE", "Print what keeps each from a YES into this PDF, to take to the rack.")
    ] = "",
    into: Annotated[
        str, Opt("DIR", "Make a whole ledger again in this new folder, of a file of `export`.")
    ] = "",
) -> Answer:
    """Take over your own spreadsheet: cylinders, ten years of tests, who has what, remarks.

    Without --map it prints what it takes the columns for, a mapping to be corrected; what only you
    can know is left open there. With it, it tells what comes of each row and writes nothing, until
    --all or --good is said. What is on file already stays as it is: twice the same file changes
    nothing.
    """
    if all_ and good:
        raise RequestError("--all and --good do not go together", "give one of them")
    from tankbook.cli.open_ledger import day_done

    path, today = file_named("FILE", file), day_done(given.common)
    if path.suffix.casefold() in (".yaml", ".yml"):
        wrong = f"{path.name} is a mapping or a record, and no table"
        raise RequestError(wrong, "name the table: `tankbook import TABLE --map FILE.yaml`")
    if into:
        from tankbook.cli.export import put_back

        if map_ or all_ or good or rack:
            raise RequestError("--into goes alone", "an export needs no mapping")
        return put_back(file, into, json=given.common.json)
    if not map_:
        if all_ or good or rack:
            raise RequestError("what its columns mean is not said", "give the mapping with --map")
        return _guessed(given, path, sheet, None, today)
    from tankbook.ledger.mapping import is_there, read_mapping
    from tankbook.ledger.ordinary import STANDARD_INPUT

    mapped = file_named("--map", map_)
    if str(mapped) == STANDARD_INPUT:
        raise RequestError("--map: `-` is no file", "name one; it is written where there is none")
    if not is_there(mapped):
        return _guessed(given, path, sheet, mapped, today)
    mapping, findings = read_mapping(mapped)
    if mapping is None:
        return _refused(given, findings)
    tab = _table(path, mapping, sheet)
    if all_ or good:
        return _recorded(given, tab, mapping, good, rack)
    return _looked_at(given, tab, mapping, rack)


def _table(path: Path, mapping: SheetMapping, sheet: str) -> Tab:
    from tankbook.ledger.tables import read_table

    return read_table(
        path,
        sheet=mapping.sheet or sheet,
        separator=mapping.separator or "",
        encoding=mapping.encoding or "",
    )


def _guessed(given: Given, path: Path, sheet: str, into: Path | None, today: dt.date) -> Answer:
    """What the columns seem to hold: the mapping printed, or written where it is asked for."""
    from tankbook.acts.tab_guess import guess
    from tankbook.ledger.mapping import write_mapping
    from tankbook.ledger.tables import read_table
    from tankbook.output import mapping_file as output
    from tankbook.output.page import Page, counted
    from tankbook.output.screen import one_line

    tab = read_table(path, sheet=sheet)
    found = guess(tab, today)
    text, asked = output.text(tab, found), output.questions(found)
    if into is not None:
        write_mapping(into, text)
    if given.common.json:
        return as_data(output.data(tab, found))
    if into is None:
        return Answer(text, utf8=True)
    page = Page()
    what = f"correct it, and answer {counted(len(asked), 'question')}" if asked else "look it over"
    head = f"Wrote {one_line(str(into))}: {what}"
    told = page.paragraphs((f"* {one_line(each)}" for each in asked), hang="  ")
    notes = page.paragraphs((f"{one_line(each)}" for each in tab.notes), hang="  ")
    return Answer(page.answer(head, told, notes))


def _refused(given: Given, findings: list[Finding]) -> Answer:
    """Why a mapping cannot be used: everything that is wrong with it, or not answered."""
    from tankbook.output import recorded as output
    from tankbook.output.page import Page
    from tankbook.records.edits import Refusal

    refusal = Refusal("nothing was recorded", (), tuple(findings))
    if given.common.json:
        return as_data(output.data(refusal), NO)
    return Answer(output.text(refusal, Page()), NO)


class _OnBench:
    """What was planned, and on which bench."""

    imported: Imported
    bench: Bench


def _planned(
    tab: Tab, mapping: SheetMapping, *, good: bool, look: bool = False
) -> tuple[_OnBench, Callable[[Bench], Planned]]:
    from tankbook.acts.import_ import import_table

    found = _OnBench()

    def planned(bench: Bench) -> Planned:
        found.bench = bench
        found.imported = import_table(
            bench.book, bench.today, tab, mapping, by=bench.by, good=good, look=look
        )
        return found.imported.planned

    return found, planned


def _recorded(given: Given, tab: Tab, mapping: SheetMapping, good: bool, rack: str) -> Answer:
    found, planned = _planned(tab, mapping, good=good)
    answer = run(given, planned)
    if rack and answer.code == DONE:
        return _with_rack(answer, found, rack, given.common.json)
    return answer


def _looked_at(given: Given, tab: Tab, mapping: SheetMapping, rack: str) -> Answer:
    """What comes of each row; nothing is written."""
    from tankbook.output import imported as output
    from tankbook.records.edits import Refusal

    found, planned = _planned(tab, mapping, good=True, look=True)
    answer = run(replace(given, dry_run=True), planned)
    imported = found.imported
    if isinstance(imported.planned, Refusal):  # of the mapping
        return answer
    left = _left(found) if len(imported.ids) <= MOST_TOLD or rack else ()
    code = NO if imported.cannot else DONE
    if given.common.json:
        said = as_data(output.data(imported, left), code, answer.notes)
    else:
        said = Answer(output.text(imported, left, found.bench.desk.page), code, answer.notes)
    return _with_rack(said, found, rack, given.common.json) if rack else said


def _left(found: _OnBench) -> Left:
    from tankbook.acts.import_ import what_is_left

    return tuple(what_is_left(found.imported, found.bench.today))


def _with_rack(answer: Answer, found: _OnBench, rack: str, json: bool) -> Answer:
    """The answer, with what keeps each cylinder from a YES printed beside it."""
    from tankbook.cli.printing import print_form_into
    from tankbook.output.imported import rack_form

    left, desk = _left(found), found.bench.desk
    form = rack_form(left, desk.book.settings.ledger, desk.today)
    beside = replace(desk, book=found.imported.book)
    printed = print_form_into(rack, form, beside, [card.id for card, _ in left])
    if json:
        return replace(answer, notes=(*answer.notes, *printed.notes))
    return replace(answer, text=answer.text + "\n" + printed.said("For the rack", desk.page))
