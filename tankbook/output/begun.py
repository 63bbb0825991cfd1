"""What `init` wrote, and what to do next."""

from __future__ import annotations

from collections.abc import Sequence
from shlex import quote
from typing import Any

from tankbook.ledger import modelines
from tankbook.ledger.names import STATION_FILE
from tankbook.output.page import Page
from tankbook.output.screen import one_line

ASKED = {
    "uk": (
        "Asked: was a written risk assessment of inner corrosion made or adopted, and is it "
        "followed? Then write `risk_assessed:` in tankbook.yaml; without one, every answer asks "
        "for a yearly look inside."
    )
}
"""What a rule set asks of a ledger that is begun with it."""

STATION = "`tankbook station` says what the station lacks; what else it has goes into station.yaml."
"""The next step where there is a station."""

NEXT = (
    "Cylinders come in by `tankbook book-in`, from their shoulders, or by `tankbook import`, from "
    "a table."
)
REST = "Who signs, and prices, go into tankbook.yaml. docs/ledger-format.md has every key."

NO_GIT = (
    "It is not under git (--git was not given), so nothing keeps its past: `git -C {folder} init`, "
    "`git -C {folder} add -A`, `git -C {folder} commit -m Begun`."
)
SCHEMAS = f"{modelines.SCHEMAS}/"
CHECKED = f"{SCHEMAS}  by which an editor completes and checks them: docs/editor.md"


def data(folder: str, written: Sequence[str], rules: Sequence[str] = ()) -> dict[str, Any]:
    """The JSON shape of `init`; `asked` is what the rule sets ask of whoever begins."""
    asked = [ASKED[each] for each in rules if each in ASKED]
    return {"ledger": folder, "written": list(written), "asked": asked}


def text(
    folder: str, written: Sequence[str], page: Page, rules: Sequence[str] = (), *, alone: bool
) -> str:
    """The folder, each thing written in it, what its rule sets ask, and the next steps; the
    schemas are told as one, and so is that it is `alone`: no git keeps it."""
    lines = [name for name in written if not name.startswith(SCHEMAS)]
    lines += [CHECKED] if SCHEMAS in written else []
    folder_said = quote(one_line(folder))
    git = (NO_GIT.format(folder=folder_said),) if alone else ()
    steps = (NEXT, *((STATION,) if STATION_FILE in written else ()), REST, *git)
    return page.answer(
        f"Begun: a ledger in {one_line(folder)}",
        page.paragraphs(ASKED[each] for each in rules if each in ASKED),
        page.paragraphs((f"Next, in {one_line(folder)}:", *steps)),
        under=[f"  {each}" for each in lines],
    )
