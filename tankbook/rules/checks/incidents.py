"""What incidents name is set aside, and is there."""

from __future__ import annotations

import shlex
from collections.abc import Iterator, Sequence

from tankbook.rules.checks.declared import FAULT, WARN, Says, on_files
from tankbook.rules.incident_held import Unheld, why_of


@on_files("incident-not-held", FAULT, since="0.2", adverse=True)
def what_incidents_name_is_held(unheld: Sequence[Unheld]) -> Iterator[Says]:
    """What an incident names is set aside for it: a cylinder held, a whip or a position failed, a
    bank out of use. What is not is taken for that, and what is not on record is told."""
    for each in unheld:
        of, where = each.incident, each.incident.source.at()
        said = f"the incident of {of.on} ({of.what}) names {each.name}"
        if not each.known:
            text = f"{said}, which is not in the ledger"
            mend = "correct its name; what is none of the ledger's stands in `other:`, in words"
            yield Says(where, text, mend, WARN, (), each.name)
        elif each.ids:
            why = shlex.quote(why_of(of))
            for id_ in each.ids:
                mend = f"hold it: `tankbook hold {id_} --why {why}`; `release` lets it go once it "
                mend += "was looked at; where it had no part in it, strike the incident out "
                mend += f"(`tankbook correct counter incidents {of.on}`) and record it anew"
                yield Says(where, f"{said}, and no hold of {id_} for it stands", mend, None, (id_,))
        else:
            kind, _, name = each.name.partition(" ")
            fails = f"`tankbook station {kind} {name} --fail {shlex.quote(why_of(of))}`"
            mend = f"record that: {fails}" if kind != "bank" else "a good sample of it opens it"
            text = f"{said}, and nothing says that it is out of use: it is taken for that"
            yield Says(where, text, mend, WARN, ())
