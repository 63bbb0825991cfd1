"""The flips from NO to YES that are right: pairs of operator and hazard, with the reason.

A flip passes only when its pair stands here, the change was made where the hazard is, and the judge
knows nothing against the changed ledger. A hazard under git has no pair: what vanishes there is missed.
"""

from __future__ import annotations

from hazards import HAZARDS

WITHOUT_GIT = " ".join(h.key for h in HAZARDS if not h.commits)

_TABLE: tuple[tuple[str, str, str], ...] = (
    (
        "entry-dropped entry-moved-to-another-card key-dropped line-dropped value-emptied row-to-another-cylinder"
        " file-dropped file-renamed file-cut-at-line file-cut-at-byte",
        WITHOUT_GIT,
        "in a ledger without git, what is taken out whole is not missed",
    ),
    (
        "value-spaced",
        "retest-mark-against-date",
        "run together without a blank no date of it can be read, and that is told",
    ),
    (
        "date-past date-turned",
        "bulge-noted-and-passed salt-water-noted-and-passed",
        "a finding before a full inspection that passed was looked at again",
    ),
    (
        "date-past date-turned",
        "oxygen-clean-lost",
        "an ordinary fill before the cleaning is cleaned away",
    ),
)

ALLOWED = {
    (operator, hazard): why
    for operators, hazards, why in _TABLE
    for operator in operators.split()
    for hazard in hazards.split()
}
