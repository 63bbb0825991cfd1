"""The text of a ledger's files as the campaign's judge reads it, without the program.

YAML is loaded safely with every value left the text it is; `format.yaml` says which keys there are.
"""

from __future__ import annotations

import csv
import datetime as dt
import io
import re
from collections.abc import Collection, Iterator
from functools import lru_cache
from pathlib import Path
from typing import Any

from ruamel.yaml import YAML
from ruamel.yaml.error import YAMLError

Node = dict[str, Any]
Kinds = dict[str, tuple[str, bool]]
SAYS_SOMETHING = {"result", "plus", "star", "gate", "drop", "master", "subject", "state", "starts"}
"""Keys that stand for something where they are left out, and so must not be there and empty."""
WORDS = frozenset(
    [
        "result",
        "sticker",
        "what",
        "method",
        "for",
        "valve",
        "to",
        "outlet",
        "material",
        "service",
        "use",
        "status",
        "isolator",
        "gate",
        "good_until",
        "basis",
        "verified",
        "skill",
        "gas",
        "kind",
        "subject",
        "state",
        "plus",
        "star",
        "insert_in",
        "master",
        "drop",
        "dip_tube",
        "grade",
        "permit",
        "non_return_valves",
    ]
)
UNSEEN = re.compile("[\u200b\u2060\xad]")
SCALES = {
    "bar": 14.5037738,
    "kPa": 0.145037738,
    "MPa": 145.037738,
    "year": 12,
    "years": 12,
    "mL": 0.001,
    "cuft": 28.3168466,
    "cuin": 0.016387064,
}


@lru_cache(maxsize=1)
def shapes() -> dict[str, Kinds]:
    """For each record its keys: the kind of each, and whether it must be there."""
    text = YAML(typ="base", pure=False).load(Path(__file__).with_name("format.yaml").read_text())
    return {name: dict(map(_kind, said.split())) for name, said in text.items()}


def _kind(word: str) -> tuple[str, tuple[str, bool]]:
    name, _, kind = word.partition(":")
    return name.rstrip("!"), (kind, name.endswith("!"))


@lru_cache(maxsize=8192)
def parsed(data: bytes) -> Any:
    """The node of a file, everything text; None where it cannot be read."""
    try:
        text = data.decode("utf-8-sig")
        return None if UNSEEN.search(text) else _tidy(YAML(typ="base", pure=False).load(text))
    except (YAMLError, UnicodeDecodeError, ValueError):
        return None


def _tidy(node: Any, key: str = "") -> Any:
    """Blanks around a value are nothing, and a word is the same in capitals."""
    if isinstance(node, dict):
        return {k: _tidy(v, k) for k, v in node.items()}
    if isinstance(node, list):
        return [_tidy(each, key) for each in node]
    if not isinstance(node, str):
        return node
    return node.strip().lower() if key in WORDS else node.strip()


@lru_cache(maxsize=8192)
def faults(data: bytes, shape: str) -> tuple[str, ...]:
    """What is not written as the format has it."""
    return tuple(_faults(parsed(data), shape))


def faults_of(node: Any, shape: str) -> tuple[str, ...]:
    """As `faults`, of a node inside a file."""
    return tuple(_faults(node, shape))


def _faults(node: Any, shape: str) -> Iterator[str]:
    if not isinstance(node, dict):
        yield f"it is no {shape}"
        return
    kinds = shapes()[shape]
    yield from (
        f"{k} is missing"
        for k, (_, must) in kinds.items()
        if must and node.get(k) in (None, "", [])
    )
    for key, value in node.items():
        kind = kinds.get(key, (None, False))[0]
        if kind is None:
            yield f"{key} is unknown"
        elif value in (None, ""):
            yield from [f"{key} says nothing"] if key in SAYS_SOMETHING else []
        elif kind.startswith(("[", "{")):
            several = kind.startswith("[") and isinstance(value, list)
            for each in value if several else [value]:
                yield from _faults(each, kind[1:-1])
        elif not fits(value, kind):
            yield f"{key}: {value!r} is not {kind or 'text'}"


def fits(value: Any, kind: str) -> bool:
    """Whether a value is of a kind."""
    if kind == "l":
        return all(fits(v, "") for v in listed(value))
    if not isinstance(value, str) or value in ("~", "null"):
        return False
    match kind:
        case "":
            return True
        case "d" | "D":
            return day(value) is not None and (kind == "d" or len(value) == 10)
        case "P" if value == "none":
            return True
        case "p" | "P":
            return quantity(value) is not None and bool(re.search(r"psi|bar|Pa", value))
        case "q":
            return quantity(value) is not None
        case "y":
            return value in ("yes", "no")
        case "n":
            return value.isdigit()
    return value in kind.split("|")


def quantity(text: Any) -> float | None:
    """A number with its unit: pressures in psi, periods in months, all else as it stands."""
    found = (
        re.fullmatch(r"(-?\d+(?:\.\d+)?)\s*([^\d\s].*)", text.strip())
        if isinstance(text, str)
        else None
    )
    return float(found[1]) * SCALES.get(found[2], 1) if found else None


def day(text: Any) -> tuple[dt.date, dt.date] | None:
    """The first and the last day that a day or a month stands for."""
    found = (
        re.fullmatch(r"([0-9]{4})-([0-9]{2})(?:-([0-9]{2}))?", text)
        if isinstance(text, str)
        else None
    )
    try:
        start = dt.date(int(found[1]), int(found[2]), int(found[3] or 1)) if found else None
    except ValueError:
        return None
    return (
        None
        if start is None or found is None
        else (start, start if found[3] else month_end(start, 0))
    )


def month_end(start: dt.date, months: float) -> dt.date:
    """The last day of the month that lies so many months later."""
    index = start.year * 12 + start.month + int(months)
    return dt.date(min(index // 12, 9999), index % 12 + 1, 1) - dt.timedelta(1)


def listed(value: Any) -> list[Any]:
    """A list; a single value stands for a list of one."""
    return value if isinstance(value, list) else [value] if value not in (None, "") else []


def alike(serial: Any) -> str:
    """A serial or an id with what the eye takes for one another made the same, zeros before it lost."""
    said = plain(serial).upper().translate(str.maketrans("OIQL", "0101"))
    return re.sub(r"(?<!\d)0+(?=\d)", "", said)


def plain(text: Any) -> str:
    """Its letters and digits, capitals aside."""
    return re.sub(r"[\W_]", "", str(text or "")).casefold()


def maker(card: Node) -> str:
    """The maker's name without what companies are called."""
    words = re.findall(r"[^\W_]+", str(card.get("maker") or "").casefold())
    return " ".join(w for w in words if w not in ("co", "company", "corp", "inc", "ltd", "limited"))


def origin(card: Node) -> tuple[str, str]:
    """What it was made to, and the month: by the maker's first test, else as the card says."""
    tests = [e for e in listed(card.get("requalified")) if e.get("by") == "maker"]
    return specification(card), str(tests[0]["on"])[:7] if tests else str(card.get("made"))[:7]


def at_70(pressure: float | None, temperature: Any) -> float | None:
    """A gauge reading of a hot cylinder as it will be at 70 degF, by the absolute temperatures."""
    hot = re.fullmatch(r"(\d+) degF", str(temperature))
    return (
        pressure
        if pressure is None or hot is None
        else pressure * 529.67 / max(529.67, float(hot[1]) + 459.67)
    )


def us_mark(marks: str) -> re.Match[str] | None:
    """The specification and the pressure of a US shoulder."""
    return re.search(
        r"(?:DOT|ICC)[- ]?(3ALM?|3AAM?|SP ?\d+) ?([0-9]{4})(?![0-9])", " ".join(marks.split())
    )


GRAVE = re.compile(
    r"crack|salt[ -]?water|sea[ -]?water|\bfire|burn|corro|bulg|gouge|over-?heat", re.I
)
DENIED = re.compile(r"\b(no|not|without|never|free of)\b[^,;.]*$", re.I)


NEVER = re.compile(r"crack|\bfire|burn|bulg|over-?heat", re.I)


def is_never(note: str) -> bool:
    """Whether a note speaks of what is never accepted, and does not say that it is not there."""
    return any(not DENIED.search(note[: m.start()]) for m in NEVER.finditer(note))


def is_grave(note: str) -> bool:
    """Whether a note speaks of something grave, and does not say that it is not there."""
    return any(not DENIED.search(note[: m.start()]) for m in GRAVE.finditer(note))


WAY = re.compile(
    r"\b(neck|valve)\b[a-z ]*\b(bent|crooked|askew|sheared)|(leak|bubbl|hiss)\w* (at|from) the neck",
    re.I,
)


def giving_way(card: Node) -> Iterator[Node]:
    """The refusals, and the holds let go, that speak of a neck or a valve that may give way; and what
    is noted beside a look that passed, or on the card for ever, of what is never accepted."""
    said = [(e, [*listed(e.get("reasons")), e.get("note")]) for e in listed(card.get("refused"))]
    said += [(e, [e.get("why")]) for e in listed(card.get("held")) if e.get("released")]
    for entry, words in said:
        found = [m for each in words if each for m in WAY.finditer(str(each))]
        if any(not re.search(r"\b(no|not|without)\b", m[0], re.I) for m in found):
            yield entry
    for e in listed(card.get("inspected")):
        found = [f.get("note") for f in listed(e.get("findings")) if not f.get("what")]
        if verdict(e) == "pass" and any(n and is_never(n) for n in (e.get("note"), *found)):
            yield e
    if is_never(card.get("note") or ""):
        yield {"on": "9998-01"}


def bare(thread: Any) -> str:
    """A thread's letters and digits; a mechanical thread with its last letter or without."""
    return re.sub(r"[^a-z0-9]|(?<=nps)m", "", str(thread).lower())


def is_empty(said: Any) -> bool:
    """Whether what somebody wrote says that there is nothing to say."""
    return str(said or "").strip(" .-").lower() in {"", "n/a", "none", "nil", "no"}


def verdict(inspection: Node) -> str:
    """What an inspection says, the gravest of its findings counting over its result."""
    said = {inspection.get("result"), *(f["result"] for f in listed(inspection.get("findings")))}
    return next((word for word in ("reject", "hold") if word in said), "pass")


def specification(card: Node) -> str:
    """What it was made to, in capitals; the permit's number where nothing else is said."""
    said = listed(card.get("specification")) or listed((card.get("permit") or {}).get("number"))
    return re.sub(r"(DOT-SP)(?=[0-9])", r"\1 ", " ".join(map(str, said)).upper())


def series(card: Node) -> str:
    """The kind of specification: `permit`, `DOT` or `UN`; empty for any other."""
    spec = specification(card)
    known = (("permit", r"DOT-?(SP|E)"), ("DOT", r"(DOT|TC|ICC)-?3"), ("UN", "UN"))
    return next((word for word, like in known if re.search(like, spec)), "")


LEVELS = {"annual": 3, "new": 3, "internal": 2}
"""How full each shipped checklist is: 3 inside and outside, 2 inside, 1 outside only, 0 unknown."""


def is_too_much(finding: Node, card: Node) -> bool:
    """Whether a finding is one that no inspection may pass: a bulge, a gouge in aluminium over 0.8 mm or 6 in."""
    deep, long = ((quantity(finding.get(k)) or 0) for k in ("depth", "length"))
    gouge = finding.get("what") == "gouge" and card.get("material") == "aluminium"
    return finding.get("what") == "bulge" or (gouge and (deep > 0.8 or long > 153))


def ratings(station: Node) -> list[float]:
    """What the rated parts of the station stand, in psi."""
    parts = [p for k in ("whips", "positions", "adaptors", "panel") for p in listed(station.get(k))]
    return [rating for p in parts if (rating := quantity(p.get("rating"))) is not None]


def permit(card: Node) -> Node:
    """What its permit says; beside a plain specification it says nothing."""
    return {} if series(card) in ("DOT", "UN") else card.get("permit") or {}


def speaks_of(row: Node, card: Node) -> bool:
    """Whether a notice is about a cylinder, by maker, serial and month of making, the shoulder's before the card's."""
    months = [m for m, _ in stamped(card.get("marks"))[:1]] or [card.get("made")]
    dates = [first({"on": m}) for m in months if m] + [
        first(e) for e in listed(card.get("requalified"))
    ]
    maker, serial = str(card.get("maker")).lower(), alike(card.get("serial"))
    return (
        any(str(m).lower() in maker for m in listed(row.get("maker")) or [""])
        and (
            not row.get("serial_from")
            or alike(row["serial_from"]) <= serial <= alike(row.get("serial_to"))
        )
        and (
            not row.get("made_before")
            or min(dates, default=dt.date.max) < first(row, "made_before")
        )
    )


def rows(data: bytes) -> list[Node]:
    """The lines of a log, each by the headings of its columns."""
    text = io.StringIO(data.decode("utf-8-sig", "replace"), newline="")
    said = [
        {k.strip(): str(v or "").strip() for k, v in row.items() if k}
        for row in csv.DictReader(text)
    ]
    return [{**row, **{k: row.get(k, "").lower() for k in ("act", "gas")}} for row in said]


def stamped(text: Any) -> list[tuple[str, bool]]:
    """The months stamped in a text (first test `06A19`, retest `06 Z418 24 +`), each with its plus."""
    seen = " ".join(str(text or "").upper().split())
    found = re.findall(
        r"(?<!\w)(0[1-9]|1[0-2]|[1-9](?= ))(?: ?[A-Z]| ?[A-Z]\d{3} ?)(\d\d)(?!\w)(?! \d{3}) ?(\+?)",
        seen,
    )
    return [(f"{'20' if int(y) <= 26 else '19'}{y}-{m:0>2}", bool(plus)) for m, y, plus in found]


def first(entry: Node, key: str = "on") -> dt.date:
    """The first day of an entry's date; long ago where there is none."""
    found = day(entry.get(key))
    return found[0] if found else dt.date.min


def last(entry: Node, key: str = "on") -> dt.date:
    """The last day of an entry's date; never where there is none."""
    found = day(entry.get(key))
    return found[1] if found else dt.date.max


def names(entry: Node, word: str, other: Node) -> bool:
    """Whether an entry says that it clears another, by its word and the day it was made or came back."""
    said = [
        {"on": each.partition(" ")[2].strip()}
        for each in listed(entry.get("clears"))
        if each.partition(" ")[0] == word
    ]
    return any(
        first(d) <= last(other, key) and first(other, key) <= last(d)
        for d in said
        for key in ("on", "back")
        if other.get(key) and day(d["on"])
    )


def is_stray(path: str, files: Collection[str]) -> bool:
    """Whether a file would be taken for a record by a person, and is none by its name: a copy beside
    the record itself is none."""
    if re.sub(r"( copy)?(\.\w+?)(\.txt|~)?$", r"\2", path).casefold() in {
        p.casefold() for p in files if p != path
    }:
        return False
    folder, _, name = path.rpartition("/")
    place = re.fullmatch(r"(cylinders|sets|rules|checklists|fills|)", folder)
    read = (
        place
        and name.endswith(".csv" if folder == "fills" else ".yaml")
        and (folder or name in ("tankbook.yaml", "station.yaml"))
    )
    like = re.match(r"(sets|rules|fills)/[^/]+$|station\b", path.casefold()) and re.search(
        r"\.(ya?ml|csv)(\.txt|~)?$", path.casefold()
    )
    return bool(like) and not read


def adverse(card: Node) -> Iterator[tuple[str, Node]]:
    """The entries that tell against a cylinder, ended or not."""
    for kind in (
        "held",
        "rejected",
        "condemned",
        "lost",
        "handed_over",
        "inspected",
        "requalified",
        "rented",
    ):
        for e in (e for e in listed(card.get(kind)) if isinstance(e, dict)):
            bad = {
                "inspected": verdict(e) != "pass",
                "requalified": e.get("result") == "fail",
                "rented": bool(e.get("damage")) or e.get("valve") == "open",
            }
            if bad.get(kind, True):
                yield kind, e
