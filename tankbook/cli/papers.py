"""What the papers share: the files that they are written into, and what is told of them."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, Annotated, Any

from msgspec.structs import replace

from tankbook.acts.options import Opt
from tankbook.cli.answer import DONE, Answer, RequestError
from tankbook.cli.printing import files_asked, write_into

if TYPE_CHECKING:
    from tankbook.cli.open_ledger import Desk
    from tankbook.output.document import Document
    from tankbook.records.fields import Record

Html = Annotated[str, Opt("FILE", "Write it as one page.")]
PdfToo = Annotated[str, Opt("FILE", "Print it into this.")]
PaperSize = Annotated[
    str, Opt("SIZE", "a4 or letter, with --pdf; letter where the ledger reads in psi.")
]


class Into:
    """Where a paper goes: files, and the size of the paper.

    Raises:
        LedgerError: a file cannot be written where it is asked for.
        RequestError: there is no such size.
    """

    def __init__(self, html: str = "", pdf: str = "", paper: str = "") -> None:
        self.files = files_asked({".html": html, ".pdf": pdf})
        self.paper = paper.casefold()
        if self.paper not in ("", "a4", "letter"):
            raise RequestError(f"--paper: {paper!r} is not known", "known: a4, letter")

    def answered(
        self,
        desk: Desk,
        document: Document,
        data: Any,
        *,
        json: bool,
        of: Iterable[Record] | None = None,
        code: int = DONE,
    ) -> Answer:
        """The paper written into its files, or told; in JSON its `data`.

        What could not be read, and might stand on it, is told on the paper as well.
        """
        from tankbook.output import report as output

        paper = self.paper or ("letter" if desk.shore == "psi" else "a4")
        told = document.told.removesuffix(".")
        whole = f"{told}. NOT WHOLE: {desk.said}" if desk.said else document.told
        paged = replace(document, told=whole)
        made = write_into(
            self.files, lambda ending: output.made(paged, ending, paper), desk.book, of=of
        )
        if json:
            return desk.data({**data, **made.data}, code)
        if self.files:
            said = f"{desk.page.wrap(document.told, hang='  ')}\nWritten to {made.names}.\n"
            return desk.answer(said + made.told(desk.page), code)
        return desk.answer(output.text(document, desk.page), code)
