"""The commands that reckon at the fill station: a session, an equalizing, a blend."""

from __future__ import annotations

from tankbook.cli import blend, equalize, plan
from tankbook.cli.acts import Command

SESSIONS: dict[str, Command] = {
    "plan": Command(
        plan.plan, "Plan a fill session.", "tankbook plan 14=500 15=800 --bank B1=2400"
    ),
    "equalize": Command(
        equalize.equalize, "Where cylinders settle together.", "tankbook equalize 14=2500 15=0"
    ),
    "blend": Command(
        blend.blend,
        "How to make a gas in a cylinder.",
        'tankbook blend 14 --to nitrox32 --from "500 air" --oxygen 2000/50L',
    ),
}
"""Each by its name, in the order help lists them."""
