"""The counter's commands, gathered: boards, rentals, customers' work, sales, recalls, counts."""

from __future__ import annotations

from tankbook.cli import hand_over, jobs, leaks, recall, refuse, rent, sheet, stock
from tankbook.cli.acts import Command
from tankbook.cli.groups import Group

COUNTER: dict[str, Command] = {
    "rentals": Command(
        rent.rentals,
        "The rental board: out, back today, late, short.",
        "tankbook rentals",
    ),
    "rent": Command(
        rent.rent,
        "Send cylinders out on rental.",
        "tankbook rent 14 22 31 --to B-4471 --until 2026-11-28",
    ),
    "return": Command(
        rent.return_,
        "Take cylinders back from rental.",
        "tankbook return 14=600 22=0/open --valve closed",
    ),
    "refuse": Command(
        refuse.refuse,
        "Record a refusal at the counter.",
        'tankbook refuse 61 --told "in person"',
    ),
    "stock": Command(
        stock.stock,
        "What is for sale, and what each still needs.",
        "tankbook stock",
    ),
    "hand-over": Command(
        hand_over.hand_over,
        "Hand a sold cylinder over, with its slip.",
        "tankbook hand-over 51 --to C-0192",
    ),
    "slip": Command(
        hand_over.slip,
        "The slip of a hand-over, again.",
        "tankbook slip 51",
    ),
    "recall": Command(
        recall.recall,
        "Who got gas from a bad source; hold them all.",
        "tankbook recall B1 --since 2026-10-12",
    ),
    "leaks": Command(
        leaks.leaks,
        "Cylinders that lose gas as they stand.",
        "tankbook leaks --since 2026-06-01",
    ),
    "count": Command(
        stock.count,
        "Key in a stock count.",
        "tankbook count 14 22 31 --place rack",
    ),
    "sheet": Command(
        sheet.sheet,
        "A fill sheet for the lake.",
        "tankbook sheet 14 22 31",
    ),
}
"""Every command of the counter by its name, in the order help lists them."""

COUNTER_GROUPS: dict[str, Group] = {
    "jobs": Group(
        Command(
            jobs.jobs,
            "The workshop board, and customers' work.",
            "tankbook jobs",
        ),
        {
            "open": Command(
                jobs.open_,
                "Take work in on a cylinder.",
                "tankbook jobs open 61 --work visual,fill --promised 2026-12-01",
            ),
            "update": Command(
                jobs.update,
                "Move work on: parts, date, price, told.",
                "tankbook jobs update 61 --state awaiting-parts",
            ),
            "done": Command(
                jobs.done,
                "Finish work: it awaits collection.",
                "tankbook jobs done 61 --told telephone",
            ),
            "collect": Command(
                jobs.collect,
                "Hand cylinders back to their owners.",
                "tankbook jobs collect 61",
            ),
        },
    ),
}
"""The counter's commands that have commands below them."""
