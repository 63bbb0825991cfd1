"""`tankbook init`."""

from __future__ import annotations

import shlex
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer
from msgspec.structs import replace

from tankbook.acts.options import Arg, Flag, Opt
from tankbook.cli.answer import Answer, RequestError, as_data, shown
from tankbook.cli.options import Json, common
from tankbook.units import SAID_LIKE
from tankbook.units.patterns import pattern

if TYPE_CHECKING:
    from tankbook.ledger.begin import BegunBank, BegunBooster
    from tankbook.records.settings import RiskAssessed
    from tankbook.records.words import Shore
    from tankbook.units import Money

INITIALS = pattern(r"[A-Za-z]{1,5}")
_ANSWERS = frozenset("y yes n no ja nein oui non si ok none nil q quit".split())


def is_answer(text: str) -> bool:
    """Whether what stands in the place of initials or a label answers a question that was not
    asked."""
    return text.casefold() in _ANSWERS


def init(
    context: typer.Context,
    folder: Annotated[str, Arg("DIR", "The ledger's folder.")] = "",
    name: Annotated[str, Opt("NAME", "What the ledger is called; else the folder's name.")] = "",
    units: Annotated[
        str, Opt("psi|bar", "What the gauges read in; psi unless said otherwise.")
    ] = "",
    rules: Annotated[
        list[str] | None,
        Opt("RULES", "A rule set, or several as uk,eu-adr. us-dot unless said otherwise."),
    ] = None,
    station: Annotated[
        bool | None,
        Flag(
            "Whether there is a fill station; there is one unless said otherwise.",
            "--station/--no-station",
        ),
    ] = None,
    bank: Annotated[
        list[str] | None,
        Opt(
            "NAME=PRESSURE/VOLUME",
            "A bank of air: B1=4500/48L, its marked pressure and its water volume; may be given "
            "again.",
        ),
    ] = None,
    compressor: Annotated[str, Opt("NAME", "The compressor, by its label: C1.")] = "",
    booster: Annotated[
        list[str] | None,
        Opt(
            "NAME[=FROM][/PRESSURE]",
            "A booster: BO1=B1,C1/4500, what it takes from and how high it fills; may be given "
            "again.",
        ),
    ] = None,
    price: Annotated[
        list[str] | None,
        Opt("TEST=PRICE", "What a test costs: 'hydro=45.00 USD'; may be given again."),
    ] = None,
    by: Annotated[str, Opt("XX", "Initials of whoever signs where nobody else is said.")] = "",
    person: Annotated[
        list[str] | None,
        Opt("XX", "Initials of somebody else who signs; may be given again."),
    ] = None,
    git: Annotated[
        bool | None,
        Flag(
            "Whether it is put under git, each act a commit from the first on; it is unless said "
            "otherwise, where git is there and knows who commits.",
            "--git/--no-git",
        ),
    ] = None,
    risk_assessed: Annotated[
        str,
        Opt(
            "DATE=WHERE",
            "The written risk assessment of the UK's rules: when --by made or adopted it, and "
            "where it is written.",
        ),
    ] = "",
    schemas: Annotated[
        bool | None,
        Flag(
            "Whether the schemas by which an editor completes and checks its files are written "
            "into it; they are unless said otherwise.",
            "--schemas/--no-schemas",
        ),
    ] = None,
    json: Json = False,
) -> Answer:
    """Begin a ledger: settings, a station to fill in, the folders, and what git needs to know.

    At a terminal, and without an option, it asks a few questions. Nothing that is already there is
    overwritten.
    """
    from tankbook.cli import keys
    from tankbook.cli.open_ledger import clock, page
    from tankbook.ledger import shipped
    from tankbook.ledger.begin import Begun, Ungit, begin, under_git, ungit
    from tankbook.ledger.names import tops
    from tankbook.output import begun as output
    from tankbook.records.words import Shore

    asked = common(context, json, "", "")
    known = [s for s in shipped.rule_set_names() if s not in shipped.EVERYWHERE]
    said = (name, units, rules, by, bank, compressor, booster, price, person, risk_assessed)
    left_out: Ungit | None = None
    if not (asked.json or any(said)) and {station, git, schemas} == {None} and keys.is_terminal():
        from tankbook.cli.init_prompt import asked as ask
        from tankbook.units import PartialDate

        root, of = ask(folder, PartialDate.of(clock()), known)
        folder = str(root)
        if not of.git and next(tops(root), None) is None:
            left_out = Ungit("the answer was no")
    else:
        from tankbook.cli.init_prompt import rule_set_meant

        if not folder:
            raise RequestError("no folder is named", "name a folder: `tankbook init DIR`")
        if (units or "psi") not in list(Shore):
            raise RequestError(f"--units: {units!r} is no unit of a ledger", "write psi or bar")
        said_sets = (each.strip() for text in rules or ["us-dot"] for each in text.split(","))
        sets = tuple(dict.fromkeys(rule_set_meant(each, known) for each in said_sets))
        for each in sets:
            if each not in known:
                raise RequestError(f"--rules: no rule set {each!r}", f"known: {', '.join(known)}")
        if not any(shipped.rule_set(each).stands_alone for each in sets):
            named = " ".join(f"--rules {shlex.quote(each)}" for each in sets)
            alone = ", ".join(s for s in known if shipped.rule_set(s).stands_alone)
            raise RequestError(
                f"--rules: nothing is filled by {', '.join(sets)} alone: it is no"
                " fill rule by itself",
                f"name the national set that is followed beside it, one of {alone}:"
                f" `tankbook init {shlex.quote(folder)} --rules uk {named}`; where none is of your"
                " country, the nearest, and what its law asks more in rules/*.yaml",
            )
        for option, each in (("--by", by), *(("--person", p) for p in person or ())):
            if (each or option == "--person") and not INITIALS.fullmatch(each):
                wrong = f"{option}: {shown(each)} are no initials"
                raise RequestError(wrong, "write one to five letters")
        root, shore = Path(folder), Shore(units or "psi")
        pump = label_of("--compressor", compressor)
        banks = banks_of(bank or (), shore)
        if git is None:
            left_out = ungit(root, by.upper())
        elif not git and next(tops(root), None) is None:
            left_out = Ungit("--no-git was given")
        of = Begun(
            name or root.resolve().name, shore, sets,
            station=station is not False, by=by.upper(), git=git is not False and left_out is None,
            risk=risk_of(risk_assessed, by.upper(), sets) if risk_assessed else None,
            banks=banks, compressor=pump, boosters=boosters_of(booster or (), shore, banks, pump),
            prices=_prices(price or ()), people=tuple(p.upper() for p in person or ()),
        )  # fmt: skip
        if not of.station and (of.banks or of.compressor or of.boosters):
            raise RequestError(
                "--bank, --compressor and --booster are of a station", "leave --no-station out"
            )
    if schemas is not False:
        from tankbook.output.schema import all_files

        of = replace(of, schemas=all_files())
    written = begin(root, of)
    left = under_git(root, written) if of.git else ""
    notes: tuple[str, ...] = (f"tankbook: {left}",) if left else ()
    sets = () if of.risk else of.rules
    if asked.json:
        notes += (f"tankbook: {output.not_kept(folder, left_out)}",) if left_out else ()
        return as_data(output.data(folder, written, sets), notes=notes)
    return Answer(
        output.text(folder, written, page(), sets, left_out, kept=of.git and not left), notes=notes
    )


def risk_of(text: str, by: str, rules: Sequence[str]) -> RiskAssessed:
    """A written risk assessment as it is said: `2026-01=binder 3`. Raises RequestError."""
    from tankbook.cli import option_values
    from tankbook.cli.open_ledger import clock
    from tankbook.records.settings import RiskAssessed

    option = "--risk-assessed"
    if "uk" not in rules:
        raise RequestError(f"{option}: only the rules of uk ask for one", "leave it out")
    like = "write the day, and where it is written: '2026-01=binder 3'"
    otherwise = RequestError(f"{option}: {shown(text)} is no risk assessment", like)
    day, document = option_values.pair(text, otherwise)
    if not by:
        raise RequestError(f"{option}: nobody answers for it", "say who made or adopted it: --by")
    on = option_values.date(option, day)
    if on.first > clock():
        raise RequestError(f"{option}: {day} is yet to come", "say when it was made or adopted")
    return RiskAssessed(on=on, by=by, document=document)


def banks_of(texts: Sequence[str], shore: Shore) -> tuple[BegunBank, ...]:
    """Banks as they are said: `B1=4500/48L`. Raises RequestError."""
    from tankbook.cli import option_values
    from tankbook.ledger.begin import BegunBank

    found: dict[str, BegunBank] = {}
    for text in texts:
        name, sign, size = (part.strip() for part in text.partition("="))
        if not (sign and name and size):
            like = f"write it as B1={SAID_LIKE[shore.value].new_bank}"
            raise RequestError(f"--bank: {shown(text)} is no bank", like)
        if name.casefold() in found:
            raise RequestError(f"--bank: {shown(name)} is given twice", "each has its own label")
        made = option_values.bank("--bank", size, shore)
        found[name.casefold()] = BegunBank(label_of("--bank", name), *made)
    return tuple(found.values())


def boosters_of(
    texts: Sequence[str], shore: Shore, banks: Sequence[BegunBank], compressor: str
) -> tuple[BegunBooster, ...]:
    """Boosters as they are said: `BO1`, `BO1=B1,C1`, `BO1=B1/4500`. Raises RequestError."""
    from tankbook.cli import option_values
    from tankbook.ledger.begin import BegunBooster

    feeds = {n.casefold(): n for n in (*(b.name for b in banks), compressor) if n}
    known = ", ".join(feeds.values()) or "none; --bank and --compressor name them"
    taken, found = set(feeds), []
    for text in texts:
        named, _, high = (part.strip() for part in text.partition("/"))
        name, sign, said = (part.strip() for part in named.partition("="))
        sources = [each.strip() for each in said.split(",")] if sign else []
        if not name or not all(sources) or (text.rstrip().endswith("/")):
            wrong = f"--booster: {shown(text)} is no booster"
            raise RequestError(wrong, "write it as BO1, BO1=B1,C1 or BO1=B1/PRESSURE")
        if name.casefold() in taken:
            wrong = f"--booster: {shown(name)} is given twice"
            raise RequestError(wrong, "each bank, compressor and booster has its own label")
        for each in sources:
            if each.casefold() not in feeds:
                wrong = f"--booster: {shown(name)} takes from {shown(each)}, which is not there"
                raise RequestError(wrong, f"known: {known}")
        taken.add(name.casefold())
        pressure = option_values.pressure("--booster", high, shore) if high else None
        sources = list(dict.fromkeys(feeds[each.casefold()] for each in sources))
        found.append(BegunBooster(label_of("--booster", name), tuple(sources), pressure))
    return tuple(found)


def _prices(texts: Sequence[str]) -> tuple[tuple[str, Money], ...]:
    from tankbook.cli import option_values
    from tankbook.records.words import Work
    from tankbook.rules.costs import COUNTED, PRICED_AS
    from tankbook.units import Money

    known = dict.fromkeys([*(PRICED_AS.get(o, o.value) for o in COUNTED), *(w.value for w in Work)])
    found: dict[str, Money] = {}
    for text in texts:
        name, sign, sum_ = (part.strip() for part in text.partition("="))
        if not sign or name not in known:
            wrong = f"--price: {shown(text)} names nothing that has a price"
            raise RequestError(wrong, f"write it as hydro=45.00 USD; known: {', '.join(known)}")
        if name in found:
            raise RequestError(f"--price: {shown(name)} is given twice", "each has one price")
        found[name] = option_values.read("--price", sum_, Money.parse, "write it as 45.00 USD")
    return tuple(found.items())


def label_of(option: str, text: str) -> str:
    """The label of a part of a station; empty for none. Raises RequestError."""
    from tankbook.cli import option_values
    from tankbook.records.kinds import ID

    label: str = option_values.read(option, text, ID.parse) if text else ""
    return label
