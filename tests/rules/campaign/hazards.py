"""Hazards, each seeded into the sound ledger: one cylinder goes from YES to NO, or to a YES that warns.

A hazard has a stable key, where it comes from (`S1 7`: the list of wrong answers that were once found,
by severity and number; `trade`: known in the trade), the cylinder asked about, and the edits. `first`
makes another sound ledger of the base before it is seeded; `commits` are put into git one after the
other before the last edits; `says` is what the refusal must speak of. With `warns` the answer is YES, and
a warning of that code must stand in it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

from quay import ASKED, BASE, NITROX, line

Ledger = dict[str, str]
Edit = Callable[[Ledger], None]


@dataclass(frozen=True, slots=True)
class Hazard:
    """One thing that must never be answered with YES."""

    key: str
    source: str
    cylinder: str
    says: str
    edits: tuple[Edit, ...]
    first: tuple[Edit, ...] = ()
    commits: tuple[tuple[Edit, ...], ...] = field(default=())
    gas: str = ""
    upto: str | None = None
    where: tuple[str, ...] = ()
    """What else the hazard rests on as it stands: a file, or `file|text` for the lines with a text."""
    warns: str = ""
    beside: str = ""
    """The code of a warning that must stand beside the refusal."""

    @property
    def base(self) -> Ledger:
        """The sound ledger."""
        return edited(dict(BASE), self.first)

    @property
    def past(self) -> list[Ledger]:
        """What was committed, oldest first; nothing where there is no git."""
        found = [self.base] if self.commits else []
        for edits in self.commits:
            found.append(edited(dict(found[-1]), edits))
        return found

    @property
    def seeded(self) -> Ledger:
        """The ledger with the hazard in it."""
        return edited(dict(self.past[-1] if self.commits else self.base), self.edits)

    @property
    def asked(self) -> tuple[str, str]:
        """The gas and the fill pressure asked with."""
        gas, upto = ASKED[self.cylinder]
        return self.gas or gas, upto if self.upto is None else self.upto


def edited(ledger: Ledger, edits: tuple[Edit, ...]) -> Ledger:
    for edit in edits:
        edit(ledger)
    return ledger


def path_of(name: str) -> str:
    """`RB-101` is a card, anything with a dot is a path."""
    return name if "." in name else f"cylinders/{name}.yaml"


def change(name: str, old: str, new: str) -> Edit:
    """Replace the one place where a file says `old`."""

    def edit(ledger: Ledger) -> None:
        text = ledger[path_of(name)]
        assert text.count(old) == 1, (name, old, text.count(old))
        ledger[path_of(name)] = text.replace(old, new)

    return edit


def entry(name: str, key: str, text: str) -> Edit:
    """Add an entry at the end of a list, which is begun where there is none."""

    def edit(ledger: Ledger) -> None:
        lines = ledger[path_of(name)].splitlines()
        if f"{key}:" not in lines:
            lines += [f"{key}:"]
        at = lines.index(f"{key}:") + 1
        while at < len(lines) and lines[at][:1] in (" ", "-"):
            at += 1
        lines.insert(at, f"  - {text}")
        ledger[path_of(name)] = "\n".join(lines) + "\n"

    return edit


def fact(name: str, text: str) -> Edit:
    """Add a line at the end of a file."""

    def edit(ledger: Ledger) -> None:
        ledger[path_of(name)] += text + "\n"

    return edit


def logged(*lines: str) -> Edit:
    return fact("fills/2026.csv", "\n".join(lines))


def put(path: str, text: str) -> Edit:
    def edit(ledger: Ledger) -> None:
        ledger[path] = text

    return edit


def gone(path: str) -> Edit:
    def edit(ledger: Ledger) -> None:
        del ledger[path]

    return edit


def moved(path: str, to: str) -> Edit:
    def edit(ledger: Ledger) -> None:
        ledger[to] = ledger.pop(path)

    return edit


def unrated(name: str, rating: str) -> Edit:
    """A valve that bears no pressure."""
    return change(name, f"rating: {rating}, ", "")


def stands(name: str, status: str) -> Edit:
    return change(name, "status: in-service", f"status: {status}")


def h(key: str, source: str, cylinder: str, says: str, *edits: Edit, **more: object) -> Hazard:
    return Hazard(key, source, cylinder, says, edits, **more)  # type: ignore[arg-type]


CRACK = "{on: %s, by: MV, checklist: annual, result: reject, findings: [{step: neck-threads, result: reject, what: crack, count: 1, position: thread 2}]}"
GOUGE = "{on: 2026-10-05, by: MV, checklist: annual, result: reject, findings: [{step: cuts-and-dents-aluminium, result: reject, what: gouge, depth: 2.1 mm, length: 40 mm}]}"
OVERFILL = line("2026-11-21T10:00:00", "RB-101", from_="600 psi", to="3520 psi")
RECALL = "\n".join([
    "  - id: shop.notice.second", "    maker: [Example Cylinder Co]", "    serial_from: K118201", "    serial_to: K118201",
    "    recall: return to the dealer, crown too thin", "    gate: refuse", "    basis: practice",
    "    citation: an invented letter", "    verified: read",
])  # fmt: skip
recalled = fact("rules/shop.yaml", RECALL)


def noted(text: str, what: str = "note") -> Edit:
    """A pass of RB-101 that says something grave in words."""
    return entry(
        "RB-101",
        "inspected",
        f"{{on: 2026-10-05, by: MV, checklist: annual, result: pass, sticker: issued, {what}: {text}}}",
    )


def own_row(id_: str, obligation: str, state: str, rest: str = "gate: warn") -> Edit:
    """A row of the ledger's own that takes the teeth out of a shipped one."""
    return change(
        "rules/shop.yaml",
        "watch:\n",
        f"  - id: {id_}\n    obligation: {obligation}\n    applies_to: {{state: [{state}]}}\n    {rest}\n    basis: practice\n    citation: house rule\n    verified: memory\nwatch:\n",
    )


def serial(new: str, maker: str = "Example Cylinder Co") -> tuple[Edit, ...]:
    """RB-101 booked in with another serial."""
    return (
        change("RB-101", "serial: K118201", f"serial: {new}"),
        change("RB-101", "DOT-3AL 3000 K118201", f"DOT-3AL 3000 {new}"),
        change("RB-101", "maker: Example Cylinder Co", f"maker: {maker}"),
    )


def new_station(test: str) -> Edit:
    """The newest sample of the compressor, instead of the one of October."""
    return change(
        "station.yaml",
        "  - {on: 2026-10-20, by: Example Air Lab, standard: cga-grade-e, result: pass, source: C1,\n     oxygen: 20.9 %, co: 1 ppm, co2: 450 ppm, oil: 0.1 mg/m3, hydrocarbons: 3 ppm, odour: none}",
        f"  - {test}",
    )


TWIN = ("cylinders/CD-501.yaml", "cylinders/RB-101.yaml|maker")

# fmt: off
AHEAD = (
    h("future-condemned", "S1 1", "RB-101", "condemn|ahead|future|to come", entry("RB-101", "condemned", "{on: 2062-10-02, by: Z418, why: permanent expansion 12 % of total}"), stands("RB-101", "condemned")),
    h("future-condemned-in-service", "S1 1", "RB-101", "condemn|ahead|future|to come", entry("RB-101", "condemned", "{on: 2062-10-02, by: Z418, why: permanent expansion 12 % of total}")),
    h("future-rejected", "S1 1", "ST-081", "reject|ahead|future|to come", entry("ST-081", "rejected", "{on: 2062-10-05, by: MV, why: pits in a line}"), stands("ST-081", "rejected")),
    h("future-held", "S1 1", "RB-101", "held|ahead|future|to come", entry("RB-101", "held", "{on: 2062-11-20, by: MV, why: thread finding}"), stands("RB-101", "held")),
    h("future-crack", "S1 1", "RB-101", "crack|reject|ahead|future|to come", entry("RB-101", "inspected", CRACK % "2062-10-05")),
    h("future-lost", "S1 1", "RB-103", "lost|ahead|future|to come", entry("RB-103", "lost", "{on: 2062-10-01, by: JO}"), stands("RB-103", "lost")),
    h("future-condemned-struck-out-by-nobody-certified", "S2 void", "RB-101", "condemn|struck|ahead", entry("RB-101", "condemned", "{on: 2062-10-02, by: Z418, why: permanent expansion 12 % of total, void: {why: wrong card, by: LK, on: 2026-11-24}}")),
    h("future-pass", "trade", "RB-101", "ahead|future|to come|visual|inspect", change("RB-101", "{on: 2026-02-09, by", "{on: 2062-02-09, by"), change("RB-101", "{on: 2025-02-17, by", "{on: 2024-02-17, by"), change("RB-101", "on: 2024-06, method", "on: 2022-06, method"), change("RB-101", "stamp: 06 Z418 24", "stamp: 06 Z418 22"), change("RB-101", "06A19 06 Z418 24", "06A19 06 Z418 22")),
    h("future-release", "trade", "RB-102", "held|ahead|future|to come|releas", change("RB-102", "released: 2026-05-04", "released: 2062-05-04")),
    h("future-fill", "trade", "ST-081", "ahead|future|to come", logged(line("2062-11-21T10:00:00", "ST-081", from_="800 psi", to="3380 psi"))),
)
STAMPS = (
    h("alloy-typed-against-notice", "S1 2", "CU-202", "alloy|6351|eddy", change("CU-202", "\nalloy_known_from: maker's letter of 2024-02-09", ""), first=(change("CU-202", "maker: Elder Cylinder Co", "maker: Elder Cylinder Co\nalloy: 6061\nalloy_known_from: maker's letter of 2024-02-09"), change("CU-202", "  - {on: 2023-09, method: eddy-current, by: Z418}\n", "")), where=("cylinders/CU-202.yaml|alloy", "rules/shop.yaml|alloy", "rules/shop.yaml|made_before", "rules/shop.yaml|Elder")),
    h("alloy-against-the-shoulder's-date", "trade", "CU-202", "alloy|6351|eddy", change("CU-202", "maker: Elder Cylinder Co", "maker: Elder Cylinder Co\nalloy: not-6351"), change("CU-202", "  - {on: 2023-09, method: eddy-current, by: Z418}\n", ""), change("CU-202", "  - {on: 1985-08, method: hydrostatic, by: maker}\n", "")),
    h("alloy-not-6351-against-notice", "S1 2", "CU-202", "alloy|6351|eddy", change("CU-202", "maker: Elder Cylinder Co", "maker: Elder Cylinder Co\nalloy: not-6351"), change("CU-202", "  - {on: 2023-09, method: eddy-current, by: Z418}\n", "")),
    h("stamp-against-date", "S1 3", "RB-101", "stamp|06 Z418 18|2018|mark", change("RB-101", "stamp: 06 Z418 24", "stamp: 06 Z418 18"), change("RB-101", "06A09 06 Z418 24", "06A09 06 Z418 18"), first=(change("RB-101", "06A19", "06A09"), change("RB-101", "on: 2019-06", "on: 2009-06"))),
    h("retest-mark-against-date", "S1 3", "RB-101", "stamp|2018|mark|shoulder", change("RB-101", "06A09 06 Z418 24", "06A09 06 Z418 18"), first=(change("RB-101", "06A19", "06A09"), change("RB-101", "on: 2019-06", "on: 2009-06"), change("RB-101", " stamp: 06 Z418 24,", ""))),
    h("first-test-against-marks", "S1 3", "RB-103", "stamp|2012|mark|shoulder|first test", change("RB-103", "05A22", "05A12")),
    h("marks-run-together", "S1 4", "ST-081", "mark|stamp|shoulder|2400", change("ST-081", "DOT-3AA 3442 HP77011", "DOT-3AA2400+HP77011")),
    h("marks-another-pressure", "S1 4", "ST-081", "mark|stamp|shoulder|2400", change("ST-081", "DOT-3AA 3442 HP77011", "DOT-3AA 2400 HP77011")),
    h("plus-against-stamp", "S1 5", "RB-105", "plus|stamp|2400|limit|above|over", change("RB-105", "stamp: 06 Z418 24 +", "stamp: 06 Z418 24"), change("RB-105", "+ 06 Z418 24 +", "+ 06 Z418 24")),
    h("plus-without-stamp", "S1 5", "RB-105", "plus|stamp|2400|limit|above|over", change("RB-105", " stamp: 06 Z418 24 +,", ""), change("RB-105", " + 06 Z418 24 +", "")),
    h("plus-typed-and-stamped-nowhere", "S1 5", "RB-105", "plus", change("RB-105", " stamp: 06 Z418 24 +,", ""), change("RB-105", " + 06 Z418 24 +", ""), change("RB-105", "by: maker, plus: yes", "by: maker"), lambda ledger: ledger.update({"fills/2026.csv": ledger["fills/2026.csv"].replace("2600 psi", "2300 psi")}), upto="2400 psi", warns="plus-unstamped"),
    h("marks-not-recorded", "S1 4", "RB-101", "marks", change("RB-101", "marks: DOT-3AL 3000 K118201 06A19 06 Z418 24\n", ""), warns="no-marks"),
    h("marks-not-read", "S1 4", "RB-101", "marks", change("RB-101", "DOT-3AL 3000 K118201 06A19 06 Z418 24", "3AL3000 K118201 06A19 06 Z418 24"), warns="marks-unread"),
    h("star-taken-for-ten-years", "trade", "CU-202", "hydro|test|requalif", change("CU-202", "09 Z418 23\nspec", "09 Z418 18 *\nspec"), change("CU-202", "{on: 2023-09, method: hydrostatic, by: Z418, stamp: 09 Z418 23}", "{on: 2018-09, method: hydrostatic, by: Z418, stamp: 09 Z418 18 *, star: yes}")),
    h("condemned-on-the-shoulder", "trade", "RB-101", "condemn|cross|mark", change("RB-101", "06 Z418 24\nspec", "06 Z418 24 CONDEMNED\nspec")),
    h("3al-of-steel", "S1 4", "RB-101", "3AL|steel|material", change("RB-101", "material: aluminium\nalloy: 6061", "material: steel")),
)
TWINS = (
    h("condemned-twin", "S1 6", "RB-101", "CD-501|serial|condemn", *serial("F20411"), where=TWIN),
    h("condemned-twin-letter-o", "S1 6", "RB-101", "CD-501|serial|condemn", *serial("F2O411"), warns="serial-alike", where=TWIN),
    h("condemned-twin-letter-i", "S1 6", "RB-101", "CD-501|serial|condemn", *serial("F204I1"), warns="serial-alike", where=TWIN),
    h("condemned-twin-hyphen", "S1 6", "RB-101", "CD-501|serial|condemn", *serial("F-20411"), where=TWIN),
    h("condemned-twin-case", "S1 6", "RB-101", "CD-501|serial|condemn", *serial("f20411"), where=TWIN),
    h("condemned-twin-maker-respelled", "S1 6", "RB-101", "CD-501|serial|condemn", *serial("F20411", "Example Cylinder Company"), where=TWIN),
    h("condemned-twin-maker-misspelt", "S1 6", "RB-101", "CD-501|serial|condemn", *serial("F20411", "Exampel Cylinder"), warns="serial-alike", where=TWIN),
    h("condemned-twin-maker-unknown", "S1 6", "RB-101", "CD-501|serial|condemn", *serial("F20411"), change("RB-101", "maker: Example Cylinder Co\n", ""), warns="serial-alike", where=TWIN),
    h("condemned-twin-leading-zero", "S1 6", "RB-101", "CD-501|serial|condemn", *serial("F020411"), warns="serial-alike", where=TWIN),
    h("rejected-twin", "trade", "ST-081", "CD-502|serial|reject", change("ST-081", "serial: HP77011", "serial: HP90901"), change("ST-081", "3442 HP77011", "3442 HP90901"), where=("cylinders/CD-502.yaml", "cylinders/ST-081.yaml|maker")),
)
LOOKS = (
    h("sticker-seen-after-reject", "S1 7", "RB-101", "reject|inspect", entry("RB-101", "inspected", GOUGE), entry("RB-101", "inspected", "{on: 2026-10-06, checklist: sticker-seen, result: pass, sticker: seen}")),
    h("gouge-passed-by-unknown-checklist", "S1 7", "RB-101", "reject|checklist|inspect", entry("RB-101", "inspected", GOUGE), entry("RB-101", "inspected", "{on: 2026-10-06, by: MV, checklist: quick-look, result: pass, sticker: issued, clears: [inspected 2026-10-05]}")),
    h("gouge-passed-by-uncertified", "S1 7", "RB-101", "reject|certif|inspect", entry("RB-101", "inspected", GOUGE), entry("RB-101", "inspected", "{on: 2026-10-06, by: AB, checklist: annual, result: pass, sticker: issued, clears: [inspected 2026-10-05]}")),
    h("gouge-passed-and-not-named", "S1 7", "RB-101", "reject|inspect", entry("RB-101", "inspected", GOUGE), entry("RB-101", "inspected", "{on: 2026-10-06, by: MV, checklist: annual, result: pass, sticker: issued}")),
    h("gouge-passed-by-look-inside", "S1 7", "RB-101", "reject|inspect", entry("RB-101", "inspected", GOUGE), entry("RB-101", "inspected", "{on: 2026-10-06, by: MV, checklist: internal, result: pass, clears: [inspected 2026-10-05]}")),
    h("gouge-passed-naming-another-day", "trade", "RB-101", "reject|inspect", entry("RB-101", "inspected", GOUGE), entry("RB-101", "inspected", "{on: 2026-10-06, by: MV, checklist: annual, result: pass, sticker: issued, clears: [inspected 2026-02-09]}")),
    h("inspector-read-another-thread", "S1 8", "RB-101", "thread|M25", change("RB-101", "valve_thread: 3/4-14 NPSM}\nrented", "valve_thread: M25x2}\nrented")),
    h("inspected-by-lapsed-inspector", "S2 inspections", "RB-101", "certif|visual|inspect", change("RB-101", "{on: 2026-02-09, by: MV", "{on: 2026-02-09, by: LK"), change("RB-101", "{on: 2025-02-17, by: MV", "{on: 2025-02-17, by: LK"), change("RB-101", "on: 2024-06, method", "on: 2022-06, method"), change("RB-101", "stamp: 06 Z418 24", "stamp: 06 Z418 22"), change("RB-101", "06A19 06 Z418 24", "06A19 06 Z418 22")),
    h("inspected-by-somebody-who-left", "trade", "RB-101", "certif|visual|inspect|left", change("RB-101", "{on: 2026-02-09, by: MV", "{on: 2026-02-09, by: QQ"), change("tankbook.yaml", "  AB:\n", "  QQ:\n    left: 2025-12\n    certifications: [{skill: inspector, from: 2020-01, until: 2029-01}]\n  AB:\n"), change("RB-101", "{on: 2025-02-17, by: MV", "{on: 2024-02-17, by: MV")),
    h("note-salt-water", "S2 words", "RB-101", "salt|note|inspect", noted("[{step: water-inside, result: note, note: salt water and crystals}]", "findings"), warns="note-asks-for-finding"),
    h("note-corrosion", "S2 words", "RB-101", "corro|note|inspect", noted("corrosion in a line along the sidewall"), warns="note-asks-for-finding"),
    h("note-hairline-crack", "S2 words", "RB-101", "crack|note|inspect", noted("[{step: neck-threads, result: note, note: hairline crack at thread 3}]", "findings")),
    h("note-fire", "S2 words", "RB-101", "fire|heat|note|inspect", noted("was in the boathouse fire and repainted")),
    h("crack-under-another-step", "S2 words", "RB-101", "crack", noted("[{step: wall-inside, result: note, what: crack}]", "findings")),
    h("crack-passed-afterwards", "trade", "RB-101", "crack", entry("RB-101", "inspected", CRACK % "2026-10-05"), entry("RB-101", "inspected", "{on: 2026-10-12, by: MV, checklist: annual, result: pass, sticker: issued, clears: [inspected 2026-10-05]}")),
    h("crack-passed-by-requalifier", "trade", "RB-101", "crack", entry("RB-101", "inspected", CRACK % "2026-10-05"), entry("RB-101", "requalified", "{on: 2026-10-12, method: eddy-current, by: Z418, clears: [inspected 2026-10-05, suspected-crack 2026-10-05], finding: passed}"), entry("RB-101", "inspected", "{on: 2026-10-13, by: MV, checklist: annual, result: pass, sticker: issued, clears: [inspected 2026-10-05]}")),
    h("suspected-crack-passed-by-inspector", "trade", "RB-103", "crack", change("RB-103", "  - {on: 2026-03-12, method: eddy-current, by: Z418, result: pass,\n     clears: [suspected-crack 2026-02-10, inspected 2026-02-10], finding: tool mark from tapping and no flaw in the thread}\n", ""), change("RB-103", "clears: [inspected 2026-02-10]", "clears: [suspected-crack 2026-02-10, inspected 2026-02-10]")),
    h("suspected-crack-without-finding", "trade", "RB-103", "crack|finding", change("RB-103", ", finding: tool mark from tapping and no flaw in the thread", ""), where=("cylinders/RB-103.yaml",)),
    h("over-heated-aluminium-passed", "trade", "RB-101", "heat", entry("RB-101", "inspected", "{on: 2026-10-05, by: MV, checklist: annual, result: reject, findings: [{step: heat-aluminium, result: reject, what: heat}]}"), entry("RB-101", "requalified", "{on: 2026-10-12, method: hydrostatic, by: Z418, stamp: 10 Z418 26, clears: [heat 2026-10-05, inspected 2026-10-05], finding: passed}"), entry("RB-101", "inspected", "{on: 2026-10-13, by: MV, checklist: annual, result: pass, sticker: issued, clears: [heat 2026-10-05, inspected 2026-10-05]}")),
    h("over-heated-composite-passed", "trade", "RB-109", "heat", entry("RB-109", "inspected", "{on: 2026-10-05, by: MV, checklist: annual, result: hold, findings: [{step: heat-aluminium, result: hold, what: heat}]}"), entry("RB-109", "inspected", "{on: 2026-10-13, by: MV, checklist: annual, result: pass, sticker: issued, clears: [heat 2026-10-05, inspected 2026-10-05]}")),
    h("note-hairline-crack-and-a-sticker-seen", "trade", "RB-101", "crack|note", noted("hairline crack at thread 3"), entry("RB-101", "inspected", "{on: 2026-10-12, checklist: sticker-seen, result: pass, sticker: seen}")),
    h("note-hairline-crack-on-the-card", "S2 words", "RB-101", "crack|note", fact("RB-101", "note: hairline crack at thread 3, looked at it")),
    h("bulge-noted-and-passed", "trade", "RB-101", "bulge", noted("[{step: cuts-and-dents, result: note, what: bulge}]", "findings")),
    h("gouge-noted-and-passed", "S1 7", "RB-101", "gouge", noted("[{step: cuts-and-dents-aluminium, result: note, what: gouge, depth: 2.1 mm, length: 40 mm}]", "findings")),
    h("inspection-held-and-forgotten", "trade", "RB-101", "hold|held|inspect", entry("RB-101", "inspected", "{on: 2026-10-05, by: MV, checklist: annual, result: hold, findings: [{step: o-ring, result: hold, note: groove worn}]}")),
)
FILLS = (
    h("filled-to-twice", "S1 9", "RB-101", "fill|6000|over", logged(line("2026-11-21T10:00:00", "RB-101", from_="600 psi", to="6000 psi"))),
    h("filled-to-twice-and-bled", "S1 9", "RB-101", "fill|6000|over", logged(line("2026-11-21T10:00:00", "RB-101", from_="600 psi", to="6000 psi"), line("2026-11-21T10:30:00", "RB-101", "drain", from_="6000 psi", to="2900 psi"))),
    h("air-analysed-at-36", "S1 10", "RB-101", "36|oxygen|o2|air|nitrox|gas", logged(line("2026-11-21T10:00:00", "RB-101", from_="600 psi", to="2900 psi", o2="36.0 %", analysed_by="MV"))),
    h("overfill-untold", "S1 13", "RB-101", "fill|3520|over", logged(OVERFILL)),
    h("overfill-happened", "S1 13", "RB-101", "fill|3520|over|happened|held", logged(OVERFILL + "happened: regulator crept")),
    h("filled-while-held", "S1 14", "RB-103", "held|fill", entry("RB-103", "held", "{on: 2026-11-20, by: MV, why: may be cracked, released: 2026-11-24, released_by: MV, released_why: wrong cylinder looked at}"), logged(line("2026-11-22T10:00:00", "RB-103", from_="650 psi", to="2900 psi"))),
    h("filled-while-out", "S1 14", "RB-101", "out|rent|fill", entry("RB-101", "rented", "{on: 2026-11-20, to: B-5600, until: 2026-11-24, back: 2026-11-24, pressure: 700 psi, valve: closed}"), logged(line("2026-11-22T10:00:00", "RB-101", from_="600 psi", to="2900 psi"))),
    h("filled-while-rejected", "S1 14", "RB-103", "reject|fill", entry("RB-103", "rejected", "{on: 2026-11-20, by: MV, why: pits, lifted: 2026-11-24, lifted_by: MV, lifted_why: retested}"), entry("RB-103", "requalified", "{on: 2026-11-23, method: hydrostatic, by: Z418, stamp: 11 Z418 26, clears: [rejected 2026-11-20], finding: pits measured and within limits}"), logged(line("2026-11-22T10:00:00", "RB-103", from_="650 psi", to="2900 psi"))),
    h("filled-while-at-test", "S1 14", "RB-103", "test|away|fill|sent", entry("RB-103", "sent", "{on: 2026-11-20, to: Northside Test House, for: requalification, back: 2026-11-24, refitted: 2026-11-24, refitted_by: MV}"), logged(line("2026-11-22T10:00:00", "RB-103", from_="650 psi", to="2900 psi"))),
    h("nitrox-filled-into-air-cylinder", "S1 14", "ST-081", "nitrox|service|gas|fill", logged(line("2026-11-22T10:00:00", "ST-081", from_="800 psi", to="3300 psi", **NITROX))),
    h("nitrox-asked-of-air-cylinder", "trade", "RB-043", "nitrox|service|clean|oxygen", change("RB-043", "service: nitrox", "service: air")),
    h("oxygen-clean-lost", "trade", "RB-043", "clean|air", logged(line("2026-11-02T10:00:00", "RB-043", from_="0 psi", to="3300 psi"), line("2026-11-20T10:00:00", "RB-043", "drain", from_="900 psi", to="0 psi")), entry("RB-043", "inspected", "{on: 2026-11-21, by: MV, checklist: internal, result: pass}")),
    h("never-cleaned", "trade", "RB-043", "clean", change("RB-043", "cleaned:\n  - {on: 2026-03-09, by: MV, to: nitrox}\n", "")),
    h("holds-nitrox-asked-air", "trade", "RB-043", "nitrox|hold|contents|gas", logged(line("2026-11-22T10:00:00", "RB-043", from_="700 psi", to="3300 psi", **NITROX)), gas="air", upto="3300 psi", first=(logged(line("2026-11-02T10:00:00", "RB-043", "drain", from_="900 psi", to="0 psi")), entry("RB-043", "inspected", "{on: 2026-11-03, by: MV, checklist: internal, result: pass}"))),
    h("read-empty-and-not-looked-inside", "trade", "RB-101", "empty|inside|0 psi|nothing", logged(line("2026-11-22T10:00:00", "RB-101", "reading", to="0 psi"))),
    h("pressure-nobody-explains", "trade", "RB-101", "explain|found|reading|unknown|contents", logged(line("2026-11-22T10:00:00", "RB-101", "reading", to="2800 psi"))),
)
FITTINGS = (
    h("yoke-unmarked-at-3442", "S1 15", "ST-081", "yoke|outlet", change("ST-081", "outlet: din-300", "outlet: yoke"), unrated("ST-081", "4350 psi")),
    h("yoke-at-300-bar", "S1 15", "RB-109", "yoke|outlet", change("RB-109", "outlet: din-300", "outlet: yoke")),
    h("din-200-over-its-mark", "S1 15", "ST-081", "din-200|DIN 200|outlet|rating", change("ST-081", "outlet: din-300", "outlet: din-200"), change("ST-081", "rating: 4350 psi", "rating: 3000 psi")),
    h("insert-in-300-bar-valve", "S1 15", "RB-109", "insert|yoke|outlet", change("RB-109", "rating: 4350 psi", "rating: 4350 psi, insert: 3442 psi, insert_in: yes")),
    h("insert-unmarked-at-3442", "S1 15", "ST-081", "insert|yoke|outlet", change("ST-081", "outlet: din-300", "outlet: convertible"), change("ST-081", "rating: 4350 psi", "rating: 4350 psi, insert_in: yes"), warns="insert-rating-unread"),
    h("whip-rated-low", "trade", "RB-101", "whip|2000", change("station.yaml", "fitted: 2024-03\n    rating: 4500 psi", "fitted: 2024-03\n    rating: 2000 psi"), upto="2000 psi", warns="gauge-ceiling-below-limit"),
    h("whip-rated-lower-than-the-regulator", "trade", "RB-101", "whip|2000", change("station.yaml", "fitted: 2024-03\n    rating: 4500 psi", "fitted: 2024-03\n    rating: 2000 psi")),
    h("panel-rated-low", "trade", "RB-101", "panel|2000", change("station.yaml", "panel: {rating: 4500 psi}", "panel: {rating: 2000 psi}"), upto="2000 psi", warns="gauge-ceiling-below-limit"),
    h("disc-below-90-percent", "S2 disc", "RB-101", "disc", change("RB-101", "disc: 5000 psi", "disc: 4400 psi"), warns="disc-low"),
    h("insert-rated-low", "S1 15", "RB-102", "insert|valve", change("RB-102", "insert: 3442 psi", "insert: 2000 psi")),
    h("valve-rated-low", "trade", "RB-101", "valve|rat", change("RB-101", "rating: 3000 psi", "rating: 2400 psi")),
    h("m25-in-npsm", "trade", "RB-101", "thread|M25", change("RB-101", "outlet: yoke, thread: 3/4-14 NPSM", "outlet: yoke, thread: M25x2")),
    h("disc-below-plus-limit", "S2 disc", "RB-105", "disc", change("RB-105", "disc: 4000 psi", "disc: 2500 psi")),
    h("disc-at-limit", "S2 disc", "RB-101", "disc", change("RB-101", "disc: 5000 psi", "disc: 3000 psi")),
    h("disc-above-test-pressure", "trade", "RB-101", "disc", change("RB-101", "disc: 5000 psi", "disc: 5700 psi")),
    h("disc-9000-and-no-test-pressure", "S2 disc", "RB-101", "disc|test pressure", change("RB-101", "test_pressure: 5000 psi\n", ""), change("RB-101", "disc: 5000 psi", "disc: 9000 psi")),
    h("test-pressure-typed-low", "trade", "ST-081", "test pressure|5/3|ratio|disc", change("ST-081", "test_pressure: 5737 psi", "test_pressure: 5000 psi"), change("ST-081", "disc: 5700 psi", "disc: 4900 psi")),
    h("manifold-2000-one-side", "S2 manifold", "RB-041", "manifold|rat", change("sets/DB-01.yaml", "rating: 4350 psi", "rating: 2000 psi")),
    h("isolator-shut-one-side", "S2 manifold", "RB-041", "isolator|shut|side", change("sets/DB-01.yaml", "isolator: open", "isolator: shut")),
    h("other-side-held", "trade", "RB-041", "RB-042|side|held", entry("RB-042", "held", "{on: 2026-11-20, by: MV, why: bulge at the foot}"), stands("RB-042", "held"), where=("sets/DB-01.yaml",)),
    h("other-side-has-no-card", "trade", "RB-041", "RB-042|side|card|unknown", gone("cylinders/RB-042.yaml"), where=("sets/DB-01.yaml",)),
    h("other-side-cannot-be-read", "trade", "RB-041", "RB-042|side|read", change("RB-042", "serial: HP80118", "serial: HP80118\nserial: HP80118"), where=("sets/DB-01.yaml",)),
)
TESTS = (
    h("empty-result", "S2 requalification", "RB-101", "result|read|fault", change("RB-101", "by: Z418, stamp: 06 Z418 24", "by: Z418, result: , stamp: 06 Z418 24")),
    h("half-expansion-pair", "S2 requalification", "RB-101", "expansion", change("RB-101", ", permanent_expansion: 0.0021 L", "")),
    h("expansion-over-limit", "trade", "RB-101", "expansion", change("RB-101", "permanent_expansion: 0.0021 L", "permanent_expansion: 0.0081 L")),
    h("expansion-over-permit", "trade", "RB-109", "expansion", change("RB-109", "permanent_expansion: 0.0020 L", "permanent_expansion: 0.0060 L")),
    h("test-reached-too-little", "S1 4", "RB-101", "test|4000|reach|pressure", change("RB-101", "24, test_pressure: 5000 psi", "24, test_pressure: 4000 psi")),
    h("failed-test", "trade", "RB-101", "fail|test", entry("RB-101", "requalified", "{on: 2026-10, method: hydrostatic, by: Z418, result: fail}")),
    h("failed-test-passed-by-inspector", "trade", "RB-101", "fail|test", entry("RB-101", "requalified", "{on: 2026-10, method: hydrostatic, by: Z418, result: fail}"), entry("RB-101", "inspected", "{on: 2026-11-02, by: MV, checklist: annual, result: pass, clears: [requalified 2026-10]}")),
    h("failed-test-passed-and-not-named", "trade", "RB-101", "fail|test", entry("RB-101", "requalified", "{on: 2026-10, method: hydrostatic, by: Z418, result: fail}"), entry("RB-101", "requalified", "{on: 2026-11, method: ultrasonic, by: Z418}")),
    h("test-lapsed", "trade", "RB-101", "hydro|test|requalif", change("RB-101", "on: 2024-06, method", "on: 2021-06, method"), change("RB-101", "stamp: 06 Z418 24", "stamp: 06 Z418 21"), change("RB-101", "06A19 06 Z418 24", "06A19 06 Z418 21")),
    h("look-taken-for-a-test", "trade", "ST-081", "hydro|test|requalif", change("ST-081", "09A23", "09A13"), change("ST-081", "on: 2023-09, method: hydrostatic, by: maker}", "on: 2013-09, method: hydrostatic, by: maker}\n  - {on: 2024-05, method: visual, by: Z418}")),
    h("inspection-lapsed", "trade", "RB-109", "visual|inspect", change("RB-109", "on: 2026-07-06", "on: 2025-07-06")),
    h("6351-without-eddy-current", "trade", "CU-202", "eddy|6351", change("CU-202", "  - {on: 2023-09, method: eddy-current, by: Z418}\n", "")),
    h("permit-50-years", "S2 permit", "RB-109", "permit|period|hydro|test", change("RB-109", "period: 5 years", "period: 50 years"), change("RB-109", "life_ends: 2034-03", "life_ends: none"), change("RB-109", "  - {on: 2024-02, method: hydrostatic, by: Z418, stamp: 02 Z418 24, test_pressure: 7250 psi,\n     total_expansion: 0.0800 L, permanent_expansion: 0.0020 L}\n", ""), change("RB-109", "03A19", "03A15"), change("RB-109", "on: 2019-03", "on: 2015-03")),
    h("permit-on-3al", "S2 permit", "RB-101", "permit|specification|expansion", fact("RB-101", "permit: {number: DOT-SP 99002, period: 5 years, test_pressure: 5000 psi, life_ends: none, expansion_limit: 50 %}"), change("RB-101", "permanent_expansion: 0.0021 L", "permanent_expansion: 0.0200 L")),
    h("life-ended", "trade", "RB-109", "life", change("RB-109", "life_ends: 2034-03", "life_ends: 2026-03")),
    h("void-by-unknown-of-1999", "S2 void", "ST-081", "reject|void|struck", entry("ST-081", "rejected", "{on: 2026-10-05, by: MV, why: pits in a line, void: {why: mistake, by: ZZ, on: 1999-01-01}}")),
    h("void-by-uncertified", "trade", "ST-081", "reject|void|struck|certif", entry("ST-081", "rejected", "{on: 2026-10-05, by: MV, why: pits in a line, void: {why: mistake, by: AB, on: 2026-10-06}}")),
    h("condemning-voided-by-unknown", "trade", "ST-081", "condemn|void|struck", entry("ST-081", "condemned", "{on: 2026-10-05, by: Z418, why: wall too thin, void: {why: mistake, by: ZZ, on: 2026-10-06}}")),
)
STATION = (
    h("air-test-of-unknown-source", "S2 station", "RB-101", "air|test|source", change("station.yaml", "source: C1,\n     oxygen: 20.9 %, co: 1 ppm, co2: 450", "source: X9,\n     oxygen: 20.9 %, co: 1 ppm, co2: 450"), change("station.yaml", "on: 2026-07-16", "on: 2025-04-16"), change("station.yaml", "on: 2026-07-13", "on: 2025-04-13"), change("station.yaml", "on: 2026-07-12", "on: 2025-04-12"), change("station.yaml", "on: 2026-04-07", "on: 2025-04-07")),
    h("reopened-without-what-failed", "S2 station", "RB-101", "air|test|co\\b|CO\\b", new_station("{on: 2026-10-20, by: Example Air Lab, standard: cga-grade-e, result: fail, source: C1, co: 14 ppm}\n  - {on: 2026-10-21, by: Example Air Lab, standard: cga-grade-e, result: pass, source: C1, oxygen: 20.9 %, oil: 0.1 mg/m3}")),
    h("reopened-by-another-source", "trade", "RB-101", "air|test", new_station("{on: 2026-10-20, by: Example Air Lab, standard: cga-grade-e, result: fail, source: C1, co: 14 ppm}\n  - {on: 2026-10-21, by: Example Air Lab, standard: cga-grade-e, result: pass, source: B1, oxygen: 20.9 %, co: 1 ppm, co2: 400 ppm, oil: 0.1 mg/m3}")),
    h("hour-meter-not-read-since-the-change", "S2 station", "RB-101", "filter|hour", change("station.yaml", "    - {on: 2026-09-30, reads: 1646.5 h, by: JO}\n    - {on: 2026-10-31, reads: 1656.6 h, by: JO}\n    - {on: 2026-11-24, reads: 1659.7 h, by: JO}\n", "    - {on: 2026-08-31, reads: 1645.9 h, by: JO}\n")),
    h("failed-and-not-said-on-what", "trade", "RB-101", "air|test|co\\b|CO\\b", new_station("{on: 2026-10-20, by: Example Air Lab, standard: cga-grade-e, result: fail, source: C1, co: 7 ppm, co2: 450 ppm}\n  - {on: 2026-10-21, by: Example Air Lab, standard: cga-grade-e, result: pass, source: C1, oxygen: 20.9 %, oil: 0.1 mg/m3}")),
    h("hour-meter-without-a-reading", "S2 station", "RB-101", "filter|hour", change("station.yaml", "  hours:\n    - {on: 2026-09-30, reads: 1646.5 h, by: JO}\n    - {on: 2026-10-31, reads: 1656.6 h, by: JO}\n    - {on: 2026-11-24, reads: 1659.7 h, by: JO}\n", "")),
    h("cga-grade-d", "S2 station", "RB-101", "grade-d|standard|air", new_station("{on: 2026-10-20, by: Example Air Lab, standard: cga-grade-d, result: pass, source: C1, oxygen: 20.9 %, co: 1 ppm, co2: 450 ppm, oil: 0.1 mg/m3}"), change("station.yaml", "on: 2026-07-16", "on: 2026-04-16"), change("station.yaml", "on: 2026-07-13", "on: 2026-04-13"), change("station.yaml", "on: 2026-07-12", "on: 2026-04-12")),
    h("co-14-called-pass", "trade", "RB-101", "air|co\\b|CO\\b", change("station.yaml", "co: 1 ppm, co2: 450", "co: 14 ppm, co2: 450")),
    h("air-test-failed", "trade", "RB-101", "air", change("station.yaml", "- {on: 2026-10-20, by: Example Air Lab, standard: cga-grade-e, result: pass", "- {on: 2026-10-20, by: Example Air Lab, standard: cga-grade-e, result: fail")),
    h("air-test-lapsed", "trade", "RB-101", "air", change("station.yaml", "on: 2026-10-20", "on: 2025-10-20"), change("station.yaml", "on: 2026-07-16", "on: 2025-07-16"), change("station.yaml", "on: 2026-07-13", "on: 2025-07-13"), change("station.yaml", "on: 2026-07-12", "on: 2025-07-12"), change("station.yaml", "on: 2026-04-07", "on: 2025-04-07")),
    h("air-test-ahead", "trade", "RB-101", "air|ahead|future|to come", change("station.yaml", "on: 2026-10-20", "on: 2062-10-20"), change("station.yaml", "on: 2026-07-16", "on: 2025-07-16"), change("station.yaml", "on: 2026-07-13", "on: 2025-07-13"), change("station.yaml", "on: 2026-07-12", "on: 2025-07-12"), change("station.yaml", "on: 2026-04-07", "on: 2025-04-07")),
    h("filter-spent", "trade", "RB-101", "filter", change("station.yaml", "reads: 1659.7 h", "reads: 1759.7 h")),
    h("bank-out-of-test", "trade", "RB-101", "bank|B1", change("station.yaml", "{on: 2024-03, method: hydrostatic, by: Z418, stamp: 03 Z418 24}", "{on: 2019-03, method: hydrostatic, by: Z418, stamp: 03 Z418 19}")),
)
RULES = (
    h("own-row-disarms-condemned", "S1 12", "ST-081", "condemn", entry("ST-081", "condemned", "{on: 2026-10-05, by: Z418, why: wall too thin}"), stands("ST-081", "condemned"), own_row("bench.standing.condemned", "standing", "condemned")),
    h("own-row-disarms-crack", "S1 12", "RB-101", "crack|reject", entry("RB-101", "inspected", CRACK % "2026-10-05"), own_row("bench.neck-crack", "neck-crack", "cracked")),
    h("own-row-drops-crack", "S1 12", "RB-101", "crack|reject", entry("RB-101", "inspected", CRACK % "2026-10-05"), own_row("bench.neck-crack", "neck-crack", "cracked", "gate: refuse\n    drop: yes")),
    h("own-row-loosens-law", "S1 12", "RB-101", "hydro|test|law|rule", change("RB-101", "on: 2024-06, method", "on: 2021-06, method"), change("RB-101", "stamp: 06 Z418 24", "stamp: 06 Z418 21"), change("RB-101", "06A19 06 Z418 24", "06A19 06 Z418 21"), change("rules/shop.yaml", "watch:\n", "  - id: us.requalification.3al\n    obligation: requalification\n    applies_to: {specification: [DOT-3AL], permit: no}\n    period: 10 years\n    met_by: [hydrostatic]\n    good_until: end-of-month\n    gate: refuse\n    basis: practice\n    citation: house rule\n    verified: memory\nwatch:\n")),
    h("own-row-loosens-air-test", "S1 12", "RB-101", "air", change("station.yaml", "co: 1 ppm, co2: 450", "co: 14 ppm, co2: 450"), own_row("bench.air-test.failed", "air-test", "failed", "subject: station\n    gate: warn")),
    h("own-row-frees-threads", "S1 12", "RB-101", "thread|M25", change("RB-101", "outlet: yoke, thread: 3/4-14 NPSM", "outlet: yoke, thread: M25x2"), own_row("bench.thread-match.differ", "thread-match", "differ", "gate: warn\n    by: MV\n    why: we know them\n    since: 2025-01-10")),
    h("recall-notice", "trade", "RB-101", "recall|return|dealer|crown", recalled),
    h("emptied-gate", "S2 watch", "RB-101", "recall|gate|return|read|fault|rule", fact("rules/shop.yaml", RECALL.replace("gate: refuse", "gate:"))),
    h("two-rows-of-one-id", "S2 watch", "RB-101", "recall|return|twice|two|id|rule", fact("rules/shop.yaml", RECALL + "\n" + RECALL.replace("K118201", "Z118201"))),
    h("recall-and-a-serial-typed-o-for-0", "trade", "RB-101", "recall|return|serial|mark", recalled, change("RB-101", "serial: K118201", "serial: K1182O1")),
    h("rules-cannot-be-read", "S2 unreadable", "RB-101", "rule|read|fault", change("rules/shop.yaml", "heading: Campaign", "heading: [Campaign")),
    h("set-cannot-be-read", "S1 11", "RB-041", "set|DB-01|read|fault", change("sets/DB-01.yaml", "cylinders: [RB-041, RB-042]", "cylinders: [RB-041, RB-042")),
    h("log-line-of-an-id-in-small-letters", "trade", "RB-101", "rb-101", logged(line("2026-11-21T10:00:00", "rb-101", from_="600 psi", to="6000 psi"))),
    h("log-line-of-an-id-with-o", "trade", "RB-101", "RB-1O1", logged(line("2026-11-21T10:00:00", "RB-1O1", from_="600 psi", to="6000 psi"))),
    h("overfilled-card-in-small-letters", "trade", "RB-101", "RB-101", logged(OVERFILL), moved("cylinders/RB-101.yaml", "cylinders/rb-101.yaml")),
    h("set-names-a-side-in-small-letters", "trade", "RB-041", "rb-041|RB-041|side", change("sets/DB-01.yaml", "rating: 4350 psi", "rating: 2000 psi"), change("sets/DB-01.yaml", "[RB-041", "[rb-041")),
    h("rules-folder-in-capitals", "S1 11", "RB-101", "rule|read|name", recalled, moved("rules/shop.yaml", "Rules/shop.yaml")),
    h("set-under-another-ending", "S1 11", "RB-041", "set|DB-01|read", change("sets/DB-01.yaml", "rating: 4350 psi", "rating: 2000 psi"), moved("sets/DB-01.yaml", "sets/DB-01.yaml.txt")),
    h("station-under-another-ending", "S1 11", "RB-101", "station|read", change("station.yaml", "co: 1 ppm, co2: 450", "co: 14 ppm, co2: 450"), moved("station.yaml", "station.yaml.txt")),
    h("station-cannot-be-read", "S2 unreadable", "RB-101", "station|read|fault", change("station.yaml", "air_tests:", "air-tests:")),
    h("card-in-conflict", "S2 unreadable", "RB-101", "read|fault|conflict|merge", change("RB-101", "place: rack 1\n", "<<<<<<< HEAD\nplace: rack 1\n=======\nplace: rack 2\n>>>>>>> bench\n")),
    h("key-of-the-hold-misspelt", "trade", "RB-101", "read|fault|unknown|helt", entry("RB-101", "helt", "{on: 2026-11-20, by: MV, why: bulge}")),
)
STATES = (
    h("lifted-without-reason", "S2 reasons", "RB-102", "reject|lift|why|reason", change("RB-102", ",\n     lifted_why: retested and measured within limits", "")),
    h("lifted-and-nothing-answers", "S2 reasons", "RB-102", "reject|lift|inspect|clear", change("RB-102", "    clears: [rejected 2025-03-03, inspected 2025-03-03]\n    finding: crown measured, within limits\n", "")),
    h("found-without-reason", "S2 reasons", "RB-102", "found|lost|why|reason", change("RB-102", ", found_by: MV, found_why: under the pool store bench", "")),
    h("found-and-not-looked-inside", "S2 reasons", "RB-103", "found|lost|inside|look|inspect", entry("RB-103", "lost", "{on: 2026-10-01, by: JO, found: 2026-11-05, found_by: MV, found_why: behind the rack}")),
    h("released-without-reason", "S2 reasons", "RB-102", "held|releas|why|reason", change("RB-102", "    released_by: MV\n    released_why: measured, within limits\n", "")),
    h("released-by-uncertified", "trade", "RB-102", "held|releas|certif", change("RB-102", "released_by: MV", "released_by: AB")),
    h("two-holds-one-released", "trade", "RB-102", "held", entry("RB-102", "held", "{on: 2026-05-02, by: JO, why: bulge at the foot}"), stands("RB-102", "held")),
    h("held-and-called-in-service", "trade", "RB-101", "held|status", entry("RB-101", "held", "{on: 2026-11-20, by: MV, why: bulge}")),
    h("called-condemned", "trade", "RB-101", "condemn|status", stands("RB-101", "condemned")),
    h("out", "trade", "RB-101", "out|rent", entry("RB-101", "rented", "{on: 2026-11-24, to: B-5601}"), stands("RB-101", "out")),
    h("at-supplier", "trade", "RB-101", "supplier|sent|away", entry("RB-101", "sent", "{on: 2026-11-10, to: S-12, for: supplier-return, why: thread}"), stands("RB-101", "at-supplier")),
    h("at-repair", "trade", "RB-101", "repair|sent|away", entry("RB-101", "sent", "{on: 2026-11-10, to: Valve Bench, for: repair}"), stands("RB-101", "at-repair")),
    h("sold", "trade", "RB-101", "sold|hand", entry("RB-101", "handed_over", "{on: 2026-11-10, to: C-0200}"), stands("RB-101", "sold")),
    h("back-from-test-and-not-refitted", "trade", "RB-101", "refit|dried|inside", entry("RB-101", "sent", "{on: 2026-11-02, to: Northside Test House, for: requalification, back: 2026-11-20}")),
    h("came-back-with-valve-open", "trade", "RB-101", "open|inside", entry("RB-101", "rented", "{on: 2026-11-20, to: B-5602, until: 2026-11-22, back: 2026-11-22, pressure: 300 psi, valve: open}")),
    h("came-back-empty", "trade", "RB-101", "empty|0 psi|inside|nothing", entry("RB-101", "rented", "{on: 2026-11-20, to: B-5602, until: 2026-11-22, back: 2026-11-22, pressure: 0 psi, valve: closed}")),
    h("refused-for-a-bent-neck", "trade", "RB-101", "neck looks slightly bent", entry("RB-101", "refused", "{on: 2026-11-20, by: MV, reasons: [neck looks slightly bent]}")),
    h("refused-for-bubbles-at-the-neck", "trade", "RB-101", "bubbles", entry("RB-101", "refused", "{on: 2026-11-20, by: MV, reasons: [no sticker, a few bubbles from the neck]}")),
    h("danger-under-pressure", "trade", "RB-101", "give way", entry("RB-101", "held", "{on: 2026-11-20, by: MV, why: valve stands crooked, released: 2026-11-21, released_by: MV, released_why: looked at it}"), beside="danger-under-pressure"),
    h("damage-not-answered", "trade", "RB-101", "damage|dent", entry("RB-101", "rented", "{on: 2026-11-20, to: B-5602, until: 2026-11-22, back: 2026-11-22, pressure: 300 psi, valve: closed, damage: dent in the wall}")),
    h("damage-answered-by-uncertified", "trade", "RB-101", "damage|dent|certif", entry("RB-101", "rented", "{on: 2026-11-20, to: B-5602, until: 2026-11-20, back: 2026-11-20, pressure: 300 psi, valve: closed, damage: dent in the wall}"), entry("RB-101", "inspected", "{on: 2026-11-23, by: JO, checklist: annual, result: pass, clears: [damage 2026-11-20]}")),
    h("damage-answered-by-sticker", "trade", "RB-101", "damage|dent|sticker", entry("RB-101", "rented", "{on: 2026-11-20, to: B-5602, until: 2026-11-20, back: 2026-11-20, pressure: 300 psi, valve: closed, damage: dent in the wall}"), entry("RB-101", "inspected", "{on: 2026-11-23, checklist: sticker-seen, result: pass, sticker: seen, clears: [damage 2026-11-20]}")),
)
_DAMAGED = entry(
    "RB-101",
    "rented",
    "{on: 2026-11-20, to: B-5602, until: 2026-11-20, back: 2026-11-20, pressure: 300 psi, valve: closed, damage: dent in the wall}",
)
_HELD = (
    entry("RB-101", "held", "{on: 2026-11-20, by: MV, why: bulge at the foot}"),
    stands("RB-101", "held"),
)
VANISHED = (
    h("rules-vanished", "S1 11", "RB-101", "rules/shop|gone|vanish|recall|removed", gone("rules/shop.yaml"), commits=((recalled,),)),
    h("rules-folder-recased", "S1 11", "RB-101", "rules|gone|vanish|recall|removed", moved("rules/shop.yaml", "Rules/shop.yaml"), commits=((recalled,),)),
    h("watch-row-vanished", "S1 11", "RB-101", "shop.notice|gone|vanish|recall|removed|row", change("rules/shop.yaml", RECALL + "\n", ""), commits=((recalled,),)),
    h("log-vanished", "S1 11", "RB-101", "fills|log|gone|vanish|removed", gone("fills/2026.csv"), commits=((logged(OVERFILL),),)),
    h("log-line-vanished", "trade", "RB-101", "fills|log|line|gone|vanish|removed", change("fills/2026.csv", OVERFILL + "\n", ""), commits=((logged(OVERFILL),),)),
    h("station-vanished", "S1 11", "RB-101", "station|gone|vanish|removed", gone("station.yaml"), commits=((change("station.yaml", "co: 1 ppm, co2: 450", "co: 14 ppm, co2: 450"),),)),
    h("set-vanished", "S1 11", "RB-041", "DB-01|set|gone|vanish|removed", gone("sets/DB-01.yaml"), commits=((entry("RB-042", "held", "{on: 2026-11-20, by: MV, why: bulge}"), stands("RB-042", "held")),)),
    h("damage-vanished", "S1 11", "RB-101", "damage|rent|gone|vanish|removed", change("RB-101", "  - {on: 2026-11-20, to: B-5602, until: 2026-11-20, back: 2026-11-20, pressure: 300 psi, valve: closed, damage: dent in the wall}\n", ""), commits=((_DAMAGED,),)),
    h("hold-vanished", "S1 11", "RB-101", "held|gone|vanish|removed", change("RB-101", "held:\n  - {on: 2026-11-20, by: MV, why: bulge at the foot}\n", ""), change("RB-101", "status: held", "status: in-service"), commits=(_HELD,)),
    h("crack-vanished", "S1 11", "RB-101", "inspect|crack|gone|vanish|removed", change("RB-101", "  - " + CRACK % "2026-10-05" + "\n", ""), commits=((entry("RB-101", "inspected", CRACK % "2026-10-05"),),)),
    h("condemned-card-renamed", "trade", "RB-101", "CD-501|gone|vanish|condemn|removed|serial", gone("cylinders/CD-501.yaml"), *serial("F20411"), commits=((put("README.txt", "first\n"),),)),
)
HAZARDS = (
    *AHEAD,
    *STAMPS,
    *TWINS,
    *LOOKS,
    *FILLS,
    *FITTINGS,
    *TESTS,
    *STATION,
    *RULES,
    *STATES,
    *VANISHED,
)
BY_KEY = {hazard.key: hazard for hazard in HAZARDS}
assert len(BY_KEY) == len(HAZARDS)
