"""The flips from NO to YES that are right: pairs of operator and hazard, with the reason.

A flip passes only when its pair stands here, the change was made where the hazard is, and the judge
knows nothing against the changed ledger. A hazard under git has no pair: what vanishes there is missed.
"""

from __future__ import annotations

from hazards import HAZARDS

WITHOUT_GIT = " ".join(h.key for h in HAZARDS if not h.commits)

_VALUES = (
    "value-borrowed value-lookalike value-nudged value-nulled value-recased value-scaled value-spaced"
    " value-typo value-unit value-word"
)
_DATES = "date-ahead date-digit date-nearby date-past date-shortened date-turned"

_TABLE: tuple[tuple[str, str, str], ...] = (
    (
        "entry-dropped entry-moved-to-another-card key-dropped line-dropped value-emptied row-to-another-cylinder"
        " file-dropped file-renamed file-cut-at-line file-cut-at-byte",
        WITHOUT_GIT,
        "in a ledger without git, what is taken out whole is not missed",
    ),
    (
        _VALUES,
        "co-14-called-pass din-200-over-its-mark disc-above-test-pressure disc-at-limit disc-below-90-percent"
        " disc-below-plus-limit expansion-over-limit expansion-over-permit filled-to-twice insert-rated-low"
        " manifold-2000-one-side overfill-happened overfill-untold panel-rated-low permit-on-3al"
        " pressure-nobody-explains read-empty-and-not-looked-inside came-back-empty test-reached-too-little"
        " valve-rated-low whip-rated-low whip-rated-lower-than-the-regulator air-analysed-at-36 gouge-noted-and-passed"
        " holds-nitrox-asked-air life-ended",
        "another figure in the place of the wrong one is lawful",
    ),
    (
        _VALUES,
        "3al-of-steel air-test-failed air-test-of-unknown-source cga-grade-d came-back-with-valve-open"
        " crack-passed-afterwards crack-under-another-step bulge-noted-and-passed inspector-read-another-thread"
        " insert-unmarked-at-3442 isolator-shut-one-side look-taken-for-a-test m25-in-npsm over-heated-aluminium-passed"
        " failed-and-not-said-on-what nitrox-asked-of-air-cylinder oxygen-clean-lost reopened-by-another-source"
        " yoke-at-300-bar crack-passed-by-requalifier yoke-unmarked-at-3442 filled-while-out filled-while-held filled-while-rejected"
        " future-fill future-release hour-meter-not-read-since-the-change air-test-lapsed air-test-ahead"
        " over-heated-composite-passed plus-typed-and-stamped-nowhere called-condemned future-pass"
        " reopened-without-what-failed disc-9000-and-no-test-pressure stamp-against-date",
        "another word or day in the place of the wrong one is another fact, and a lawful one",
    ),
    (
        _VALUES,
        "gouge-passed-by-uncertified gouge-passed-by-look-inside gouge-passed-by-unknown-checklist inspected-by-lapsed-inspector inspected-by-somebody-who-left"
        " future-condemned-struck-out-by-nobody-certified"
        " condemning-voided-by-unknown released-by-uncertified void-by-uncertified damage-answered-by-uncertified",
        "signed by somebody certified, on a checklist that weighs enough, it counts",
    ),
    (
        _VALUES,
        "condemned-twin condemned-twin-case condemned-twin-hyphen condemned-twin-maker-misspelt"
        " condemned-twin-maker-respelled rejected-twin recall-notice other-side-held other-side-has-no-card"
        " log-line-of-an-id-with-o log-line-of-an-id-in-small-letters nitrox-filled-into-air-cylinder"
        " set-names-a-side-in-small-letters",
        "it is another cylinder, maker or serial that is named; what looks alike is warned of",
    ),
    (
        _VALUES,
        "condemned-on-the-shoulder first-test-against-marks marks-another-pressure marks-not-read marks-run-together"
        " retest-mark-against-date",
        "the shoulder says something else; what cannot be read of it is warned of",
    ),
    (
        _VALUES,
        "note-corrosion note-fire note-hairline-crack note-hairline-crack-on-the-card note-salt-water"
        " note-hairline-crack-and-a-sticker-seen",
        "the note is reworded, as the warning asks",
    ),
    (
        _DATES,
        "air-analysed-at-36 air-test-failed bulge-noted-and-passed co-14-called-pass failed-and-not-said-on-what"
        " filled-to-twice filled-while-held filled-while-out filled-while-rejected future-fill"
        " gouge-noted-and-passed hour-meter-not-read-since-the-change note-corrosion note-fire note-hairline-crack"
        " note-hairline-crack-and-a-sticker-seen note-salt-water oxygen-clean-lost pressure-nobody-explains"
        " read-empty-and-not-looked-inside reopened-by-another-source reopened-without-what-failed"
        " overfill-happened overfill-untold nitrox-filled-into-air-cylinder"
        " holds-nitrox-asked-air filled-to-twice-and-bled cga-grade-d came-back-empty",
        "before a look or a test that answers it, or after one that it no longer undoes, it is past",
    ),
    (
        _DATES,
        "air-test-ahead air-test-lapsed air-test-of-unknown-source future-pass future-condemned-struck-out-by-nobody-certified inspection-lapsed inspected-by-somebody-who-left life-ended",
        "another day is in date",
    ),
    (
        "value-nulled",
        "damage-not-answered damage-answered-by-sticker",
        "it says that there was no damage",
    ),
    (
        f"value-borrowed {_DATES}",
        "gouge-passed-naming-another-day",
        "it is of the day that the pass names",
    ),
    (
        _DATES,
        "condemned-twin-maker-misspelt",
        "of two makers and two first tests, they are two cylinders",
    ),
    ("value-borrowed", "filter-spent", "the meter says that it did not run"),
    (
        "value-word",
        "suspected-crack-without-finding",
        "another finding than a crack, which the full look that names it answers",
    ),
    (
        "entry-struck-out",
        "air-test-failed reopened-by-another-source back-from-test-and-not-refitted bulge-noted-and-passed filter-spent gouge-noted-and-passed"
        " note-corrosion note-hairline-crack note-hairline-crack-and-a-sticker-seen note-salt-water"
        " filled-while-out filled-while-at-test failed-and-not-said-on-what co-14-called-pass",
        "struck out by somebody who may, it counts for nothing",
    ),
)

ALLOWED = {
    (operator, hazard): why
    for operators, hazards, why in _TABLE
    for operator in operators.split()
    for hazard in hazards.split()
}
