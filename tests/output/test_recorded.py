"""What an act says: its sentence, what to see to and its commit first, the change last."""

from __future__ import annotations

from tankbook.ledger.apply import Recorded
from tankbook.output import recorded
from tankbook.output.page import Page
from tankbook.records.edits import Act

DIFF = (
    "--- cylinders/A.yaml\n+++ cylinders/A.yaml\n@@ -1 +1 @@\n-status: in-service\n+status: held\n"
)


def test_the_change_comes_last() -> None:
    act = Act("hold", ("A",), "Held A: dent, by MV", (), ("A is one side of DB-01",))
    told = Recorded(act, ("cylinders/A.yaml",), DIFF, commit="1a2b3c4d5e6f")
    assert recorded.text(told, Page()) == (
        "Held A: dent, by MV\n\n* A is one side of DB-01\n\nCommitted as 1a2b3c4d5e.\n\n" + DIFF
    )


def test_why_nothing_was_committed_comes_before_it_too() -> None:
    act = Act("hold", ("A",), "Held A: dent, by MV", ())
    told = Recorded(act, ("cylinders/A.yaml",), DIFF, why_not_committed="it is locked")
    lines = recorded.text(told, Page()).splitlines()
    assert lines[2].startswith("Recorded, NOT committed: it is locked.")
    assert lines[4] == "--- cylinders/A.yaml"
