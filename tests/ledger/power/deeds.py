"""A small ledger with something for every act to be done to, and a command line of each kind."""

from __future__ import annotations

import datetime as dt
import inspect as signatures
import io
import json
import re
import shlex
from collections.abc import Callable, Sequence
from contextlib import redirect_stderr, redirect_stdout
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import books
from repos import Repo

from tankbook.__main__ import main
from tankbook.cli.commands import every_line
from tankbook.ledger import unfinished
from tankbook.records.entries import StepFinding
from tankbook.records.log import LogLine, columns
from tankbook.records.words import StepResult

TODAY = dt.datetime.now().astimezone().date()
YEAR = f"{TODAY:%Y}"
HEADER = ",".join(columns(LogLine))


def ago(days: int) -> dt.date:
    return TODAY - dt.timedelta(days)


STATION = f"""\
# the fill room
banks:
  - {{name: B1, water_volume: 48 L, working_pressure: 5000 psi, gas: air, period: 10 years,
     requalified: [{{on: {ago(900):%Y-%m}, method: hydrostatic, by: T123}}],
     readings: [{{on: {ago(1)}, pressure: 4400 psi}}]}}
compressor: {{name: C1, hours: [{{on: {ago(1)}, reads: 412.5 h}}]}}
filters: [{{name: F1, life: 50 h, changed: [{{on: {ago(40)}, at: 400 h}}]}}]
whips: [{{name: W1, fitted: {ago(300):%Y-%m}}}]
relief_valves: [{{name: R1, checked: [{{on: {ago(200)}}}]}}]
gauges: [{{name: G1, master: yes}}, {{name: G2, checked: [{{on: {ago(20)}, against: TG-2, reads: 3000 psi, true: 3000 psi}}]}}]
positions: [{{name: P1, kind: enclosed}}]
instruments: [{{name: CO-1, kind: co-monitor}}]
upkeep: [{{name: oil, what: oil, every: 12 months, hours: 100 h, done: [{{on: {ago(40)}, at: 400 h}}]}}]
schemes: [{{name: WS1, of: [B1], examined: [{{on: {ago(300)}, by: Examiner, next: {ago(-40)}}}]}}]
opening: {{steps: [drains], done: [{{on: {ago(0)}, at: \"00:00\", by: MV}}]}}
closing: {{steps: [drains]}}
air_tests:
  - {{on: {ago(40)}, by: Example Air Lab, standard: cga-grade-e, result: pass}}
regulator_set: 3000 psi
"""
SETTINGS = (
    books.SETTINGS.lstrip()
    + "operator: MV\nambient: 70 degF\ngas: air\nsticker: {policy: at-hand-over}\n"
)


def _card(number: int, **changes: str) -> str:
    text = books.GOOD.replace("K118204", f"K1182{number:02}").replace(
        "2024-03", f"{ago(900):%Y-%m}"
    )
    text = text.replace("2026-02-09", str(ago(100)))
    for old, new in changes.items():
        text = text.replace(f"{old.replace('_', '-')}", new)
    return books.stamped(text)


_SENT = f"sent: [{{on: {ago(20)}, by: MV, to: Northside, for: requalification%s}}]"
_JOB = f"jobs: [{{on: {ago(5)}, by: MV, work: [visual, fill], promised: {ago(-3)}%s}}]"
_CUSTOMER = {"use: rental": "use: customer\nowner: C-0192"}


def ledger(ids: Sequence[str]) -> dict[str, str]:
    """The files, with these cards and RB-014, in which nothing is at fault."""
    status = "status: in-service"
    cards = {
        "RB-014": {},
        "RB-015": {},
        "RB-016": {status: f"status: held\nheld: [{{on: {ago(9)}, by: MV, why: dent}}]"},
        "RB-017": {status: "status: at-test\n" + _SENT % ""},
        "RB-018": {status: "status: awaiting-inspection\n" + _SENT % f", back: {ago(5)}"},
        "RB-022": {
            status: f"status: out\nrented: [{{on: {ago(1)}, to: B-4471, until: {ago(-1)}}}]"
        },
        "RB-031": {},
        "RB-032": {},
        "CU-061": _CUSTOMER,
        "CU-062": {**_CUSTOMER, status: f"{status}\n{_JOB % ''}"},
        "CU-063": {
            **_CUSTOMER,
            status: "status: awaiting-collection\n" + _JOB % f", state: ready, ready: {ago(1)}",
        },
        "CU-064": {**_CUSTOMER, str(ago(100)): str(ago(500))},
        "SF-051": {"use: rental": "use: sale", "sticker: issued": "sticker: withheld"},
    }
    texts = {
        f"cylinders/{id_}.yaml": _card(number, **changes)
        for number, (id_, changes) in enumerate(cards.items())
        if id_ in ids or id_ == "RB-014"
    }
    if "DB-02" in ids:
        texts["sets/DB-02.yaml"] = "cylinders: [RB-031, RB-032]\nisolator: open\nuse: rental\n"
    at = [f"{ago(5)}T{hour}:30:00+00:00" for hour in ("09", "10", "11")]
    return texts | {
        f"fills/{ago(5):%Y}.csv": f"{HEADER}\n"
        + f"{at[0]},RB-014,fill,500 psi,3000 psi,70 degF,air,,,MV,,B1,,,,\n"
        + f"{at[2]},RB-014,reading,,900 psi,,,,,MV,,,,,,\n",
        "station.yaml": STATION,
        "tankbook.yaml": SETTINGS,
    }


def begin(root: Path, ids: Sequence[str]) -> None:
    for path, text in ledger(ids).items():
        (root / path).parent.mkdir(parents=True, exist_ok=True)
        (root / path).write_text(text, encoding="utf-8")


def in_git(root: Path) -> None:
    repo = Repo.begin(root)
    for name in ("hooks", "info"):  # as bare as git takes it: it is laid anew for each state
        for each in (root / ".git" / name).glob("*"):
            each.unlink()
    repo.git("config", "user.name", "MV")
    repo.git("config", "user.email", "mv@shop.invalid")
    (root / ".gitignore").write_text(".tankbook/\n.*.tmp\n")
    (root / "tankbook.yaml").write_text(SETTINGS + "commit: yes\n")
    repo.commit()


def _unsorted(root: Path) -> None:
    (log,) = (root / "fills").glob("*.csv")
    head, first, second = log.read_text().splitlines()
    log.write_text("\n".join([head, second, first, second, ""]))


def _filled(root: Path) -> None:
    (log,) = (root / "fills").glob("*.csv")
    at = f"{ago(4)}T10:30:00+00:00"
    with log.open("a") as file:
        for id_ in ("RB-015", "DB-02"):
            file.write(f"{at},{id_},fill,500 psi,3000 psi,70 degF,air,,,MV,,B1,,,,\n")


def _no_log(root: Path) -> None:
    for each in (root / "fills").glob("*"):
        each.unlink()
    (root / "fills").rmdir()


def _nothing(root: Path) -> None:
    for each in sorted(root.rglob("*"), reverse=True):
        each.rmdir() if each.is_dir() else each.unlink()
    root.rmdir()


def run(root: Path, *line: str, out: io.StringIO | None = None) -> tuple[int, str, str]:
    """A command line in this process: its exit code and what it said."""
    out, err = out or io.StringIO(), io.StringIO()
    with redirect_stdout(out), redirect_stderr(err):
        code = main(line if line[:1] == ("init",) else ["--ledger", str(root), *line])
    return code, out.getvalue(), err.getvalue()


def _half_done(root: Path, out: io.StringIO) -> tuple[int, str, str]:
    """An inspection that is kept for later, as its steps do: they ask for keys of a terminal."""
    answers = (StepFinding(step="identify", result=StepResult.PASS),)
    unfinished.save(root, "RB-014", unfinished.Unfinished("annual", "MV", answers, {}))
    out.write("Kept")
    out.flush()
    return 0, "", ""


def _cut_off(root: Path) -> None:
    """A copy of a ledger in which a hold of three cards was cut off when one was written: nobody
    finishes it but by `pending`."""
    from tankbook.ledger import steps

    real, left = steps.JournalStep.apply, [1]

    def dying(step: Any, *arguments: Any) -> None:
        if not left[0]:
            raise KeyboardInterrupt
        left[0] -= 1
        real(step, *arguments)

    steps.JournalStep.apply = dying  # type: ignore[method-assign]
    try:
        run(root, *shlex.split(KINDS["hold"].line))
    finally:
        steps.JournalStep.apply = real  # type: ignore[method-assign]
    (root / ".tankbook/here").write_text("another computer\n")


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of act: its command line, the cards it touches, and what is made ready before.

    `once` says that a repeat of it is refused rather than known again, the records being right;
    `more` that it may do more then, as is true by then; `copied` that it is about a copy.
    """

    line: str
    cards: tuple[str, ...] = ("RB-014",)
    ready: Callable[[Path], None] | None = None
    once: bool = False
    more: bool = False
    copied: bool = False
    does: Callable[[Path, io.StringIO], tuple[int, str, str]] | None = None

    @property
    def sweeps(self) -> bool:
        """Whether it clears away what was left unfinished: each act that takes the journal does."""
        return not (self.does or self.copied or self.ready is _nothing)

    def do(self, root: Path, out: io.StringIO | None = None) -> tuple[int, str, str]:
        out = out or io.StringIO()
        if self.does:
            return self.does(root, out)
        return run(root, *(w.replace("ROOT", str(root)) for w in shlex.split(self.line)), out=out)


def _table(root: Path) -> None:
    """A table of two cylinders beside the ledger, and what its columns mean."""
    rows = "serial,use,service pressure\nT1,sale,3000 psi\nT2,sale,3000 psi\n"
    root.with_name("table.csv").write_text(rows)
    columns = enumerate(("serial", "use", "service_pressure"))
    lines = [f"  - {{column: {'ABC'[place]}, key: {name}}}\n" for place, name in columns]
    root.with_name("table.yaml").write_text("".join(["headings: 1\ncolumns:\n", *lines]))


FILL = "--from 500 --to 3000 --source B1 --looked"
SET = ("DB-02", "RB-031", "RB-032")
MANY = ("RB-014", "RB-015", "RB-031")
KINDS: dict[str, Kind] = {
    "init": Kind("init ROOT --name Quay --no-git", (), _nothing, once=True),
    "book-in": Kind(
        'book-in --marks "DOT-3AL 3000 K200001 09A25" --use sale', ("SF-051", "SF-052")
    ),
    "import": Kind("import ROOT/../table.csv --map ROOT/../table.yaml --all", ("SF-051",), _table),
    "inspect": Kind("inspect 14 --pass-all --checklist outside"),
    "inspect no flow": Kind("inspect 14 15 --bled no-flow", ("RB-014", "RB-015")),
    "inspect kept": Kind("", does=_half_done),
    "sticker": Kind("sticker 51", ("SF-051",)),
    "clean": Kind("clean 14 15 --to nitrox --for 2y --bled heard", ("RB-014", "RB-015")),
    "tags": Kind("tags 14 15 --pdf ROOT.pdf --by MV", ("RB-014", "RB-015")),
    "valve": Kind(
        "valve 14 15 --did changed --outlet din-300 --thread '3/4-14 NPSM' --bled heard",
        ("RB-014", "RB-015"),
    ),
    "fill": Kind(f"fill 14 15 {FILL}", ("RB-014", "RB-015")),
    "fill set": Kind(f"fill DB-02 {FILL}", SET),
    "fill first": Kind(f"fill 15 {FILL}", ("RB-015",), _no_log),
    "fill walk-in": Kind(
        'fill --marks "DOT-3AL 3000 K200001 09A25" --maker "Example Cylinder Co" --outlet yoke '
        f"--sticker {ago(60):%Y-%m} {FILL}",
        ("CU-001",),
        once=True,
    ),
    "fill happened": Kind(f"fill 15 {FILL.replace('3000', '3200')} --happened crept", ("RB-015",)),
    "reading": Kind("reading 14=1200 15=1100 --note cold", ("RB-014", "RB-015")),
    "drain": Kind("drain 14=300 --from 900"),
    "hold": Kind('hold 14 15 31 --why "dent near the foot"', MANY),
    "release": Kind('release 16 --why "gauged, within limits"', ("RB-016",)),
    "reject": Kind('reject 61 --why "line corrosion 0.9 mm deep" --told letter', ("CU-061",)),
    "condemn": Kind(
        'condemn 61 --by T123 --why "crack at the neck" --marked CONDEMNED', ("CU-061",)
    ),
    "send": Kind("send 14 15 --to Northside --for requalification", ("RB-014", "RB-015")),
    "send to supplier": Kind("send 51 --for supplier-return --to S-12 --why thread", ("SF-051",)),
    "back": Kind("back 17", ("RB-017",)),
    "refit": Kind("refit 18", ("RB-018",)),
    "requalify": Kind(
        f"requalify 14 15 --on {ago(30):%Y-%m} --by T123 --expansion 15=0.0551/0.0083L",
        ("RB-014", "RB-015"),
    ),
    "done-elsewhere": Kind(
        f"done-elsewhere 14 18 --visual --test hydro --who 'Northside T123' --done {ago(6)}"
        " --checked inside,outside,valve",
        ("RB-014", "RB-018"),
    ),
    "correct": Kind(f"correct 14 reading {ago(5)} --why misread --set to=950"),
    "tidy": Kind("tidy", ready=_unsorted, once=True),
    "rent": Kind(f"rent 15=2950 DB-02 --to B-4480 --until {ago(-2)}", ("RB-015", *SET), _filled),
    "return": Kind("return 22=600 --valve closed --damage '22=handwheel cracked'", ("RB-022",)),
    "refuse": Kind('refuse 64 --told "in person"', ("CU-064",)),
    "refuse stranger": Kind(
        'refuse --marks "DOT-3AL 3000 K200001 09A15" --told "in person"', ("RB-014",)
    ),
    "stolen": Kind('stolen K1182 --why "police notice of 20 Nov" --ref N-4471', once=True),
    "incident": Kind(
        'incident "whip W1 burst" 14 DB-02 --whip W1 --bank B1 --reading 14=2100 --told coastguard',
        ("RB-014", *SET),
    ),
    "hand-over": Kind("hand-over 51 --to C-0192", ("SF-051",)),
    "isolator": Kind("isolator DB-02 none", SET),
    "pair": Kind("pair DB-09 14 15 --isolator open --bled heard", ("RB-014", "RB-015")),
    "unpair": Kind("unpair DB-02 --bled heard", SET),
    "recall": Kind(f"recall B1 --since {ago(10)} --hold"),
    "count": Kind("count 14 --missing-are-lost", ("RB-015",)),
    "station read": Kind("station read B1=4100"),
    "station raise": Kind("station raise B1 --to 4500 --from 4100 --hours 441.5"),
    "station analyse": Kind("station analyse B1 --oxygen 20.9"),
    "station regulator": Kind("station regulator 3442"),
    "station hours": Kind("station hours 425"),
    "station filter": Kind("station filter F1 --at 441.5"),
    "station air-test": Kind('station air-test --by "Example Air Lab" --co 12ppm --oxygen 20.9'),
    "station gauge-check": Kind("station gauge-check G1 --reads 3080 --true 3000 --against TG-2"),
    "station whip": Kind('station whip W1 --fail "cover cut to the braid"'),
    "station relief": Kind("station relief R1 --lifted 4550"),
    "station gauge": Kind("station gauge G2 --master"),
    "station position": Kind('station position P1 --fail "lid latch cracked"'),
    "station machine": Kind('station machine C1 --fail "third stage leaks oil"'),
    "station co": Kind("station co 14ppm --alarm"),
    "station bump": Kind("station bump CO-1"),
    "station upkeep": Kind("station upkeep oil --at 420"),
    "station open": Kind("station open"),
    "station close": Kind("station close"),
    "station bank-test": Kind(f"station bank-test B1 --on {ago(30):%Y-%m} --by T123"),
    "station bank-look": Kind('station bank-look B1 --decided "no bulge, valve seats dry"'),
    "station bank-clean": Kind('station bank-clean B1 --method "detergent, hot water, dried"'),
    "station no-period": Kind('station no-period B1 --why "ASME vessel" --document "folder 3"'),
    "station examined": Kind(f"station examined WS1 --by Examiner --next {ago(-400)}"),
    "jobs open": Kind(f"jobs open 61 --work visual,fill --promised {ago(-6)}", ("CU-061",)),
    "jobs update": Kind("jobs update 62 --state awaiting-parts", ("CU-062",)),
    "jobs done": Kind("jobs done 62", ("CU-062",)),
    "jobs collect": Kind("jobs collect 63 --analysed 20.9", ("CU-063",)),
    "pending --finish": Kind("pending --finish", MANY, _cut_off, copied=True),
    "pending --drop": Kind("pending --drop", MANY, _cut_off, copied=True),
    "hold --commit": Kind('hold 14 15 --why "dent near the foot"', ("RB-014", "RB-015"), in_git),
    "audit": Kind("audit --checkpoint", ready=in_git, more=True),
}
"""Each kind of act that writes the ledger."""


def writing() -> set[str]:
    """The commands that write a ledger, as the program has them."""
    found = {name: command.function for name, command in every_line().items()}
    said = {name: set(signatures.signature(f).parameters) for name, f in found.items()}
    known = {"init"} | {n for n, options in said.items() if options & {"commit", "dry_run"}}
    return known | {f"pending --{o}" for o in ("finish", "drop") if o in said["pending"]}


_TIMES = re.compile(
    r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d[+-]\d\d:\d\d|\b\d\d:\d\d\b|\b(?:[0-9a-f]{40}|[0-9a-f]{64})\b"
)


def records(root: Path) -> dict[str, str]:
    """The ledger's own files, with their times of day left out; without settings it is none."""
    found = {}
    for path in root.rglob("*") if (root / "tankbook.yaml").exists() else ():
        inner = path.relative_to(root)
        private = inner.parts[0] == ".git" or (
            inner.parts[0] == ".tankbook" and not inner.name.startswith("inspect-")
        )
        if path.is_file() and not private and not path.name.endswith(".tmp"):
            found[inner.as_posix()] = _TIMES.sub("T", path.read_text("utf-8", "replace"))
    return found


def timeless(text: str) -> Any:
    """An answer in JSON, with its times of day left out."""
    return json.loads(_TIMES.sub("T", text))
