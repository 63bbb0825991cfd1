"""Changes to the text of a ledger, as hands, editors, merges and machines make them.

Each operator is one kind of change to one place. The same `random.Random` draws the same change.
"""

from __future__ import annotations

import difflib
import random
import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from typing import Any

from ruamel.yaml import YAML

Data = Mapping[str, bytes]
Span = tuple[int, int]
Made = tuple[str, Span] | None
"""The new text of a file, and the part of the old one that was touched."""


@dataclass(frozen=True, slots=True)
class Site:
    """A place in a file: a `pair` of key and value, an `item` of a list, a `cell` or a `row` of a log."""

    kind: str
    key: str
    whole: Span
    name: Span
    value: Span
    flow: bool
    leaf: bool


@dataclass(frozen=True, slots=True)
class Mutant:
    """A changed ledger: by which operator, where, and whether that is where the hazard is."""

    operator: str
    where: str
    files: dict[str, bytes]
    at_hazard: bool


# --- places -------------------------------------------------------------------------------------


@lru_cache(maxsize=2048)
def sites(path: str, text: str) -> tuple[Site, ...]:
    return tuple(_log_sites(text) if path.endswith(".csv") else _record_sites(text))


def _record_sites(text: str) -> Iterator[Site]:
    try:
        top = YAML(pure=True).compose(text)
    except Exception:  # what the seed itself broke has no places
        return
    if top is not None:
        yield from _below(top, text, False)


def _below(node: Any, text: str, flow: bool) -> Iterator[Site]:
    flow = flow or bool(getattr(node, "flow_style", False))
    if node.id == "mapping":
        for key, value in node.value:
            name, inner = (
                (key.start_mark.index, key.end_mark.index),
                (value.start_mark.index, _end(value)),
            )
            leaf = value.id == "scalar"
            yield Site(
                "pair", key.value, (name[0], max(inner[1], name[1] + 1)), name, inner, flow, leaf
            )
            yield from _below(value, text, flow)
    elif node.id == "sequence":
        for each in node.value:
            inner = (each.start_mark.index, _end(each))
            yield Site("item", "", inner, (inner[0], inner[0]), inner, flow, each.id == "scalar")
            yield from _below(each, text, flow)


def _end(node: Any) -> int:
    """The end of the last thing in a node; a block's own mark lies at the next token."""
    if node.id == "scalar" or getattr(node, "flow_style", False) or not node.value:
        return int(node.end_mark.index)
    last = node.value[-1]
    return _end(last[1] if isinstance(last, tuple) else last)


def _log_sites(text: str) -> Iterator[Site]:
    names, start = text.split("\n", 1)[0].split(","), 0
    for number, row in enumerate(text.split("\n")):
        if number and row:
            yield Site(
                "row",
                "",
                (start, start + len(row)),
                (start, start),
                (start, start + len(row)),
                False,
                False,
            )
            at = start
            for name, cell in zip(names, row.split(","), strict=False):
                span = (at, at + len(cell))
                if cell:
                    yield Site("cell", name, span, span, span, False, True)
                at = span[1] + 1
        start += len(row) + 1


def lines_of(text: str, span: Span) -> Span:
    """The whole lines that a span touches, the last line end included."""
    end = text.find("\n", max(span[0], span[1] - 1))
    return text.rfind("\n", 0, span[0]) + 1, len(text) if end < 0 else end + 1


# --- operators on a place -------------------------------------------------------------------------

Operator = Callable[[str, Site, random.Random], Made]
AT_PLACES: dict[str, Operator] = {}


def at_places(operator: Operator) -> Operator:
    AT_PLACES[operator.__name__.removeprefix("_").replace("_", "-")] = operator
    return operator


def put(text: str, span: Span, new: str) -> Made:
    return None if text[slice(*span)] == new else (text[: span[0]] + new + text[span[1] :], span)


def _cut(text: str, site: Site) -> Made:
    """Without a pair, an item or a row, and what parted it from its neighbour."""
    start, end = site.whole
    if not site.flow:
        lines = lines_of(text, site.whole)
        if site.kind == "pair" and text[lines[0] : start].strip(" ").startswith("-"):
            return None  # the first key of an item holds the dash
        return put(text, lines, "")
    after = re.compile(r"\s*,\s*").match(text, end)
    before = re.search(r",\s*$", text[:start])
    return put(
        text, (start, after.end()) if after else (before.start() if before else start, end), ""
    )


@at_places
def key_dropped(text: str, site: Site, draw: random.Random) -> Made:
    return _cut(text, site) if site.kind == "pair" else None


@at_places
def key_renamed(text: str, site: Site, draw: random.Random) -> Made:
    name = text[slice(*site.name)]
    if site.kind != "pair" or len(name) < 3:
        return None
    at = draw.randrange(1, len(name) - 1)
    return put(
        text,
        site.name,
        draw.choice(
            [
                name[:at] + name[at + 1] + name[at] + name[at + 2 :],
                name[:at] + name[at + 1 :],
                name + "s",
            ]
        ),
    )


@at_places
def key_recased(text: str, site: Site, draw: random.Random) -> Made:
    name = text[slice(*site.name)]
    return (
        put(text, site.name, draw.choice([name.title(), name.upper(), name.replace("_", "-")]))
        if site.kind == "pair"
        else None
    )


@at_places
def key_doubled(text: str, site: Site, draw: random.Random) -> Made:
    if site.kind != "pair":
        return None
    if site.flow:
        return put(text, site.whole, f"{text[slice(*site.whole)]}, {text[slice(*site.whole)]}")
    lines = lines_of(text, site.whole)
    said = text[slice(*lines)]
    return None if said.lstrip().startswith("-") else put(text, lines, said + said)


def leaf(operator: Operator) -> Operator:
    """An operator on values that hold no others."""

    def only_leaves(text: str, site: Site, draw: random.Random) -> Made:
        return operator(text, site, draw) if site.leaf and text[slice(*site.value)] else None

    only_leaves.__name__ = operator.__name__
    return at_places(only_leaves)


@leaf
def value_emptied(text: str, site: Site, draw: random.Random) -> Made:
    return put(text, site.value, "")


@leaf
def value_nulled(text: str, site: Site, draw: random.Random) -> Made:
    return put(text, site.value, draw.choice(["~", "null", "none", "n/a", "?"]))


@leaf
def value_nudged(text: str, site: Site, draw: random.Random) -> Made:
    return _number(
        text, site, draw, lambda v: v + draw.choice([-1, 1]) * draw.choice([1, 0.01 * v, 0.1 * v])
    )


@leaf
def value_scaled(text: str, site: Site, draw: random.Random) -> Made:
    return _number(text, site, draw, lambda v: v * draw.choice([0, 0.1, 0.5, 2, 10, -1]))


def _number(text: str, site: Site, draw: random.Random, to: Callable[[float], float]) -> Made:
    said = text[slice(*site.value)]
    found = re.fullmatch(r"(\d+)(\.\d+)?( \D.*)?", said)
    if not found:
        return None
    places = len(found[2] or ".") - 1
    return put(
        text, site.value, f"{to(float(found[1] + (found[2] or ''))):.{places}f}{found[3] or ''}"
    )


UNITS = {
    "psi": ["bar", "kPa", "Psi", "psig"],
    "bar": ["psi", "mbar"],
    "L": ["cuft", "mL", "l"],
    "%": ["", "ppm"],
    "ppm": ["%", "mg/m3"],
    "years": ["months", "days"],
    "months": ["years"],
    "h": ["min", "d"],
    "mm": ["in"],
}


@leaf
def value_unit(text: str, site: Site, draw: random.Random) -> Made:
    found = re.fullmatch(r"(-?[\d.]+) (\D+)", text[slice(*site.value)])
    return (
        put(text, site.value, f"{found[1]} {draw.choice(UNITS[found[2]])}".strip())
        if found and found[2] in UNITS
        else None
    )


WORDS = [
    ["pass", "fail", "hold", "reject", "note"], ["refuse", "warn"], ["yes", "no"], ["open", "shut", "none", "closed"],
    ["air", "nitrox", "oxygen"], ["air", "nitrox32", "oxygen"], ["aluminium", "steel", "composite"], ["MV", "JO", "LK", "AB", "ZZ", "Z418", "maker"],
    ["annual", "internal", "new", "sticker-seen", "quick-look"], ["hydrostatic", "visual", "eddy-current", "ultrasonic", "hydro"],
    ["in-service", "held", "out", "rejected", "condemned", "lost", "sold", "awaiting-inspection"],
    ["issued", "seen", "withheld", "voided"], ["yoke", "din-200", "din-300", "convertible"], ["rental", "customer", "staff", "sale", "pool", "bank"],
    ["3/4-14 NPSM", "M25x2", "3/4-14 NGT", "M18x1.5"], ["6061", "6351", "not-6351"], ["DOT-3AL", "DOT-3AA", "TC-3ALM", "DOT-SP 99001", "UN ISO 7866"],
    ["crack", "suspected-crack", "heat", "gouge", "dent", "tool-mark", "paint", "salt-water"], ["fill", "reading", "drain", "void"],
    ["C1", "B1", "N1", "X9"], ["cga-grade-e", "cga-grade-d", "osha-1910-430"], ["law", "standard", "practice"], ["read", "memory", "inference"],
    ["inspector", "filler", "analyst", "valves"], ["breathing", "oxygen"], ["requalification", "repair"], ["us-dot", "uk", "bench"],
]  # fmt: skip


@leaf
def value_word(text: str, site: Site, draw: random.Random) -> Made:
    said = text[slice(*site.value)].strip("\"'")
    pools = [pool for pool in WORDS if said in pool]
    return (
        put(text, site.value, draw.choice([w for w in draw.choice(pools) if w != said]))
        if pools
        else None
    )


@leaf
def value_typo(text: str, site: Site, draw: random.Random) -> Made:
    said = text[slice(*site.value)]
    at = draw.randrange(len(said))
    new = draw.choice(
        [
            said[:at] + said[at + 1 :],
            said[:at] + said[at] + said[at:],
            said[:at] + said[at : at + 2][::-1] + said[at + 2 :],
        ]
    )
    return put(text, site.value, new) if new.strip() else None


LIKE = {"O": "0ОΟ", "0": "Oо", "I": "1lІ", "1": "Il", "l": "1I", "S": "5", "5": "S", "B": "8", "8": "B", "a": "а", "e": "е", "p": "р", "c": "с", "-": "‐–_", " ": "\u00a0_", "A": "А", "K": "К", "H": "Н"}  # fmt: skip


@leaf
def value_lookalike(text: str, site: Site, draw: random.Random) -> Made:
    places = [i for i in range(*site.value) if text[i] in LIKE]
    if not places:
        return None
    at = draw.choice(places)
    return put(text, (at, at + 1), draw.choice(LIKE[text[at]]))


@leaf
def value_spaced(text: str, site: Site, draw: random.Random) -> Made:
    said = text[slice(*site.value)]
    return put(
        text,
        site.value,
        draw.choice(
            [
                said + "  ",
                said + "\u00a0",
                said.replace(" ", "  "),
                said.replace(" ", ""),
                said + "\u200b",
            ]
        ),
    )


@leaf
def value_quoted(text: str, site: Site, draw: random.Random) -> Made:
    said = text[slice(*site.value)]
    return (
        None
        if site.kind == "cell" or {'"', "'", "\n"} & set(said)
        else put(text, site.value, draw.choice([f'"{said}"', f"'{said}'"]))
    )


@leaf
def value_recased(text: str, site: Site, draw: random.Random) -> Made:
    said = text[slice(*site.value)]
    return put(text, site.value, draw.choice([said.upper(), said.lower(), said.title()]))


@leaf
def value_borrowed(text: str, site: Site, draw: random.Random) -> Made:
    """Copied from another key of the same unit or kind: a disc that is the service pressure."""
    said = text[slice(*site.value)]
    like = re.escape(re.sub(r"\d[\d.]*", "#", said)).replace("\\#", r"\d[\d.]*")
    others = sorted(set(re.findall(rf"(?<![\w.]){like}(?![\w.])", text)) - {said})
    return put(text, site.value, draw.choice(others)) if re.search(r"\d", said) and others else None


def _date(
    text: str, site: Site, to: Callable[[int, int, int | None], tuple[int, int, int | None] | None]
) -> Made:
    found = re.search(r"(?<!\d)(\d{4})-(\d\d)(?:-(\d\d))?(?!\d)", text[slice(*site.value)])
    if not found:
        return None
    new = to(int(found[1]), int(found[2]), int(found[3]) if found[3] else None)
    if new is None:
        return None
    said = f"{new[0]:04}-{new[1]:02}" + ("" if new[2] is None else f"-{new[2]:02}")
    return put(text, (site.value[0] + found.start(), site.value[0] + found.end()), said)


@leaf
def date_ahead(text: str, site: Site, draw: random.Random) -> Made:
    return _date(text, site, lambda y, m, d: (draw.choice([2062, 2027, 2206]), m, d))


@leaf
def date_past(text: str, site: Site, draw: random.Random) -> Made:
    return _date(text, site, lambda y, m, d: (y - draw.choice([1, 2, 5, 10, 27, 100]), m, d))


@leaf
def date_turned(text: str, site: Site, draw: random.Random) -> Made:
    return _date(text, site, lambda y, m, d: (y, d, m) if d else None)


@leaf
def date_digit(text: str, site: Site, draw: random.Random) -> Made:
    def to(y: int, m: int, d: int | None) -> tuple[int, int, int | None]:
        which = draw.randrange(3)
        return (
            (y + draw.choice([-10, -1, 1, 10]), m, d)
            if not which
            else (y, draw.randrange(0, 14), d)
            if which == 1
            else (y, m, draw.randrange(0, 33))
        )

    return _date(text, site, to)


@leaf
def date_shortened(text: str, site: Site, draw: random.Random) -> Made:
    return _date(text, site, lambda y, m, d: (y, m, None) if d else (y, m, 1))


@leaf
def date_nearby(text: str, site: Site, draw: random.Random) -> Made:
    return _date(
        text,
        site,
        lambda y, m, d: draw.choice(
            [
                (2026, 11, 25),
                (2026, 11, 26),
                (2026, 11, 24),
                (2025, 11, 25),
                (y, m, max(1, (d or 1) - 1)),
            ]
        ),
    )


@at_places
def entry_dropped(text: str, site: Site, draw: random.Random) -> Made:
    return _cut(text, site) if site.kind in ("item", "row") and not site.leaf else None


@at_places
def entry_doubled(text: str, site: Site, draw: random.Random) -> Made:
    if site.kind not in ("item", "row") or site.leaf:
        return None
    said = text[slice(*site.whole)]
    if site.flow and "\n" not in text[text.rfind("\n", 0, site.whole[0]) + 1 : site.whole[0]].strip(
        "- {"
    ):
        block = text[: site.whole[0]].rstrip(" ").endswith("-")
        return (
            put(text, lines_of(text, site.whole), text[slice(*lines_of(text, site.whole))] * 2)
            if block
            else put(text, site.whole, f"{said}, {said}")
        )
    return put(text, lines_of(text, site.whole), text[slice(*lines_of(text, site.whole))] * 2)


@at_places
def entry_struck_out(text: str, site: Site, draw: random.Random) -> Made:
    """A void by somebody, on some day, rightly or not."""
    said = text[slice(*site.whole)]
    if site.kind != "item" or not said.startswith("{") or "void:" in said:
        return None
    void = f"void: {{why: {draw.choice(['wrong card', '', 'mistake'])}, by: {draw.choice(['AB', 'ZZ', 'JO', 'LK'])}, on: {draw.choice(['1999-01-01', '2026-11-24', '2062-01-01'])}}}"
    return put(text, site.whole, said[:-1] + ", " + void + "}")


# --- operators on files -----------------------------------------------------------------------------

FileOperator = Callable[[dict[str, bytes], str, random.Random], Span | None]
ON_FILES: dict[str, FileOperator] = {}
WHOLE: Span = (0, 1 << 30)


def on_files(operator: FileOperator) -> FileOperator:
    ON_FILES[operator.__name__.replace("_", "-")] = operator
    return operator


@on_files
def file_dropped(files: dict[str, bytes], path: str, draw: random.Random) -> Span | None:
    if path == "tankbook.yaml":
        return None
    del files[path]
    return WHOLE


@on_files
def file_renamed(files: dict[str, bytes], path: str, draw: random.Random) -> Span | None:
    stem, _, ending = path.rpartition(".")
    new = draw.choice(
        [
            f"{stem}.yml",
            f"{path}.txt",
            f"{path}~",
            f"{stem} copy.{ending}",
            f"{stem}.{ending.upper()}",
            f"old/{path}",
            f"{stem}x.{ending}",
        ]
    )
    files[new] = files.pop(path)
    return WHOLE


@on_files
def file_recased(files: dict[str, bytes], path: str, draw: random.Random) -> Span | None:
    folder, slash, name = path.rpartition("/")
    new = draw.choice(
        [
            folder.title() + slash + name,
            folder + slash + name.lower(),
            folder + slash + name.title(),
        ]
    )
    if new in files:
        return None
    files[new] = files.pop(path)
    return WHOLE


@on_files
def file_emptied(files: dict[str, bytes], path: str, draw: random.Random) -> Span | None:
    files[path] = draw.choice([b"", b"\n", b"\x00" * 64])
    return WHOLE


@on_files
def file_cut_at_line(files: dict[str, bytes], path: str, draw: random.Random) -> Span | None:
    lines = files[path].splitlines(keepends=True)
    if len(lines) < 2:
        return None
    kept = b"".join(lines[: draw.randrange(1, len(lines))])
    files[path] = kept
    return len(kept.decode("utf-8", "replace")), WHOLE[1]


@on_files
def file_cut_at_byte(files: dict[str, bytes], path: str, draw: random.Random) -> Span | None:
    kept = files[path][: draw.randrange(1, max(2, len(files[path])))]
    files[path] = kept
    return len(kept.decode("utf-8", "replace")), WHOLE[1]


@on_files
def line_dropped(files: dict[str, bytes], path: str, draw: random.Random) -> Span | None:
    lines = files[path].decode("utf-8", "replace").splitlines(keepends=True)
    if not lines:
        return None
    at = draw.randrange(len(lines))
    start = len("".join(lines[:at]))
    files[path] = "".join(lines[:at] + lines[at + 1 :]).encode()
    return start, start + len(lines[at])


@on_files
def lines_reordered(files: dict[str, bytes], path: str, draw: random.Random) -> Span | None:
    """Two entries, rows or top keys of one line each change places."""
    lines = files[path].decode("utf-8", "replace").splitlines(keepends=True)
    alike = [
        (i, j)
        for i, j in pairwise(range(1, len(lines)))
        if re.match(r" *- \{.*\}$|\w+: \S|\d{4}-", lines[i]) and lines[i][:3] == lines[j][:3]
    ]
    if not alike:
        return None
    i, j = draw.choice(alike)
    start = len("".join(lines[:i]))
    span = (start, start + len(lines[i] + lines[j]))
    lines[i], lines[j] = lines[j], lines[i]
    files[path] = "".join(lines).encode()
    return span


@on_files
def entry_moved_to_another_card(
    files: dict[str, bytes], path: str, draw: random.Random
) -> Span | None:
    text = files[path].decode("utf-8", "replace")
    others = sorted(p for p in files if p.startswith("cylinders/") and p != path)
    entries = [
        (m.start(), m.end(), m[0])
        for m in re.finditer(r"^  - \{[^\n]*(\n     [^\n]*)*\n", text, re.M)
    ]
    if not (path.startswith("cylinders/") and others and entries):
        return None
    start, end, said = draw.choice(entries)
    key = re.findall(r"^(\w+):", text[:start], re.M)[-1]
    to = draw.choice(others)
    files[path] = (text[:start] + text[end:]).encode()
    there = files[to].decode("utf-8", "replace")
    found = re.search(rf"^{key}:\n", there, re.M)
    files[to] = (
        there[: found.end()] + said + there[found.end() :] if found else f"{there}{key}:\n{said}"
    ).encode()
    return start, end


@on_files
def row_to_another_cylinder(files: dict[str, bytes], path: str, draw: random.Random) -> Span | None:
    text = files[path].decode("utf-8", "replace")
    cells = [s for s in sites(path, text) if s.kind == "cell" and s.key == "cylinder"]
    if not path.endswith(".csv") or not cells:
        return None
    span = draw.choice(cells).whole
    files[path] = (
        text[: span[0]]
        + draw.choice(["RB-109", "RB-1O1", "rb-101", "XX-1", "DB-01"])
        + text[span[1] :]
    ).encode()
    return span


@on_files
def comment_added(files: dict[str, bytes], path: str, draw: random.Random) -> Span | None:
    text = files[path].decode("utf-8", "replace")
    if path.endswith(".csv"):
        return None
    ends = [m.start() for m in re.finditer("\n", text)]
    at = draw.choice(ends) if ends else len(text)
    files[path] = (
        text[:at] + draw.choice(["  # looked at it", "\n# status: in-service", "\n"]) + text[at:]
    ).encode()
    return at, at


@on_files
def benign_key_added(files: dict[str, bytes], path: str, draw: random.Random) -> Span | None:
    if not path.startswith("cylinders/"):
        return None
    files[path] += draw.choice(
        [b"note: blue boot\n", b"diameter: 184 mm\n", b"price: 189.00 USD\n", b"bought: 2023-03\n"]
    )
    return len(files[path]), len(files[path])


@on_files
def line_ends_changed(files: dict[str, bytes], path: str, draw: random.Random) -> Span | None:
    data = files[path]
    files[path] = draw.choice(
        [
            data.replace(b"\n", b"\r\n"),
            data.rstrip(b"\n"),
            b"\xef\xbb\xbf" + data,
            data.replace(b"\n", b"\n\n") if path.endswith("yaml") else data + b"\n",
        ]
    )
    return 0, 0


OPERATORS = sorted([*AT_PLACES, *ON_FILES])


# --- drawing ------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Seeded:
    """A ledger, the card asked about, and where its hazard is: spans of text by path."""

    files: Data
    card: str
    at: Mapping[str, Sequence[Span]]


def seeded(
    ledger: Mapping[str, str], card: str, *others: Mapping[str, str], where: Sequence[str] = ()
) -> Seeded:
    """What differs from the other ledgers (the sound one) is the hazard; where a line is gone, its neighbours are."""
    at: dict[str, list[Span]] = {}
    for path, _, text in (w.partition("|") for w in where):
        at.setdefault(path, []).extend(_lines_with(ledger[path], text) if text else [WHOLE])
    for other in others:
        for path in sorted({*ledger, *other}):
            if ledger.get(path) != other.get(path):
                at.setdefault(path, []).extend(
                    _differing(other.get(path, ""), ledger[path]) if path in ledger else [WHOLE]
                )
    return Seeded({p: t.encode() for p, t in ledger.items()}, card, at)


def _lines_with(text: str, part: str) -> Iterator[Span]:
    found = [lines_of(text, m.span()) for m in re.finditer(re.escape(part), text)]
    assert found, part
    yield from found


def _differing(old: str, new: str) -> Iterator[Span]:
    before, lines = old.splitlines(keepends=True), new.splitlines(keepends=True)
    for what, _, _, start, end in difflib.SequenceMatcher(
        None, before, lines, autojunk=False
    ).get_opcodes():
        if what != "equal":
            first, final = (start, end) if start < end else (max(0, start - 1), start + 1)
            yield len("".join(lines[:first])), len("".join(lines[:final]))


def drawn(ledger: Seeded, draw: random.Random) -> Mutant:
    """One change: the operator first, then a place it fits, more often where the hazard is."""
    while True:
        made = changed(ledger, draw.choice(OPERATORS), draw)
        if made is not None:
            return made


def changed(ledger: Seeded, operator: str, draw: random.Random) -> Mutant | None:
    """One change by an operator, if it can be at the hazard; None where no place for it was found."""
    hot, near = sorted({*ledger.at, ledger.card} & set(ledger.files)), draw.random() < 0.6
    for attempt in range(40):
        path = draw.choice(hot if hot and draw.random() < 0.75 else sorted(ledger.files))
        files = dict(ledger.files)
        if operator in ON_FILES:
            span = ON_FILES[operator](files, path, draw)
        else:
            span = _at_a_place(ledger, operator, files, path, draw)
        if span is not None and files != ledger.files:
            there = _is_at_hazard(ledger, files, path, span)
            if there or not near or attempt >= 15:
                line = ledger.files[path][: span[0]].count(b"\n") + 1
                beside = path == ledger.card or path in ledger.at
                beside |= path == "tankbook.yaml" and operator in ON_FILES
                return Mutant(operator, f"{path}:{line}", files, there or beside)
    return None


def _is_at_hazard(ledger: Seeded, files: Data, path: str, span: Span) -> bool:
    """Whether a change met the hazard, or took or changed the card that is asked about, or the people
    and rules, as a whole."""
    elsewhere = path != ledger.card and files.get(ledger.card) != ledger.files.get(ledger.card)
    whole = span == WHOLE and path in (ledger.card, "tankbook.yaml")
    return whole or elsewhere or any(_meet(span, spot) for spot in ledger.at.get(path, ()))


def _at_a_place(
    ledger: Seeded, operator: str, files: dict[str, bytes], path: str, draw: random.Random
) -> Span | None:
    text = files[path].decode("utf-8")
    places = sites(path, text)
    near = [
        s
        for s in places
        if any(_meet(s.whole, spot) for spot in ledger.at.get(path, ()))
        and s.whole[1] - s.whole[0] < 400
    ]
    if not places:
        return None
    made = AT_PLACES[operator](
        text, draw.choice(near if near and draw.random() < 0.6 else places), draw
    )
    if made is None:
        return None
    files[path] = made[0].encode()
    return made[1]


def _meet(one: Span, other: Span) -> bool:
    return one[0] < other[1] and other[0] < max(one[1], one[0] + 1)
