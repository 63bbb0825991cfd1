"""Every command: where it is, by what work it is listed, what is said of it, and a line to run.

The parser, the help, the list of commands and the pages under docs/ follow from this table. A
command's own module is imported when it is asked for.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from enum import StrEnum
from importlib import import_module
from typing import Any, NamedTuple


class WorkArea(StrEnum):
    """By what work commands are listed."""

    ASKING = "Asking"
    BENCH = "Bench"
    STATION = "Fill station"
    COUNTER = "Counter"
    WORKSHOP = "Workshop"
    OFFICE = "Office"
    ARCHIVE = "Archive"


class Command(NamedTuple):
    """A command.

    Attributes:
        where: its module below `tankbook.cli`, and the function there, as `due:due`; of an act that
            the plan alone says all of, its plan, as `acts.hold:hold`.
        briefly: its line in the list of commands.
        example: a line to run.
        below: the commands that stand below it; it answers by itself all the same.
    """

    where: str
    briefly: str
    example: str
    below: Mapping[str, Command] = {}

    @property
    def function(self) -> Callable[..., Any]:
        """What answers it."""
        module, name = self.where.split(":")
        room = "tankbook" if module.startswith("acts.") else "tankbook.cli"
        found: Callable[..., Any] = getattr(import_module(f"{room}.{module}"), name)
        return found


BY_WORK: Mapping[WorkArea, Mapping[str, Command]] = {
    WorkArea.ASKING: {
        "show": Command("show:show", "The whole card of a cylinder or set.", "tankbook show 14"),
        "list": Command(
            "listing:listing",
            "The cylinders, one a line, filtered on any field.",
            "tankbook list --ready --where size=al80 --sort first-test",
        ),
        "due": Command("due:due", "What is due, most urgent first.", "tankbook due --within 90d"),
        "may-fill": Command(
            "may_fill:may_fill",
            "May it be filled? Yes or no, to what, and why.",
            "tankbook may-fill 14 15 --gas nitrox32 --ambient 41",
        ),
        "capacity": Command(
            "capacity:capacity",
            "How much gas at a pressure, or the other way round.",
            "tankbook capacity --water-volume 11.1L --at 3000psi",
        ),
        "fleet": Command("fleet:fleet", "How the fleet stands.", "tankbook fleet --on 2026-11-25"),
        "marks": Command(
            "marks:marks", "What stamp marks mean.", 'tankbook marks "DOT-3AL 3000 K118204 09A21"'
        ),
        "rules": Command(
            "rules:rules", "The rule rows in force.", "tankbook rules --obligation requalification"
        ),
        "validate": Command(
            "validate:validate",
            "Check every file, and the records against each other.",
            "tankbook validate --format github",
        ),
        "explain": Command(
            "explain:explain",
            "What a code, a rule row or a word means.",
            "tankbook explain thread-differ",
        ),
        "commands": Command(
            "listed:listed",
            "Every command by the work, and what it does.",
            "tankbook commands bench",
        ),
    },
    WorkArea.BENCH: {
        "book-in": Command(
            "book_in:book_in",
            "Book in one cylinder or a delivery.",
            'tankbook book-in --marks "DOT-3AL 3000 K200001 09A26" --use sale',
        ),
        "inspect": Command(
            "inspect:inspect",
            "Inspect a cylinder by a checklist.",
            "tankbook inspect 14 --pass-all --neck-thread SP12 --valve-thread SP12",
        ),
        "valve": Command(
            "valve:valve",
            "Record a valve fitted, changed, serviced or read.",
            "tankbook valve 14 --did changed --outlet din-300 --bled heard",
        ),
        "clean": Command(
            "acts.clean:clean",
            "Record a cylinder cleaned for nitrox or oxygen.",
            "tankbook clean 42 --to nitrox --for 2y --bled heard",
        ),
        "done-elsewhere": Command(
            "acts.elsewhere:done_elsewhere",
            "Record a visual or test by another shop.",
            "tankbook done-elsewhere 14 --visual --who Weir --done 2026-10",
        ),
        "sticker": Command(
            "sticker:sticker", "Put a withheld sticker on, or void a number.", "tankbook sticker 51"
        ),
        "hold": Command(
            "acts.hold:hold",
            "Set cylinders aside until somebody decides.",
            'tankbook hold 14 --why "dent near the foot"',
        ),
        "release": Command(
            "acts.hold:release",
            "Let held cylinders go.",
            'tankbook release 16 --why "gauged by the requalifier"',
        ),
        "reject": Command(
            "acts.reject:reject",
            "Reject a cylinder, and tell its owner.",
            'tankbook reject 14 --why "line corrosion on the crown" --told letter',
        ),
        "condemn": Command(
            "acts.reject:condemn",
            "Record that a requalifier condemned a cylinder.",
            'tankbook condemn 14 --by T123 --why "neck crack" --marked CONDEMNED',
        ),
        "correct": Command(
            "correct:correct",
            "Strike out what is wrong, enter what is right.",
            "tankbook correct 14 fill 2026-11-20 --why misread --set to=2950",
        ),
    },
    WorkArea.STATION: {
        "plan": Command(
            "plan:plan", "Plan a fill session.", "tankbook plan 14=500 15=800 --bank B1=2400"
        ),
        "equalize": Command(
            "equalize:equalize",
            "Where cylinders settle together.",
            "tankbook equalize 14=2500 15=0",
        ),
        "blend": Command(
            "blend:blend",
            "How to make a gas in a cylinder.",
            'tankbook blend 14 --to nitrox32 --from "500 air" --oxygen 2000/50L',
        ),
        "fill": Command(
            "fill:fill", "Log fills.", "tankbook fill 14 15=2980 --to 3000 --source B1 --looked"
        ),
        "fills": Command(
            "fills:fills", "The fill book: fills of a day, a month, a person.", "tankbook fills"
        ),
        "reading": Command("reading:reading", "Log what gauges show.", "tankbook reading 14=1200"),
        "drain": Command(
            "reading:drain", "Log that gas was let out.", "tankbook drain 14=3000 --from 3200"
        ),
        "leaks": Command(
            "leaks:leaks",
            "Cylinders that lose gas as they stand.",
            "tankbook leaks --since 2026-06-01",
        ),
        "isolator": Command(
            "acts.isolator:isolator",
            "Record how the isolator of doubles stands.",
            "tankbook isolator DB-01 shut",
        ),
        "pair": Command(
            "acts.pair:pair",
            "Make up doubles of two cylinders.",
            "tankbook pair DB-03 12 14 --isolator open --bled heard",
        ),
        "unpair": Command(
            "acts.pair:unpair", "Take doubles apart.", "tankbook unpair DB-01 --bled heard"
        ),
        "recall": Command(
            "recall:recall",
            "Who got gas from a bad source; hold them all.",
            "tankbook recall B1 --since 2026-10-12",
        ),
        "sheet": Command("sheet:sheet", "A fill sheet for the lake.", "tankbook sheet 14 22 31"),
        "station": Command(
            "station:station",
            "How the fill station stands, and its upkeep.",
            "tankbook station read B1=4400 B2=4150",
            below={
                "size": Command(
                    "size:size",
                    "How many fills a day it carries, and what a bank more adds.",
                    "tankbook station size --add 4500/50L",
                ),
                "read": Command(
                    "station:read",
                    "Record gauge readings of banks.",
                    "tankbook station read B1=4400 B2=4150",
                ),
                "raise": Command(
                    "acts.station_upkeep:raise_bank",
                    "Record that a bank was pumped.",
                    "tankbook station raise B1 --from 3100 --to 4400",
                ),
                "analyse": Command(
                    "acts.station_upkeep:analyse",
                    "Record what an analyser shows of the gas in a bank.",
                    "tankbook station analyse B1 --oxygen 20.9",
                ),
                "regulator": Command(
                    "acts.station_parts:set_regulator",
                    "Record what the fill regulator is set to, or its check.",
                    "tankbook station regulator 3000",
                ),
                "hours": Command(
                    "acts.station_upkeep:meter",
                    "Record the hour meter of a compressor or a booster.",
                    "tankbook station hours 412.5",
                ),
                "filter": Command(
                    "acts.station_upkeep:change_filter",
                    "Record a new filter element.",
                    "tankbook station filter F1 --at 412.5",
                ),
                "air-test": Command(
                    "acts.air_test:sampled",
                    "Record an air test against its limits.",
                    'tankbook station air-test --by "Example Air Lab" --result pass',
                ),
                "gauge-check": Command(
                    "acts.station_parts:check_gauge",
                    "Record a gauge compared with a test gauge.",
                    "tankbook station gauge-check G1 --reads 3040 --true 3000 --against TG",
                ),
                "gauge": Command(
                    "acts.station_parts:change_gauge",
                    "Say which gauge is the master, or that one is new.",
                    "tankbook station gauge G2 --master",
                ),
                "whip": Command(
                    "acts.station_parts:check_whip",
                    "Record the check of a fill whip, or a new one.",
                    'tankbook station whip W1 --fail "cover cut"',
                ),
                "relief": Command(
                    "acts.station_parts:check_relief",
                    "Record the check of a relief valve.",
                    "tankbook station relief R1 --lifted 4550",
                ),
                "position": Command(
                    "acts.station_parts:check_position",
                    "Record the check of a fill position.",
                    'tankbook station position P1 --fail "lid latch cracked"',
                ),
                "machine": Command(
                    "acts.station_parts:check_machine",
                    "Record the check of a compressor or a booster.",
                    'tankbook station machine C1 --fail "third stage leaks oil"',
                ),
                "bank-test": Command(
                    "acts.station_upkeep:bank_tested",
                    "Record the periodic test of a bank.",
                    "tankbook station bank-test B1 --on 2026-10 --by T123",
                ),
                "bank-look": Command(
                    "acts.station_papers:bank_looked_at",
                    "Record a look at a bank that was read far above its mark.",
                    'tankbook station bank-look B1 --decided "no bulge"',
                ),
                "bank-clean": Command(
                    "acts.station_papers:bank_cleaned",
                    "Record that a bank was looked inside and cleaned.",
                    'tankbook station bank-clean B1 --method "detergent, dried" --at 16:00',
                ),
                "no-period": Command(
                    "acts.station_papers:no_period",
                    "Record that a bank has no period, and on what ground.",
                    'tankbook station no-period B1 --why "ASME vessel, no interval"',
                ),
                "examined": Command(
                    "acts.station_papers:examined",
                    "Record an examination under a written scheme.",
                    "tankbook station examined WS1 --by Examiner --next 2028-03-10",
                ),
                "co": Command(
                    "acts.station_day:carbon_monoxide",
                    "Record a carbon monoxide alarm, or a reading after one.",
                    "tankbook station co 14ppm --alarm",
                ),
                "bump": Command(
                    "acts.station_day:bump_tested",
                    "Record an instrument held to a known gas.",
                    "tankbook station bump CO-1",
                ),
                "upkeep": Command(
                    "acts.station_parts:upkept",
                    "Record upkeep: oil, intake, belts, drains, dew point, sensors.",
                    "tankbook station upkeep oil --at 412.5",
                ),
                "open": Command(
                    "acts.station_day:opened",
                    "Record that the day's list was walked through.",
                    "tankbook station open",
                ),
                "close": Command(
                    "acts.station_day:closed",
                    "Record that the day's last list was walked through.",
                    "tankbook station close",
                ),
            },
        ),
    },
    WorkArea.COUNTER: {
        "rentals": Command(
            "rent:rentals", "The rental board: out, back today, late, short.", "tankbook rentals"
        ),
        "rent": Command(
            "rent:rent",
            "Send cylinders out on rental.",
            "tankbook rent 14 22 31 --to B-4471 --until 2026-11-28",
        ),
        "return": Command(
            "rent:return_",
            "Take cylinders back from rental.",
            "tankbook return 14=600 22=0/open --valve closed",
        ),
        "refuse": Command(
            "refuse:refuse",
            "Record a refusal at the counter.",
            'tankbook refuse 61 --told "in person"',
        ),
        "stolen": Command(
            "acts.counter:stolen",
            "Record a serial as stolen, found, or another's.",
            'tankbook stolen K118204 --why "police notice of 20 Nov" --ref N-4471',
        ),
        "incident": Command(
            "incident:incident",
            "Record that something happened; hold all named.",
            'tankbook incident "whip W1 burst" 14 --at 16:30 --whip W1',
        ),
        "incidents": Command(
            "incident:incidents",
            "The incidents on record, or the sheet of one.",
            "tankbook incidents",
        ),
        "stock": Command(
            "stock:stock", "What is for sale, and what each still needs.", "tankbook stock"
        ),
        "count": Command(
            "stock:count", "Key in a stock count.", "tankbook count 14 22 31 --place rack"
        ),
        "hand-over": Command(
            "hand_over:hand_over",
            "Hand a sold cylinder over, with its slip.",
            "tankbook hand-over 51 --to C-0192",
        ),
        "slip": Command("hand_over:slip", "The slip of a hand-over, again.", "tankbook slip 51"),
        "receipt": Command(
            "receipt:receipt",
            "A receipt for what came in or went out.",
            "tankbook receipt 16 --pdf receipt.pdf",
        ),
    },
    WorkArea.WORKSHOP: {
        "jobs": Command(
            "jobs:jobs",
            "The workshop board, and customers' work.",
            "tankbook jobs",
            below={
                "open": Command(
                    "jobs:open_",
                    "Take work in on a cylinder.",
                    "tankbook jobs open 61 --work visual,fill --promised 2026-12-01",
                ),
                "update": Command(
                    "jobs:update",
                    "Move work on: parts, date, price, told.",
                    "tankbook jobs update 61 --state awaiting-parts",
                ),
                "done": Command(
                    "acts.jobs:done",
                    "Finish work: it awaits collection.",
                    "tankbook jobs done 61 --told telephone",
                ),
                "collect": Command(
                    "jobs:collect",
                    "Hand cylinders back to their owners.",
                    "tankbook jobs collect 61",
                ),
            },
        ),
        "send": Command(
            "acts.away:send",
            "Send cylinders to a requalifier or repairer.",
            'tankbook send 14 15 --to "Northside Test House" --for requalification',
        ),
        "back": Command(
            "acts.away:back", "Have cylinders back from test or repair.", "tankbook back 14 15"
        ),
        "dispatch": Command(
            "dispatch:dispatch",
            "The note of what was sent, and the note back.",
            "tankbook dispatch 2026-11-17 --pdf note.pdf",
        ),
        "refit": Command(
            "acts.away:refit", "Record cylinders dried and refitted.", "tankbook refit 14 15"
        ),
        "requalify": Command(
            "requalify:requalify",
            "Record requalifications, passed or failed.",
            'tankbook requalify 14 15 --on 2026-10 --by T123 --stamp "10 T123 26"',
        ),
    },
    WorkArea.OFFICE: {
        "init": Command(
            "init:init",
            "Begin a ledger.",
            'tankbook init quay --name "Example Quay" --units psi --rules us-dot',
        ),
        "completion": Command(
            "completion:completion",
            "Lines by which a shell completes what is typed.",
            "tankbook completion bash",
        ),
        "schema": Command(
            "schema:schema",
            "JSON Schema of a ledger's files, for editors.",
            "tankbook schema cylinder",
        ),
        "import": Command(
            "import_:import_",
            "Take over your own spreadsheet: CSV or a workbook.",
            "tankbook import club.csv --map club.yaml",
        ),
        "export": Command(
            "export:export",
            "Take the whole ledger out: workbook, CSV or JSON.",
            "tankbook export quay.json",
        ),
        "tags": Command(
            "tags:tags", "Tags, in plain text or printed as PDF.", "tankbook tags 14 15"
        ),
        "costs": Command(
            "costs:costs", "What the months ahead cost, and when to do it.", "tankbook costs --plan"
        ),
        "calendar": Command(
            "calendar:calendar", "What is due, for a calendar.", "tankbook calendar --ics due.ics"
        ),
        "wall": Command(
            "wall:wall",
            "The wall chart of what falls due.",
            "tankbook wall --pdf wall.pdf --paper a4",
        ),
        "report": Command(
            "report:report", "The report on the fleet.", "tankbook report --html report.html"
        ),
        "committee": Command(
            "committee:committee",
            "A page for a club's meeting.",
            "tankbook committee --pdf meeting.pdf",
        ),
        "pages": Command(
            "pages:pages",
            "Pages for a tablet at the counter.",
            "tankbook pages ../counter-pages",
        ),
    },
    WorkArea.ARCHIVE: {
        "history": Command(
            "history:history",
            "The life of a cylinder or the station, and edits made since.",
            "tankbook history 14 --fills",
        ),
        "audit": Command(
            "audit:audit", "Signs of tampering in the history.", "tankbook audit --late 7"
        ),
        "pending": Command(
            "pending:pending",
            "An act that was interrupted: show, finish or drop it.",
            "tankbook pending --finish",
        ),
        "tidy": Command(
            "tidy:tidy", "Put the fill log in order after a merge.", "tankbook tidy --dry-run"
        ),
    },
}
"""Every command by its work and name, in the order they are listed."""

COMMANDS: Mapping[str, Command] = {n: c for listed in BY_WORK.values() for n, c in listed.items()}
"""Every command by its name."""


def every_line(listed: Mapping[str, Command] = COMMANDS) -> dict[str, Command]:
    """Commands by what is typed for each, those below another too: `station hours`."""
    found: dict[str, Command] = {}
    for name, command in listed.items():
        found |= {name: command, **{f"{name} {n}": each for n, each in command.below.items()}}
    return found
