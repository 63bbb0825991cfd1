"""`tankbook export`."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from tankbook.acts.options import Arg, Flag
from tankbook.cli.answer import DONE, NO, Answer, RequestError, as_data
from tankbook.cli.options import Common
from tankbook.cli.recording import file_named

if TYPE_CHECKING:
    from tankbook.cli.open_ledger import LedgerSource
    from tankbook.ledger.taken_out import OutTable


def export(
    asked: Common,
    file: Annotated[str, Arg("FILE", "Write it there: a name in .xlsx, .csv or .json.")],
    contacts: Annotated[bool, Flag("With names and telephone numbers of contacts.csv.")] = False,
) -> Answer:
    """Take the whole ledger out: one workbook, CSV or JSON.

    Tables of the cylinders, of each kind of entry and of the fill log, to go on with elsewhere; and
    every line of every file, of which `import FILE --into DIR` makes the ledger again, byte by
    byte. What git has of the past is not in it, nor names and telephone numbers.
    """
    from tankbook.cli.open_ledger import asked_of, page
    from tankbook.ledger.handed_out import check_out, write_out
    from tankbook.ledger.taken_out import ENDINGS, unread, written
    from tankbook.output.page import counted
    from tankbook.output.screen import one_line

    path = file_named("FILE", file)
    ending = path.suffix.casefold()
    if ending not in ENDINGS:
        known = ", ".join(ENDINGS)
        raise RequestError(f"FILE: {one_line(file)} is of no kind that is known", f"known: {known}")
    check_out(path, ending)
    files, tables, pending, before = asked_of(asked, lambda source: _taken(source, contacts))
    if pending:
        raise RequestError(f"an act is not finished: {pending}", "see `tankbook pending`")
    write_out(path, written(tables, ending, path.name), ending)
    rows = {each.name: len(each.rows) for each in tables}
    whole = len(_put_back(files, tables))
    left_out = unread(files)
    code = NO if left_out else DONE  # whoever takes it out each night is to hear of it
    if asked.json:
        told = {"file": file, "files": whole, "rows": rows, "cannot_be_read": left_out}
        told |= {"taken_out_before": before}
        return as_data(told, code)
    head = (
        f"Exported {counted(rows.get('cylinders', 0), 'cylinder')}, "
        f"{counted(rows.get('fills', 0), 'log line')}, {counted(whole, 'file')} "
        f"into {one_line(file)}"
    )
    if left_out:
        named = ", ".join(map(one_line, left_out))
        head += (
            f"; CANNOT BE READ, and so in no table but the last: {named} (see `tankbook validate`)"
        )
    if before:
        head += f"; left out, for they are earlier exports: {', '.join(map(one_line, before))}"
    said = ", ".join(f"{name} {count}" for name, count in rows.items() if name not in _OWN)
    back = f"Back again: tankbook import {one_line(file)} --into DIR"
    paper = page()
    said = paper.wrap(f"Tables: {said}", hang="  ")
    return Answer(paper.answer(head, said, paper.wrap(back)), code)


_SCHEMAS = "schemas"
"""Under which an export says that the schemas of editors lay in the ledger."""
_OWN = ("about", "sums", "files")


def _taken(
    source: LedgerSource, contacts: bool
) -> tuple[dict[str, bytes], list[OutTable], str, list[str]]:
    from tankbook.ledger.taken_out import collect, has_schemas, tables_of, taken_before

    files = collect(source.files, contacts)
    about = [("ledger", source.files.name), ("as of", f"{source.today}")]
    if has_schemas(source.files):
        about.append((_SCHEMAS, "made anew"))
    pending = getattr(source.files, "pending", ())
    unfinished = str(pending[0]) if pending else ""
    return files, tables_of(files, about), unfinished, taken_before(source.files)


def _put_back(files: Mapping[str, bytes], tables: Sequence[OutTable]) -> dict[str, bytes]:
    """The files of a ledger that is made again: those that an export has, and the schemas of
    editors, which are made anew where it had any."""
    from tankbook.ledger.modelines import SCHEMAS
    from tankbook.ledger.taken_out import said_of
    from tankbook.output.schema import all_files

    schemas = all_files() if said_of(tables, _SCHEMAS) else {}
    return {**files, **{f"{SCHEMAS}/{name}": data for name, data in schemas.items()}}


def put_back(file: str, into: str, *, json: bool) -> Answer:
    """The ledger that was taken out, made again in a new folder."""
    from tankbook.cli.open_ledger import page
    from tankbook.ledger.bundle import put_folder
    from tankbook.ledger.ordinary import given
    from tankbook.ledger.taken_out import files_of, tables_in
    from tankbook.output.page import counted
    from tankbook.output.screen import one_line

    path, folder = file_named("FILE", file), file_named("--into", into)
    tables = tables_in(given(path), path.name)
    files = _put_back(files_of(tables, path.name), tables)
    put_folder(Path(folder), files)
    if json:
        return as_data({"folder": into, "files": sorted(files)})
    paper = page()
    head = f"Made {one_line(into)} again: {counted(len(files), 'file')}, each as it was"
    more = "Its past is with git, which an export has nothing of: begin anew with `git init`."
    return Answer(paper.answer(head, paper.wrap(more)))
