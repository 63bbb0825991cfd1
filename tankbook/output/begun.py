"""What `init` wrote, and what to do next."""

from __future__ import annotations

from collections.abc import Sequence
from shlex import quote
from typing import Any

from tankbook.ledger import modelines
from tankbook.ledger.begin import Ungit
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

KEPT = "It is under git, and each act is a commit."
NO_GIT = "It is not under git ({why}), so nothing keeps its past. To have it kept: {steps}."
INSIDE = "No act is a commit: {why}. To have it so: {steps}."
COMMITS = "write `commit: yes` into {folder}/tankbook.yaml"
FIRST = "`git -C {folder} init`", "`git -C {folder} add -A`", "`git -C {folder} commit -m Begun`"
FIRST_INSIDE = "`git -C {folder} add .`", "`git -C {folder} commit -m Begun .`"
SCHEMAS = f"{modelines.SCHEMAS}/"
CHECKED = f"{SCHEMAS}  by which an editor completes and checks them: docs/editor.md"


def data(folder: str, written: Sequence[str], rules: Sequence[str] = ()) -> dict[str, Any]:
    """The JSON shape of `init`; `asked` is what the rule sets ask of whoever begins."""
    asked = [ASKED[each] for each in rules if each in ASKED]
    return {"ledger": folder, "written": list(written), "asked": asked}


def not_kept(folder: str, ungit: Ungit) -> str:
    """That no git keeps a ledger, why, and the whole of what makes each of its acts a commit."""
    lines = COMMITS, *(FIRST_INSIDE if ungit.inside else FIRST)
    said = quote(one_line(folder))
    steps = ", ".join((*ungit.first, *(line.format(folder=said) for line in lines)))
    return (INSIDE if ungit.inside else NO_GIT).format(why=one_line(ungit.why), steps=steps)


def text(
    folder: str,
    written: Sequence[str],
    page: Page,
    rules: Sequence[str] = (),
    ungit: Ungit | None = None,
    *,
    kept: bool = False,
) -> str:
    """The folder, each thing written in it, what its rule sets ask, and the next steps; the
    schemas are told as one; so is why no git keeps it, or that it is `kept`."""
    lines = [name for name in written if not name.startswith(SCHEMAS)]
    lines += [CHECKED] if SCHEMAS in written else []
    git = (not_kept(folder, ungit),) if ungit else (KEPT,) if kept else ()
    steps = (NEXT, *((STATION,) if STATION_FILE in written else ()), REST, *git)
    return page.answer(
        f"Begun: a ledger in {one_line(folder)}",
        page.paragraphs(ASKED[each] for each in rules if each in ASKED),
        page.paragraphs((f"Next, in {one_line(folder)}:", *steps)),
        under=[f"  {each}" for each in lines],
    )
