"""The page for a club's meeting: how many are fit, why the others are not, what comes due."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

from msgspec.structs import replace

from tankbook.output import costs
from tankbook.output.costs import sums
from tankbook.output.document import (
    Block,
    Document,
    Facts,
    Grid,
    Particulars,
    Section,
    Words,
    grid_of,
)
from tankbook.output.due import LATE_WORDS
from tankbook.output.may_fill import briefly, reason_data
from tankbook.output.page import counted, plain_date
from tankbook.output.tables import Column, Table, in_words
from tankbook.output.words import CAUTION, NOT_ADVICE
from tankbook.rules.answers import Tally
from tankbook.rules.committee import Away, Committee, LeftFleet, NotFit
from tankbook.rules.costs import LeftOut, Share, by_month, totals_of
from tankbook.rules.rental import Lending

Say = Callable[[str], str]

AT = "at"
"""The heading of whom a cylinder was sent to: a test house is no person, though it signs."""


def _reasons(found: NotFit) -> str:
    return "; ".join(map(briefly, found.reasons))


NOT_FIT = Table[NotFit](
    Column("id", lambda n: n.id, "cylinder"),
    Column("use", lambda n: n.use),
    Column("stands", lambda n: n.stands),
    Column("states", lambda n: list(n.states), csv=False),
    Column("", lambda n: ", ".join(n.states), "stands", in_words, wrap=True),
    Column("why", _reasons, "why not fit", wrap=True),
    Column("reasons", lambda n: [reason_data(r) for r in n.reasons], csv=False),
)
"""Why each may not be filled."""

OUT = Table[Lending](
    Column("id", lambda e: e.id, "cylinder"),
    Column("to", lambda e: e.to, "to", wrap=True),
    Column("since", lambda e: e.since, "since"),
    Column("until", lambda e: e.until, "due back"),
    Column("against", lambda e: e.against or None, "against it", none="", wrap=True),
)
AWAY = Table[Away](
    Column("id", lambda a: a.id, "cylinder"),
    Column("to", lambda a: a.to, AT, wrap=True),
    Column("for", lambda a: a.for_, "for", wrap=True),
    Column("since", lambda a: a.since, "since"),
    Column("against", lambda a: a.against or None, "against it", none="", wrap=True),
)
GONE = Table[LeftFleet](
    Column("id", lambda g: g.id, "cylinder"),
    Column("how", lambda g: g.how, "how"),
    Column("on", lambda g: g.on, "on"),
    Column("why", lambda g: g.why or None, "why", wrap=True),
)


def headline(found: Committee) -> str:
    """`38 cylinders: 16 fit, 12 not fit, 4 out or away`."""
    said = f"{counted(found.count, 'cylinder')}: {len(found.fit)} fit to be filled"
    if found.but_for:
        said += f", {len(found.but_for)} fit but for what is against every fill here"
    said += f", {len(found.not_fit)} not fit"
    elsewhere = len(found.not_here)
    return f"{said}, {elsewhere} out or away with nothing else against them"


def document(found: Committee, ledger: str, say: Say) -> Document:
    """The page. `say` takes people's names out of a text, or leaves it."""
    page = Document(
        title=f"{ledger}: for the committee",
        told=f"As of {plain_date(found.today)}. {headline(found)}.",
        sections=tuple(_sections(found)),
        foot=(CAUTION, NOT_ADVICE),
        fits=True,
        abreast=True,
    )
    return unnamed(page, say)


def _sections(found: Committee) -> Iterator[Section]:
    yield Section("glance", "At a glance", (_facts(found),))
    yield Section("not-fit", "Why not fit", tuple(_not_fit(found)))
    yield Section("due", "What comes due, and what it costs", tuple(_due(found)))
    yield Section("elsewhere", "Out and away", tuple(_elsewhere(found, late=True)))
    gone = grid_of("Lost; condemned or sold in the year behind", GONE, found.gone)
    yield Section("gone", "What was lost", (gone if found.gone else Words("Nothing."),))


def _facts(found: Committee) -> Facts:
    needs = found.ahead.needs
    tally = Tally.of(found.ahead.dues)
    late = LATE_WORDS[bool(tally.failed)]
    pairs = (
        ("cylinders", str(found.count)),
        ("fit to be filled", str(len(found.fit))),
        ("not fit", str(len(found.not_fit))),
        ("out or away, else fit", str(len(found.not_here))),
        ("lost", str(sum(g.how == "lost" for g in found.gone))),
        ("tests and checks to come", str(len(needs))),
        (late, str(tally.late)),
        ("not on record", str(tally.unknown)),
        ("cost of what has a price", sums(totals_of(n.price for n in needs))),
    )
    counts = (("not fit", found.not_fit), (late, tally.late), ("not on record", tally.unknown))
    bad = [name for name, is_bad in counts if is_bad]
    return Facts(pairs, tuple(bad))


def _not_fit(found: Committee) -> Iterator[Block]:
    if found.closed:
        yield Words(f"NOTHING MAY BE FILLED HERE NOW: {'; '.join(map(briefly, found.closed))}.")
    for id_ in found.broken:
        yield Words(f"NOT COUNTED: {id_}, whose file cannot be read.")
    if found.not_fit:
        yield grid_of("Each with every reason of its own", NOT_FIT, found.not_fit)
    else:
        yield Words("None has anything of its own against it.")
    if found.customers:
        said = counted(found.customers, "customer's cylinder", "customers' cylinders")
        yield Words(f"{said} left out, of this page and of its sums.")


def _due(found: Committee) -> Iterator[Block]:
    ahead = found.ahead
    shares = list(by_month(ahead))
    months = dict(zip(shares, map(plain_date, ahead.months), strict=True))
    columns = Table[Share](
        Column("", lambda share: months[share], "month"),
        *costs.shares("").pick("tests and checks").columns,
        Column("", lambda share: sums(share.total), "in all", right=True),
    )
    yield grid_of("By month", columns, shares)
    if stand := costs.not_kept(ahead):
        yield Words(f"In the whole ledger, as `due` counts: {'; '.join(stand)}.")
    theirs = LeftOut.CUSTOMER  # how many is said once
    told = replace(ahead, left_out=tuple(p for p in ahead.left_out if p[1] is not theirs))
    for note in costs.notes(told):
        yield Words(note)


def _elsewhere(found: Committee, *, late: bool) -> Iterator[Block]:
    if found.out:
        yield grid_of("Out", OUT, found.out, lambda e: late and e.is_late(found.today))
    if found.away:
        yield grid_of("Away", AWAY, found.away)
    if not (found.out or found.away):
        yield Words("Nothing.")


def unnamed(page: Document, say: Say) -> Document:
    """A document whose texts are said without names."""
    sections = (
        replace(section, blocks=tuple(_unnamed(block, say) for block in section.blocks))
        for section in page.sections
    )
    return replace(page, told=say(page.told), sections=tuple(sections))


def _unnamed(block: Block, say: Say) -> Block:
    match block:
        case Words():
            return Words(say(block.text))
        case Facts() | Particulars():
            return replace(block, pairs=tuple((name, say(said)) for name, said in block.pairs))
        case Grid():
            kept = {place for place, head in enumerate(block.headers) if head == AT}
            rows = (
                tuple(c if place in kept else say(c) for place, c in enumerate(row))
                for row in block.rows
            )
            return replace(block, rows=tuple(rows))
    return block


def not_fit(say: Say) -> Table[NotFit]:
    """`NOT_FIT`, whose texts are said without names."""
    return Table(*(c._replace(get=_saying(c.get, say)) for c in NOT_FIT.columns))


def _saying(get: Callable[[NotFit], Any], say: Say) -> Callable[[NotFit], Any]:
    return lambda line: _said(get(line), say)


def data(found: Committee, say: Say) -> Any:
    """The JSON shape of `committee`."""
    needs = found.ahead.needs
    told = _said(
        {
            "today": found.today,
            "cylinders": found.count,
            "fit": list(found.fit),
            "fit_but_for": list(found.but_for),
            "not_here": list(found.not_here),
            "not_fit": NOT_FIT.objects(found.not_fit),
            "closed": [reason_data(r) for r in found.closed],
            "due_by_month": [
                {"month": month, **share}
                for month, share in zip(
                    found.ahead.months,
                    costs.shares("").objects(by_month(found.ahead)),
                    strict=True,
                )
            ],
            "total": totals_of(n.price for n in needs),
            "overdue": (tally := Tally.of(found.ahead.dues)).late,
            "missing": tally.unknown,
            "unpriced": sum(n.price is None for n in needs),
            "out": OUT.objects(found.out),
            "gone": GONE.objects(found.gone),
            "broken": list(found.broken),
            "customers_left_out": found.customers,
        },
        say,
    )
    away = [{**each, "against": _said(each["against"], say)} for each in AWAY.objects(found.away)]
    return {**told, "away": away}


def _said(value: Any, say: Say) -> Any:
    """The same with every text said without names."""
    if type(value) is str:
        return say(value)
    if isinstance(value, dict):
        return {key: _said(inner, say) for key, inner in value.items()}
    if isinstance(value, list):
        return [_said(inner, say) for inner in value]
    return value
