"""Whole shoulders against a card: which are silent, which are told, which refuse and by what.

Lines are invented. Orders and shapes of the US follow 49 CFR 178.35(f)(1) and 180.213(d), (f), and
the row of X or CONDEMNED 180.205(i)(2), 2015 edition, read; the thread 25P a divers' network, read.
Fields of ISO 13769, marks of the UK and of Germany, numbers of gases in 49 CFR 172.101, words in
other languages, weights, sizes and batch numbers: memory. How strokes are typed: our own list.

Each line has a card, and what must be said: nothing, `?` and a check that warns, or the checks that
refuse.
"""

from __future__ import annotations

import books
import pytest

from tankbook.records.node import Severity
from tankbook.rules.checks import check
from tankbook.rules.gate import may_fill

US_STEEL = {
    "specification": "[DOT-3AA]", "material": "steel", "alloy": None,
    "service_pressure": "2400 psi", "test_pressure": "4000 psi",
    "valve": "{outlet: convertible, thread: 3/4-14 NPSM, rating: 3442 psi, disc: 4000 psi}",
}  # fmt: skip
EUROPEAN = {
    "specification": '["EN ISO 9809-1"]', "material": "steel", "alloy": None,
    "service_pressure": "232 bar", "test_pressure": "348 bar", "neck_thread": "M25x2",
    "valve": "{outlet: din-200, thread: M25x2, rating: 232 bar, disc: none}",
}  # fmt: skip
CLEAN = "[{on: 2026-03-01, by: MV, to: oxygen}]"
PLUS = "[{on: 2014-03, method: hydrostatic, by: maker}, {on: 2024-05, method: hydrostatic, by: T123, plus: yes}]"
PERMIT = "{number: DOT-SP 99001, period: 5 years, test_pressure: 5000 psi, life_ends: 2035-05, expansion_limit: 5 %}"
CARDS: dict[str, dict[str, str | None]] = {
    "al": {},
    "steel": US_STEEL,
    "plus": {**US_STEEL, "requalified": PLUS},
    "eu": EUROPEAN,
    "un": {**EUROPEAN, "specification": '["UN ISO 7866"]', "material": "aluminium"},
    "uk": {**EUROPEAN, "specification": '["BS 5045/3"]', "material": "aluminium"},
    "nitrox": {"service": "nitrox", "cleaned": CLEAN},
    "oxygen": {"service": "oxygen", "cleaned": CLEAN},
    "sp": {
        "specification": "[DOT-SP 99001]",
        "material": "composite",
        "alloy": None,
        "permit": PERMIT,
    },
}
IN_BAR = books.SETTINGS.replace("us-dot", "uk").replace("psi", "bar")


def said_of(card: str, marks: str, **more: str | None) -> str:
    """What the checks of marks say, and that the gate refuses what they refuse."""
    typed = "'" + marks.replace("'", "''") + "'"
    text = books.with_lines(books.GOOD, **{**CARDS[card], "marks": typed, **more})
    settings = IN_BAR if card in {"eu", "un", "uk"} else books.SETTINGS
    book = books.make_book({"A": text}, settings=settings).as_known_on(books.TODAY)
    found = [f for f in check(book, books.TODAY) if f.code.startswith("marks")]
    faults = sorted({f.code for f in found if f.severity is Severity.FAULT})
    told = sorted({f"?{f.code}" for f in found if f.severity is Severity.WARN})
    refused = {r.code for r in may_fill(book, "A", books.TODAY).refusals}
    assert refused >= set(faults)
    return " ".join(faults or told)


# fmt: off
LAWFUL = [  # What lawfully stands on shoulders of the US and of Canada; what nobody explains is told.
    ("al", "DOT-3AL 3000 K118204 03A24", ""),
    ("al", "DOT-3AL3000 K118204 03A24", ""),
    ("al", "DOT-3AL-3000 K118204 03A24", ""),
    ("al", "DOT3AL3000 K118204 03A24", ""),
    ("al", "TC-3ALM 207 / DOT-3AL 3000 K118204 03A24", ""),
    ("al", "TC-3ALM207/DOT-3AL3000 K118204 03A24", ""),
    ("al", "TC-3ALM-207 DOT-3AL-3000 K118204 EXAMPLE 03A24", ""),
    ("al", "DOT-3AL 3000 K118204 EXAMPLE CYLINDER CO 03A24", ""),
    ("al", "DOT-3AL3000-K118204-M1004 03A24", ""),
    ("al", "DOT-3AL 3000 K118204 M1004 IA02 03A24", ""),
    ("al", "DOT-3AL 3000 K118204 03 A 24", ""),
    ("al", "DOT-3AL 3000 K118204 03/24", ""),
    ("al", "DOT-3AL 3000 K118204 3-24", ""),
    ("al", "DOT-3AL 3000 K118204 03▲24", ""),
    ("al", "DOT-3AL 3000 K118204 03◇24", ""),
    ("al", "DOT-3AL 3000 K118204 S80 03A24", ""),
    ("al", "DOT-3AL 3000 K118204 AL80 03A24", ""),
    ("al", "DOT-3AL 3000 K118204 03A24 C80", ""),
    ("al", "DOT-3AL 3000 K118204 03A24 80 CU FT", ""),
    ("al", "DOT-3AL 3000 K118204 03A24 77.4 CF", ""),
    ("al", "DOT-3AL 3000 K118204 03A24 14.2 KG", ""),
    ("al", "DOT-3AL 3000 K118204 03A24 31.4 LBS", ""),
    ("al", "DOT-3AL 3000 K118204 03A24 TW 31.4 LB", ""),
    ("al", "DOT-3AL 3000 K118204 03A24 TARE 14.2 KG", ""),
    ("al", "DOT-3AL 3000 K118204 03A24 V11.1", ""),
    ("al", "DOT-3AL 3000 K118204 03A24 WC 11.1 L", ""),
    ("al", "DOT-3AL 3000 K118204 03A24 11.1 LTR", ""),
    ("al", "DOT-3AL 3000 K118204 03A24 3/4-14 NPSM", ""),
    ("al", "DOT-3AL 3000 K118204 03A24 3/4 NPSM", ""),
    ("al", "DOT-3AL 3000 K118204 03A24 .750-14 NPSM", ""),
    ("al", "DOT-3AL 3000 K118204 03A24 3/4-14NPSM", ""),
    ("al", "DOT-3AL 3000 K118204 03A24 6061-T6", ""),
    ("al", "DOT-3AL 3000 K118204 03A24 AA6061", ""),
    ("al", "DOT-3AL 3000 K118204 03A24 REE 63.4", ""),
    ("al", "DOT-3AL 3000 K118204 03A24 REE 63", ""),
    ("al", "DOT-3AL 3000 K118204 03A24 REE63.4CC", ""),
    ("al", "DOT-3AL 3000 K118204 03A24 MADE IN USA", ""),
    ("al", "DOT-3AL 3000 K118204 03A24 HEAT 4412", ""),
    ("al", "DOT-3AL 3000 K118204 03A24 HT 4412", ""),
    ("al", "DOT-3AL 3000 K118204 03A24 HT#4412", ""),
    ("al", "DOT-3AL 3000 K118204 03A24 LOT 221", ""),
    ("al", "DOT-3AL 3000 K118204 03A24 HEAT 350", "?marks-unexplained"),
    ("al", "DOT-3AL 3000 K118204 03A24 HEAT 350F", "?marks-unexplained"),
    ("al", "DOT-3AL 3000 K118204 03A24 HT 350", "?marks-unread"),
    ("al", "DOT-3AL 3000 K118204 03A24 <K> <L>", ""),
    ("al", "DOT-3AL 3000 K118204 03A24 [K] [L]", ""),
    ("al", "DOT-3AL 3000 K118204 03A24 BATCH 12B", ""),
    ("al", "DOT-3AL 3000 K118204 03A24 MIN WALL 12.3 MM", ""),
    ("al", "DOT-3AL 3000 K118204 03A24 4.2MM", ""),
    ("al", "DOT-3AL 3000 K118204 03A24 PH345", ""),
    ("al", "DOT-3AL 3000 K118204 03A24 TP5000", ""),
    ("al", "DOT-3AL 3000 K118204 03A24 TP 5000 PSI", ""),
    ("al", "DOT-3AL 3000 PSI K118204 03A24", ""),
    ("al", "DOT-3AL 3000 K118204 03A24 WP 3000 TP 5000", ""),
    ("al", "UN1002 DOT-3AL 3000 K118204 03A24", ""),
    ("al", "DOT-3AL 3000 K118204 03A24 AIR", ""),
    ("al", "DOT-3AL 3000 K118204 03A24 FOR AIR", ""),
    ("al", "DOT-3AL 3000 K118204 03A24 BREATHING AIR", ""),
    ("al", "DOT-3AL 3000 K118204 03A24 SCUBA", ""),
    ("al", "DOT-3AL 3000 K118204 03A24 NO. 7", ""),
    ("al", "DOT-3AL 3000 K118204 03A24 VCI", ""),
    ("al", "DOT-3AL 3000 K118204 03A24 V+", ""),
    ("al", "DOT-3AL 3000 K118204 03A24 H.S.", "?marks-unexplained"),
    ("al", "DOT-3AL 3000 K118204 03A24 HS", "?marks-unexplained"),
    ("al", "DOT-3AL 3000 K118204 03A24 H/S", "?marks-unexplained"),
    ("al", "DOT-3AL 3000 K118204 03A24 R.W.", ""),
    ("al", "DOT-3AL 3000 K118204 03A24 AR", "?marks-unexplained"),
    ("al", "DOT-3AL 3000 K118204 03A24 HE", "?marks-unexplained"),
    ("al", "DOT-3AL 3000 K118204 03A24 MED AIR", "?marks-unexplained"),
    ("oxygen", "UN1072 DOT-3AL 3000 K118204 03A24", ""),
    ("al", "DOT-3AL 3000 K118204 03A24 ALUMINUM", ""),
    ("steel", "DOT-3AA 2400 K118204 03A24 STEEL", ""),
    ("sp", "DOT-SP 99001-3000 K118204 03A24 NLL", ""),
    ("sp", "DOT-SP 99001-3000 K118204 03A24 ALUMINIUM LINER", ""),
    ("al", "DOT-3AL 3000 K118204 03A24 WP 207", ""),
    ("al", "DOT-3AL 3000 K118204 03A24 WP 3000", ""),
    ("al", "DOT-3AL 3000 K118204 03A24 OBLITERATED", "?marks-unexplained"),
    ("steel", "DOT-3AA2400 K118204 03A24", ""),
    ("steel", "DOT-3AA 2400 K118204 03A24 REE 98.5", ""),
    ("steel", "DOT-3AA 2400 K118204 LP85 03A24", ""),
    ("steel", "DOT-3AA 2400 K118204 03A24 4130", "?marks-unread"),
    ("steel", "DOT-3AA 2400 K118204 03A24 CR-MO", ""),
    ("plus", "DOT-3AA2400 K118204 03A14+ 05 T123 24+", ""),
    ("plus", "DOT-3AA 2400+ K118204 03A14 05T12324+", ""),
    ("plus", "DOT-3AA2400 K118204 03A14+ 05 T123 24 +", ""),
    ("al", "DOT-3AL 3000 K118204 03A24 ★", ""),
    ("al", "DOT-3AL 3000 K118204 03A24 EXPORT", "?marks-unexplained"),
    ("steel", "DOT-3AA 2400 K118204 03A24 HOT DIPPED GALVANIZED", ""),
    ("steel", "DOT-3AA 2400 K118204 03A24 HOT-DIP GALVANISED", ""),
    ("steel", "DOT-3AA2400 K118204 03A24 LP95", ""),
    ("steel", "DOT-3AA2400-K118204-XY AB 3-24", ""),
    ("steel", "DOT-3AA2400+ K118204 03A24", ""),
    ("al", "DOT-3AL 3000 K118204 03A24 6061", ""),
    ("al", "DOT-3AL 3000 K118204 03A24 EMPTY WT 31.4 LBS", ""),
    ("al", "DOT-3AL 3000 K118204 03A24 WC 11.1", ""),
    ("al", "DOT-3AL 3000 K118204 03A24 W 14.2 KG", ""),
    ("al", "DOT-3AL 3000 K118204 03A24 W14.2", ""),
    ("al", "DOT-3AL 3000 K118204 03A24 TARE WT 31.4", ""),
    ("al", "DOT-3AL 3000 K118204 03A24 BUOYANCY +4.4 LBS", ""),
    ("al", "DOT-3AL 3000 K118204 03A24 MIN 12.3 MM", ""),
    ("al", "DOT-3AL 3000 K118204 03A24 WALL .433", ""),
    ("al", "DOT-3AL 3000 K118204 03A24 MADE IN U.S.A.", ""),
    ("al", "DOT-3AL 3000 K118204 03A24 EXAMPLE CYL CO", ""),
    ("al", "DOT-3AL 3000 K118204 03A24 T6", ""),
    ("al", "DOT-3AL 3000 K118204 03A24 HT 12345", ""),
    ("al", "DOT-3AL 3000 K118204 03A24 H/N 12345", ""),
    ("al", "DOT-3AL 3000 K118204 03A24 CAST 4412A", ""),
    ("al", "DOT-3AL 3000 K118204 03A24 P/N 4412-80", ""),
    ("al", "DOT-3AL 3000 K118204 03A24 PART NO 441280", ""),
    ("al", "DOT-3AL 3000 K118204 03A24 MODEL S80", ""),
    ("al", "DOT-3AL 3000 K118204 03A24 S080", ""),
    ("al", "DOT-3AL 3000 K118204 03A24 AL 80", ""),
    ("al", "DOT-3AL 3000 K118204 03A24 80", ""),
    ("al", "DOT-3AL 3000 K118204 03A24 (80)", ""),
    ("al", "DOT-3AL 3000 K118204 03A24 UN 3156", ""),
    ("al", "DOT-3AL 3000 K118204-N2 03A24", ""),
    ("al", "DOT-3AL 3000 K118204 03A24 CE0036", ""),
    ("al", "DOT-3AL 3000 K118204 03A24 UKCA 0036", ""),
    ("al", "DOT-3AL 3000 K118204 03A24 π 0036", ""),
    ("al", "DOT-3AL 3000 K118204 03A24 ⊕", ""),
    ("al", "DOT-3AL 3000 K118204 03A24 △", ""),
    ("al", "DOT-3AL 3000 K118204 03A24 <K>", ""),
    ("al", "DOT-3AL 3000 K118204 03A24 [ECC]", ""),
    ("al", "DOT-3AL 3000 (K118204) 03A24", ""),
    ("al", "DOT-3AL 3000 K118204 - 03A24", ""),
    ("al", "DOT-3AL 3000 / K118204 / 03A24", ""),
    ("al", "DOT-3AL 3000 | K118204 | 03A24", ""),
    ("al", "DOT-3AL 3000, K118204, 03A24", ""),
    ("al", "DOT-3AL 3000; K118204; 03A24", ""),
    ("al", "DOT-3AL 3000 -- K118204 -- 03A24", ""),
    ("al", "DOT-3AL 3000 — K118204 — 03A24", ""),
    ("al", "DOT-3AL 3000 // K118204 // 03A24", ""),
    ("al", "DOT-3AL 3000 K118204 03A24 CND", "?marks-unexplained"),
    ("al", "DOT-3AL -3000- K118204 03A24", "?marks-unread"),
    ("al", "DOT-3AL (3000) K118204 03A24", "?marks-unread"),
    ("al", "DOT-3AL 3000 K118204 03A24 207 BAR", ""),
    ("al", "DOT-3AL 3000/207 K118204 03A24", ""),
    ("al", "DOT-3AL 3000 K118204 03A24 W.P. 3000 PSI", ""),
    ("al", "TC-3ALM 207 DOT-3AL 3000 K118204 03A24 WP 207 BAR", ""),
    ("sp", "DOT-SP 99001-3000 K118204 03A24 FIN 2035/05", ""),
    ("sp", "DOT-SP 99001-3000 K118204 03A24 CARBON FIBRE", ""),
    ("nitrox", "DOT-3AL 3000 K118204 03A24 EAN40", ""),
    ("al", "DOT-3AL 3000 K118204 03A24 EANX", ""),
    ("al", "DOT-3AL 3000 K118204 03A24 NOX", "?marks-unexplained"),
    ("al", "DOT-3AL 3000 K118204 03A24 TRIMIX HE", "?marks-unexplained"),
    ("al", "DOT-3AL 3000 K118204 03A24 3AL3000", ""),
    ("al", "DOT-3AL 3000 K118204 03A24 3AL 3000", "?marks-unread"),
    ("al", "DOT-3AL 3000 K118204 03A24 VE", ""),
]
CROSSED = [  # Crossed out and condemned, in the ways people type it.
    ("al", "DOT-3AL 3000 K118204 03A24 11X Z418 21", "marks-condemned"),
    ("al", "DOT-3AL 3000 K118204 03A24 11 XZ418X 21", "marks-condemned"),
    ("al", "DOT-3AL 3000 K118204 03A24 X11 Z418 21X", "marks-condemned"),
    ("al", "DOT-3AL 3000 K118204 03A24 11 Z418 21X", "marks-condemned marks-retest"),
    ("al", "DOT-3AL 3000 K118204 03A24 11 Z418 X21", "marks-condemned"),
    ("al", "DOT-3AL X3000X K118204 03A24", "marks-condemned"),
    ("al", "DOT-3AL 3000 K118204 03A24 XXX", "marks-condemned"),
    ("al", "3AL3000 XXXX K118204 03A24", "marks-condemned"),
    ("al", "DOT-3AL 3000 CONDEMNED K118204 03A24", "marks-condemned"),
    ("al", "DOT-3AL 3000 K118204 03A24 REJECTED", "marks-condemned"),
    ("al", "DOT-3AL 3000 K118204 03A24 REJ", "marks-condemned"),
    ("al", "DOT-3AL 3000 K118204 03A24 REJ.", "marks-condemned"),
    ("al", "DOT-3AL 3000 K118204 03A24 COND", "marks-condemned"),
    ("al", "DOT-3AL 3000 K118204 03A24 VOID", "marks-condemned"),
    ("al", "DOT-3AL 3000 K118204 03A24 SCRAP", "marks-condemned"),
    ("al", "3AL-X3000 K118204 03A24", "marks-condemned"),
    ("al", "DOT-3AL 3000 K118204 03A24 ><", "marks-condemned"),
    ("al", "DOT-3AL 3000 K118204 X03A24X", "marks-condemned"),
    ("al", "DOT-3AL 3X0X0X0X K118204 03A24", "marks-condemned"),
    ("al", "DOT-3AL 3000 (x'd) K118204 03A24", "marks-condemned"),
    ("al", "DOT-3AL 3000 K118204 03A24 X's", "marks-condemned"),
    ("al", "DOT-3AL-X-3000 K118204 03A24", "marks-condemned"),
    ("al", "DOT-3AL 3000 XK118204X 03A24", "marks-serial"),
    ("al", "DOT-3AL 3000 K118204 03A24 11/X/21", "marks-unread"),
    ("al", "DOT-3AL 3000 K118204 03A24 \u2327", "marks-condemned"),
    ("al", "DOT-3AL 3000 K118204 03A24 \U0001f5d9", "marks-condemned"),
    ("al", "DOT-3AL 3000 K118204 03A24 RJCTD", "marks-say"),
    ("al", "DOT-3AL 3000 K118204 03A24 DO NOT HYDRO", "marks-say"),
    ("al", "DOT-3AL 3000 K118204 03XA24", ""),
    ("al", "DOT-3AL 3000 K118204 03A24 >|<", "marks-condemned"),
    ("al", "DOT-3AL 3000 K118204 03A24 > <", "marks-condemned"),
    ("al", "DOT-3AL 3000 K118204 03A24 \\/", "marks-condemned"),
    ("al", "DOT-3AL 3000 K118204 03A24 )(", "marks-condemned"),
    ("al", "--3AL3000-- K118204 03A24", "marks-condemned"),
    ("al", "--DOT-3AL3000-- K118204 03A24", "marks-condemned"),
    ("al", "DOT-3AL 3000 K118204 03A24 (X)", "marks-condemned"),
    ("al", "DOT-3AL 3000 K118204 03A24 X", "marks-condemned"),
    ("al", "DOT-3AL 3000 X K118204 03A24", "marks-condemned"),
    ("al", "DOT-3AL 3000 K118204 03A24 X X", "marks-condemned"),
    ("al", "DOT-3AL 3000 K118204 03A24 XX", "marks-condemned"),
    ("al", "DOT-3AL 3000X K118204 03A24", "marks-condemned"),
    ("al", "~~DOT-3AL 3000~~ K118204 03A24", "marks-condemned"),
    ("al", "DOT-3AL --3000-- K118204 03A24", "marks-condemned"),
    ("al", "D\u0336O\u0336T\u0336-\u03363\u0336A\u0336L\u0336 3000 K118204 03A24", "marks-condemned"),
    ("al", "DOT-3AL 3000 K118204 03A24 [X]", "marks-condemned"),
    ("al", "DOT-3AL 3000 K118204 03A24 *X*", "marks-condemned"),
    ("al", "DOT-3AL 3000 K118204 03A24 STRUCK", "marks-say"),
    ("al", "DOT-3AL 3000 K118204 03A24 X-ED OUT", "marks-say"),
    ("al", "DOT-3AL 3000 K118204 03A24 CROSSED", "marks-say"),
    ("al", "DOT-3AL 3000 **K118204** 03A24", "marks-condemned"),
    ("al", "DOT-3AL 3000 K118204 03A24 --06 Z418 25--", "marks-condemned"),
    ("al", "XDOT-3AL 3000X K118204 03A24", "marks-condemned"),
    ("al", "XXDOT-3AL3000XX K118204 03A24", "marks-condemned"),
    ("al", "DOT-3AL 3000 CONDEMED K118204 03A24", "marks-condemned"),
    ("al", "DOT-3AL 3000 K118204 03A24 REJ'D", "marks-say"),
    ("al", "DOT-3AL 3000 K118204 03A24 REJECT 5/25", "marks-condemned"),
    ("al", "DOT-3AL 3000 K118204 03A24 COND 5-25", "marks-condemned"),
    ("al", "DOT-3AL 3000 K118204 03A24 (CONDEMNED)", "marks-condemned"),
    ("al", "DOT-3AL 3000 K118204 03A24 VOIDED", "marks-condemned"),
    ("al", "DOT-3AL 3000 K118204 03A24 X-OUT", "marks-say"),
    ("al", "DOT-3AL 3000 K118204 03A24 X'D OUT", "marks-condemned marks-say"),
    ("al", "DOT-3AL 3000 K118204 03A24 XED", "marks-say"),
    ("al", "DOT-3AL 3000 XXXX K118204 03A24", "marks-condemned"),
    ("al", "DOT-3AL xxxx K118204 03A24", "marks-condemned"),
    ("al", "DOT-3AL 3000 K118204 03A24 x x x x", "marks-condemned"),
    ("al", "DOT-3AL 3000 K118204 03A24 ✗", "marks-condemned"),
    ("al", "DOT-3AL 3000 K118204 03A24 ✘", "marks-condemned"),
    ("al", "DOT-3AL 3000 K118204 03A24 ❌", "marks-condemned"),
    ("al", "DOT-3AL 3000 K118204 03A24 ╳", "marks-condemned"),
    ("al", "DOT-3AL 3000 K118204 03A24 >-<", "marks-condemned"),
    ("al", "DOT-3AL 3000 K118204 03A24 }{", "marks-condemned"),
    ("al", "DOT-3AL 3000 K118204 03A24 /\\/\\", "marks-condemned"),
    ("al", "DOT-3AL 3000 K118204 03A24 ///", "marks-condemned"),
    ("al", "DOT-3AL ~3000~ K118204 03A24", "marks-condemned"),
    ("al", "DOT-3AL [struck] 3000 K118204 03A24", "marks-say"),
    ("al", "3AL-3000 X K118204 03A24", "marks-condemned"),
    ("al", "3AL3000X K118204 03A24", "marks-condemned"),
    ("al", "X3AL3000X K118204 03A24", "marks-condemned"),
    ("al", "X3AL X3000 K118204 03A24", "marks-condemned"),
    ("al", "DOT-X3AL3000 K118204 03A24", "marks-condemned"),
    ("al", "DOTX3AL3000 K118204 03A24", "marks-condemned"),
    ("al", "DXOXTX-3AL 3000 K118204 03A24", "marks-condemned"),
    ("eu", "EN ISO 9809-1 PW232 PH348 K118204 2024/03 GESPERRT", "marks-condemned"),
    ("eu", "EN ISO 9809-1 PW232 PH348 K118204 2024/03 VERSCHROTTET", "marks-condemned"),
    ("eu", "EN ISO 9809-1 PW232 PH348 K118204 2024/03 RÉFORMÉE", "marks-condemned"),
    ("eu", "EN ISO 9809-1 PW232 PH348 K118204 2024/03 REBUTÉE", "marks-condemned"),
    ("al", "DOT-3AL 3000 K118204 03A24 11 Z418 X", "marks-condemned"),
    ("al", "DOT-3AL 3000 K118204 03A24 XX/XX", "marks-condemned"),
    ("al", "DOT-3AL 3000 K118204 03A24 11XX21", "marks-condemned"),
    ("al", "DOT-3AL 3000 K118204 03A24 >X<", "marks-condemned"),
    ("al", "DOT-3AL 3000 K118204 03A24 ><><><", "marks-condemned"),
    ("al", "DOT-3AL 3000 K118204 03A24 x", "marks-condemned"),
    ("al", "DOT-3AL 3000 >< K118204 03A24", "marks-condemned"),
    ("al", "DOT-3AL 3000 K118204 03A24 -X-", "marks-condemned"),
    ("al", "DOT-3AL 3000 K118204 03A24 /X/", "marks-condemned"),
    ("al", "DOT-3AL 3000 K118204 03A24 \"X\"", "marks-condemned"),
    ("al", "DOT-3AL 3000 K118204 03A24 'X'", "marks-condemned"),
    ("al", "==DOT-3AL 3000== K118204 03A24", "marks-condemned"),
    ("al", "__3AL3000__ K118204 03A24", "marks-condemned"),
    ("al", "DOT-3AL 3000 K118204 03A24 STRUCK OUT", "marks-say"),
    ("al", "DOT-3AL 3000 K118204 03A24 REJECTED 04 Z418 26", "marks-condemned"),
    ("al", "DOT-3AL 3000 K118204 03A24 NOT TO BE USED", "marks-say"),
]
GAS = [  # Words and numbers for a gas, against what the card says it is labelled for.
    ("al", "DOT-3AL 3000 K118204 03A24 OXYGEN CLEAN", ""),
    ("al", "DOT-3AL 3000 K118204 03A24 O2 CLEAN", ""),
    ("al", "DOT-3AL 3000 K118204 03A24 N2", "marks-gas"),
    ("al", "DOT-3AL 3000 K118204 03A24 NITROGEN", "marks-gas"),
    ("al", "DOT-3AL 3000 K118204 03A24 CO2", "marks-gas"),
    ("al", "DOT-3AL 3000 K118204 03A24 ARGON", "marks-gas"),
    ("al", "DOT-3AL 3000 K118204 03A24 HELIUM", "marks-gas"),
    ("al", "DOT-3AL 3000 K118204 03A24 H2", "marks-gas"),
    ("al", "DOT-3AL 3000 K118204 03A24 ACETYLENE", "marks-gas"),
    ("al", "DOT-3AL 3000 K118204 03A24 C2H2", "marks-gas"),
    ("al", "DOT-3AL 3000 K118204 03A24 N2O", "marks-gas"),
    ("al", "DOT-3AL 3000 K118204 03A24 SF6", "marks-gas"),
    ("al", "DOT-3AL 3000 K118204 03A24 NITROUS OXIDE", "marks-gas"),
    ("al", "DOT-3AL 3000 K118204 03A24 UN1066", "marks-gas"),
    ("al", "DOT-3AL 3000 K118204 03A24 UN 1013", "marks-gas"),
    ("al", "DOT-3AL 3000 K118204 03A24 UN1072", "marks-gas"),
    ("al", "DOT-3AL 3000 K118204 03A24 O2", "marks-gas"),
    ("al", "DOT-3AL 3000 K118204 03A24 OXYGEN", "marks-gas"),
    ("al", "DOT-3AL 3000 K118204 03A24 O2 ONLY", "marks-gas"),
    ("al", "DOT-3AL 3000 K118204 03A24 OXYGEN ONLY", "marks-gas"),
    ("al", "DOT-3AL 3000 K118204 03A24 NITROX ONLY", "marks-gas"),
    ("al", "DOT-3AL 3000 K118204 03A24 MEDICAL OXYGEN", "marks-gas"),
    ("al", "DOT-3AL 3000 K118204 03A24 MEDICAL", "?marks-gas"),
    ("al", "DOT-3AL 3000 K118204 03A24 USP", "?marks-gas"),
    ("nitrox", "DOT-3AL 3000 K118204 03A24 NITROX", ""),
    ("nitrox", "DOT-3AL 3000 K118204 03A24 O2 CLEAN", ""),
    ("nitrox", "DOT-3AL 3000 K118204 03A24 O2", "?marks-gas"),
    ("nitrox", "DOT-3AL 3000 K118204 03A24 O2 ONLY", "marks-gas"),
    ("nitrox", "DOT-3AL 3000 K118204 03A24 AIR ONLY", "marks-gas"),
    ("nitrox", "DOT-3AL 3000 K118204 03A24 N2", "marks-gas"),
    ("nitrox", "DOT-3AL 3000 K118204 03A24 NITROX ONLY", ""),
    ("oxygen", "DOT-3AL 3000 K118204 03A24 O2", ""),
    ("oxygen", "DOT-3AL 3000 K118204 03A24 OXYGEN", ""),
    ("oxygen", "DOT-3AL 3000 K118204 03A24 O2 ONLY", ""),
    ("oxygen", "DOT-3AL 3000 K118204 03A24 AIR ONLY", "marks-gas"),
    ("oxygen", "DOT-3AL 3000 K118204 03A24 CO2", "marks-gas"),
    ("al", "DOT-3AL 3000 K118204 03A24 8AL", "marks-gas"),
    ("eu", "EN ISO 9809-1 PW232 PH348 K118204 2024/03 STICKSTOFF", "marks-gas"),
    ("eu", "EN ISO 9809-1 PW232 PH348 K118204 2024/03 SAUERSTOFF", "marks-gas"),
    ("al", "DOT-3AL 3000 K118204 03A24 NITROX", ""),
    ("al", "DOT-3AL 3000 K118204 03A24 NITROX READY TO 40%", ""),
    ("al", "DOT-3AL 3000 K118204 03A24 CLEANED FOR O2 SERVICE", ""),
    ("al", "DOT-3AL 3000 K118204 03A24 O2 SERVICE", "marks-gas"),
    ("al", "DOT-3AL 3000 K118204 O2A24", "marks-unread"),
    ("al", "DOT-3AL 3000 K118204 03A24 DOT-8AL", "marks-gas marks-specification"),
    ("eu", "EN ISO 9809-1 PW232 PH348 K118204 2024/03 AZOTE", "marks-gas"),
    ("eu", "EN ISO 9809-1 PW232 PH348 K118204 2024/03 KVÄVE", "marks-gas"),
    ("eu", "EN ISO 9809-1 PW232 PH348 K118204 2024/03 KOHLENSÄURE", "marks-gas"),
    ("eu", "EN ISO 9809-1 PW232 PH348 K118204 2024/03 OXYGÈNE", "marks-gas"),
    ("nitrox", "DOT-3AL 3000 K118204 03A24 OXYGEN CLEANED", ""),
    ("nitrox", "DOT-3AL 3000 K118204 03A24 O2 COMPATIBLE", ""),
    ("nitrox", "DOT-3AL 3000 K118204 03A24 NOT O2 CLEAN", "marks-gas"),
    ("nitrox", "DOT-3AL 3000 K118204 03A24 NOT FOR OXYGEN", "marks-gas"),
    ("al", "DOT-3AL 3000 K118204 03A24 NOT FOR OXYGEN", ""),
    ("al", "DOT-3AL 3000 K118204 03A24 AIR/NITROX ONLY", ""),
    ("al", "DOT-3AL 3000 K118204 03A24 CO2 ONLY", "marks-gas marks-say"),
    ("al", "DOT-3AL 3000 K118204 03A24 N-2", "marks-gas"),
    ("al", "DOT-3AL 3000 K118204 03A24 (N2)", "marks-gas"),
    ("al", "DOT-3AL 3000 K118204 03A24 N₂", "marks-gas"),
    ("al", "DOT-3AL 3000 K118204 03A24 O₂", "marks-gas"),
    ("al", "DOT-3AL 3000 K118204 03A24 CO₂", "marks-gas"),
    ("al", "DOT-3AL 3000 K118204 03A24 MED O2", "marks-gas"),
    ("al", "DOT-3AL 3000 K118204 03A24 OXY", "marks-gas"),
    ("al", "DOT-3AL 3000 K118204 03A24 MAX O2 40%", ""),
    ("nitrox", "DOT-3AL 3000 K118204 03A24 O2 <= 40 %", ""),
    ("nitrox", "DOT-3AL 3000 K118204 03A24 O2 32 %", ""),
    ("al", "DOT-3AL 3000 K118204 03A24 O2 100%", "marks-gas"),
    ("al", "DOT-3AL 3000 K118204 03A24 OXYGEN CLEANING 03/25", "?marks-retest"),
    ("oxygen", "DOT-3AL 3000 K118204 03A24 BREATHING AIR", "?marks-gas"),
    ("oxygen", "UN1002 DOT-3AL 3000 K118204 03A24", "?marks-gas"),
    ("nitrox", "UN1002 DOT-3AL 3000 K118204 03A24", ""),
    ("al", "DOT-3AL 3000 K118204 03A24 ELIO", "?marks-gas"),
    ("al", "DOT-3AL 3000 K118204 03A24 MEDICAL-OXYGEN", "marks-gas"),
    ("al", "DOT-3AL 3000 K118204 03A24 OXYGEN USP", "marks-gas"),
    ("al", "DOT-3AL 3000 K118204 03A24 N2/AIR", "marks-gas"),
    ("al", "DOT-3AL 3000 K118204 03A24 WELDING ARGON", "marks-gas"),
    ("al", "DOT-3AL 3000 K118204 03A24 AR/CO2", "marks-gas"),
    ("al", "DOT-3AL 3000 K118204 03A24 NITROGEN ONLY", "marks-gas marks-say"),
    ("al", "DOT-3AL 3000 K118204 03A24 NITROX/AIR", ""),
    ("eu", "EN ISO 9809-1 PW232 PH348 K118204 2024/03 OXYGEN", "marks-gas"),
]
MATERIAL = [  # What it is made of: in words, by its specification or by its alloy.
    ("al", "DOT-3AL 3000 K118204 03A24 NLL", "marks-made-of"),
    ("al", "DOT-3AL 3000 K118204 03A24 CARBON FIBRE", "marks-made-of"),
    ("al", "DOT-3AL 3000 K118204 03A24 STEEL", "marks-made-of"),
    ("al", "DOT-3AL 3000 K118204 03A24 HOT DIPPED GALVANIZED", "marks-made-of"),
    ("steel", "DOT-3AA 2400 K118204 03A24 ALUMINIUM", "marks-made-of"),
    ("al", "DOT-3HT1850 K118204 03A24", "marks-material marks-pressure marks-specification"),
    ("eu", "EN ISO 7866 PW232 PH348 K118204 2024/03", "marks-material marks-specification"),
    ("eu", "EN ISO 9809-1 PW232 PH348 K118204 2024/03 NLL", "marks-made-of"),
    ("un", "UN ISO 11119-2 PW232 PH348 K118204 2024/03", "marks-material marks-specification"),
    ("uk", "BS 5045/1 WP 232 BAR TP 348 BAR K118204 03/24", "marks-material marks-specification"),
    ("steel", "DOT-3AA 2400 K118204 03A24 6351", "marks-alloy"),
    ("al", "DOT-3AL 3000 K118204 03A24 6351-T6", "marks-alloy"),
    ("eu", "EN ISO 9809-1 PW232 PH348 K118204 2024/03 ALUMINIUM", "marks-made-of"),
    ("eu", "EN ISO 9809-1 PW232 PH348 K118204 2024/03 EN 12245", "marks-material marks-specification"),
]
PRESSURE = [  # Another working pressure, or a test pressure in the place of one.
    ("al", "DOT-3AL 3000 K118204 03A24 WP 200", "marks-pressure"),
    ("al", "DOT-3AL 3000 K118204 03A24 WP200", "marks-pressure"),
    ("al", "DOT-3AL 3000 K118204 03A24 WP 200 BAR", "marks-pressure"),
    ("al", "DOT-3AL 3000 K118204 03A24 PW 150", "marks-pressure"),
    ("al", "DOT-3AL 3000 K118204 03A24 PW232", "marks-pressure"),
    ("al", "DOT-3AL 3000 K118204 03A24 WP-200", "marks-pressure"),
    ("al", "TC-3ALM 207 DOT-3AL 3000 K118204 03A24 WP 200", "marks-pressure"),
    ("al", "TC-3ALM 207 DOT-3AL 3000 K118204 03A24 WP 200 BAR", "marks-pressure"),
    ("al", "TC-3ALM 207 DOT-3AL 3000 K118204 03A24 WP 207", ""),
    ("al", "TC-3ALM 207 DOT-3AL 3000 K118204 03A24 WP 3000 PSI", ""),
    ("al", "DOT-3AL 3000 K118204 03A24 200 WP", "marks-pressure"),
    ("al", "DOT-3AL 3000 K118204 03A24 MAX FILL 2000", "marks-pressure"),
    ("al", "DOT-3AL 3000 K118204 03A24 FILL TO 2250", "marks-pressure"),
    ("al", "DOT-3AL 3000 K118204 03A24 WP 3300", "marks-pressure"),
    ("steel", "DOT-3AA 2400 K118204 03A24 WP 200", "marks-pressure"),
    ("steel", "DOT-3AA 2400 K118204 03A24 WP 200 BAR", "marks-pressure"),
    ("steel", "DOT-3AA 2400 K118204 03A24 WP 2400", ""),
    ("plus", "DOT-3AA 2400 K118204 03A14+ 05 T123 24+ WP 2640", "?marks-unread"),
    ("al", "DOT-3AL 3000 K118204 03A24 WP 20.7 MPA", ""),
    ("al", "DOT-3AL 3000 K118204 03A24 MAX 3000 PSI", ""),
    ("al", "DOT-3AL 3000 PSI WP 5000 PSI TP K118204 03A24", ""),
    ("al", "DOT-3AL 3000 K118204 03A24 PS 200", "marks-pressure"),
    ("al", "DOT-3AL 3000 K118204 03A24 CP 200 BAR", "marks-pressure"),
    ("al", "DOT-3AL 3000 K118204 03A24 2015 PSI", "marks-pressure"),
    ("steel", "3HT1850 K118204 03A24", "marks-pressure marks-specification"),
    ("eu", "EN ISO 9809-1 PW200 PH300 K118204 2024/03", "marks-pressure marks-test-pressure"),
    ("eu", "EN ISO 9809-1 PH232 K118204 2024/03", "marks-pressure marks-test-pressure"),
    ("eu", "EN ISO 9809-1 TP 232 K118204 2024/03", "marks-pressure marks-test-pressure"),
    ("eu", "EN ISO 9809-1 PE 232 K118204 2024/03", "marks-pressure marks-test-pressure"),
    ("eu", "EN ISO 9809-1 PT 232 K118204 2024/03", "marks-pressure marks-test-pressure"),
    ("steel", "DOT-3AA2640 K118204 03A24", "marks-pressure"),
    ("al", "DOT-3AL 3000 K118204 03A24 DOT-4BA240", "marks-pressure marks-specification"),
    ("al", "DOT-4BA240 K118204 03A24", "marks-pressure marks-specification"),
    ("al", "DOT-3AL 3000 K118204 03A24 TC-3HTM 127", "marks-pressure marks-specification"),
    ("al", "DOT-3AL 3000 K118204 03A24 TEST 3000", "marks-test-pressure"),
    ("al", "DOT-3AL 3000 K118204 03A24 PT 3000", "marks-test-pressure"),
    ("al", "DOT-3AL 3000 K118204 03A24 PH 300", "marks-test-pressure"),
    ("al", "DOT-3AL 3000 K118204 03A24 MAX 200 BAR", "marks-pressure"),
    ("al", "DOT-3AL 3000 K118204 03A24 MAWP 2250", "marks-pressure"),
    ("al", "DOT-3AL 3000 K118204 03A24 WORKING PRESSURE 200 BAR", "marks-pressure"),
    ("al", "DOT-3AL 3000 K118204 03A24 SERVICE PRESSURE 2250", "marks-pressure"),
    ("al", "DOT-3AL 3000 K118204 03A24 BETRIEBSDRUCK 200 BAR", "marks-pressure"),
    ("eu", "EN ISO 9809-1 PW300 PH450 K118204 2024/03", "marks-pressure marks-test-pressure"),
    ("uk", "HOS WP 1800 TP 3000 K118204 3/24", "marks-pressure marks-specification"),
    ("uk", "LASC WP 1800 LBS K118204 3/24", "marks-pressure marks-specification"),
    ("al", "DOT-3AL 3000 K118204 03A24 1850 PSI", "marks-pressure"),
    ("al", "DOT-3AL 3000 K118204 03A24 TC-3ALM 153", "marks-pressure"),
]
SPECIFICATION = [  # Another specification, read or not.
    ("al", "CTC/DOT-3AL 3000 K118204 03A24", "marks-specification"),
    ("al", "DOT-3AL 3000 K118204 03A24 3HT1850", "marks-unread"),
    ("al", "DOT-3AL 3000 K118204 03A24 3HT-1850", "marks-unread"),
    ("al", "DOT-3AL 3000 K118204 03A24 3B300", "marks-unread"),
    ("al", "DOT-3AL 3000 K118204 03A24 4BA240", "marks-unread"),
    ("al", "DOT-3AL 3000 K118204 03A24 3AA2015", "marks-unread"),
    ("al", "DOT-3AL 3000 K118204 03A24 3AL2216", "marks-unread"),
    ("plus", "ICC-3AA2400 K118204 03A14 05 T123 24+", "marks-specification"),
    ("uk", "HOAL 2 WP 232 BAR TP 348 BAR K118204 2024/03", "marks-specification"),
    ("steel", "TC-3AAM 165 DOT-3AA 2400 K118204 03A24", "marks-specification"),
    ("steel", "DOT-3AAX2400 K118204 03A24 ZZ", "marks-specification"),
    ("steel", "DOT-3AX2400 K118204 03A24", "marks-specification"),
    ("al", "DOT-3AL 3000 K118204 03A24 DOT-E 8162", "marks-specification"),
    ("al", "DOT-3AL 3000 K118204 03A24 DOT-SP12079-3442", "marks-pressure marks-specification"),
    ("al", "DOT-3AL 3000 K118204 03A24 06 25", "marks-unread"),
    ("al", "DOT-3AL 3000 UN ISO 7866 PW207 PH345 K118204 03A24", "marks-specification"),
    ("al", "DOT-3AL 3000 K118204 03A24 3T1850", "marks-unread"),
    ("al", "DOT-3AL 3000 K118204 03A24 3E1800", "marks-unread"),
    ("al", "DOT-3AL 3000 K118204 03A24 4B240", "marks-unread"),
    ("al", "DOT-3AL 3000 K118204 03A24 3A1800", "marks-unread"),
    ("al", "DOT-3AL 3000 K118204 03A24 3A 1800", "marks-unread"),
    ("al", "DOT-3AL 3000 K118204 03A24 3AA/2250", "marks-unread"),
    ("al", "DOT-3AL 3000 K118204 03A24 3AL/2250", "marks-unread"),
    ("al", "DOT-3AL 3000 K118204 03A24 3AL 2250", "marks-unread"),
]
TESTS = [  # Dates, plus and the end of a life.
    ("plus", "DOT-3AA2400 K118204 03A14+ 05 T123 24", "marks-plus"),
    ("al", "DOT-3AL 3000 K118204 03A24 06 Z418 25", "?marks-retest"),
    ("al", "DOT-3AL 3000 K118204 03A24 06 Z418 29", "marks-retest"),
    ("al", "DOT-3AL 3000 K118204 03A24 FIN 2030", "marks-life-end"),
    ("al", "DOT-3AL 3000 K118204 03A24 EOL 2030", "marks-life-end"),
    ("eu", "EN ISO 9809-1 PW232 PH348 K118204 2024/03 2019/06 Q12", "marks-retest"),
    ("uk", "BS 5045 PART 3 EXAMPLE K118204 MFP 232 BAR TP 348 BAR 3.24", "?marks-retest ?marks-unexplained ?marks-unread"),
    ("al", "DOT-3AL 3000 K118204 03-N2-24", "?marks-retest"),
    ("al", "DOT-3AL 3000 K118204 03 N2 24", "?marks-retest"),
    ("al", "DOT-3AL 3000 K118204 03A24 03 T123 26 VE", "?marks-retest"),
]
EUROPE = [  # Shoulders of ISO, EN and BS, with words in the languages of the continent.
    ("eu", "EN ISO 9809-1 PW232 PH348 K118204 2024/03", ""),
    ("eu", "EN ISO 9809-1 D EXAMPLE K118204 PW232 PH348 12.2 L 14.2 KG 4.2 MM 2024/03 π0036 M25x2", "?marks-volume"),
    ("eu", "EN ISO 9809-1 PW 232 BAR PH 348 BAR K118204 2024/03 CE 0036", ""),
    ("eu", "EN ISO 9809-1 PW232 PT348 K118204 V11.1 M14.2 2024/03 M25X2", ""),
    ("eu", "EN ISO 9809-1 232 BAR PW 348 BAR PH K118204 24/03 Π 0035", ""),
    ("eu", "EN ISO 9809-1 PW232BAR PH348BAR K118204 03/2024 25E", "marks-thread"),
    ("eu", "EN ISO 9809-1 PW232 PH348 K118204 2024/03 S 4.2 MM", ""),
    ("eu", "EN ISO 9809-1 PW232 PH348 K118204 2024/03 34CRMO4", ""),
    ("eu", "EN ISO 9809-1 PW232 PH348 K118204 2024/03 TAUCHGERÄT PRESSLUFT", ""),
    ("eu", "EN ISO 9809-1 PW232 PH348 K118204 2024/03 ε", ""),
    ("eu", "EN ISO 9809-1 PW232 PH348 K118204 2024/03 a 4.2", ""),
    ("eu", "EN ISO 9809-1 PW232 PH348 K118204 2024/03 ADLER", ""),
    ("eu", "EN ISO 9809-1 PW232 PH348 K118204 2024/03 TÜV", ""),
    ("eu", "EN ISO 9809-1 PW232 PH348 K118204 2024/03 G3/4", "marks-thread"),
    ("eu", "EN ISO 9809-1 PW232 PH348 K118204 2024/03 UT", ""),
    ("eu", "EN ISO 9809-1 PW232 PH348 K118204 2024/03 N", ""),
    ("eu", "EN ISO 9809-1 PW232 PH348 K118204 2024/03 EMPTY WEIGHT 14.2 KG", ""),
    ("un", "UN ISO 7866 GB EXAMPLE K118204 PW232 PH348 11.1L 14.2KG 2024/03 M25x2", ""),
    ("un", "UN ISO 7866 PH348BAR PW232BAR K118204 2024/03 25P", ""),
    ("uk", "BS 5045/3 WP 232 BAR TP 348 BAR K118204 03/24", ""),
    ("uk", "BS5045 PART 3 CP 232 TP 348 K118204 2024/03", ""),
    ("eu", "EN ISO 9809-1 PS 232 PT 348 K118204 2024/03", ""),
    ("eu", "EN ISO 9809-1 GB EXAMPLE K118204 PH 348 BAR PW 232 BAR 2024/03 14.2 KG 11.1 L N 3.8 MM M25X2 π0038", ""),
    ("eu", "ISO 9809-1 232BAR WP 348BAR TP K118204 03/24 ε", ""),
    ("eu", "EN 9809-1 PW232 PH348 K118204 2024/03", ""),
    ("eu", "EN ISO 9809-1 PW232 PH348 K118204 2024/03 ADLER M12", ""),
    ("eu", "EN ISO 9809-1 PW232 PH348 K118204 2024/03 TARA 14,2 KG", ""),
    ("eu", "EN ISO 9809-1 PW232 PH348 K118204 2024/03 LEERGEWICHT 14,2 KG", ""),
    ("eu", "EN ISO 9809-1 PW232 PH348 K118204 2024/03 FÜR TAUCHGERÄTE", ""),
    ("eu", "EN ISO 9809-1 PW232 PH348 K118204 2024/03 ATEMLUFT", ""),
    ("eu", "EN ISO 9809-1 PW232 PH348 K118204 2024/03 AIR COMPRIME", ""),
    ("eu", "EN ISO 9809-1 PW232 PH348 K118204 2024/03 AIR COMPRIMÉ RESPIRABLE", ""),
    ("eu", "EN ISO 9809-1 PW232 PH348 K118204 2024/03 PLONGEE", ""),
    ("eu", "EN ISO 9809-1 PW232 PH348 K118204 2024/03 LUFT", ""),
    ("eu", "EN ISO 9809-1 PW232 PH348 K118204 2024/03 ANDNINGSLUFT", ""),
    ("eu", "EN ISO 9809-1 PW232 PH348 K118204 2024/03 MADE IN ITALY", ""),
    ("eu", "EN ISO 9809-1 PW232 PH348 K118204 2024/03 34CRMO4 QT", ""),
    ("eu", "EN ISO 9809-1 PW232 PH348 K118204 2024/03 SCHMELZE 4412", ""),
    ("eu", "EN ISO 9809-1 PW232 PH348 K118204 2024/03 M25x2 ISO", "?marks-unread"),
    ("eu", "EN ISO 9809-1 PW232 PH348 K118204 2024/03 25P", ""),
    ("eu", "EN ISO 9809-1 PW232 PH348 K118204 2024/03 H.S.", "?marks-unexplained"),
    ("un", "UN ISO 7866 PW232 PH348 K118204 2024/03 AA6061 S 9.8 MM", ""),
    ("un", "UN ISO 7866 USA EXAMPLE K118204 TP348BAR PW232BAR 2024/03 25P CR", "?marks-unexplained"),
    ("uk", "BS5045/3/AL WP 232 TP 348 K118204 3/24", ""),
    ("uk", "BS5045/3 WP 232 BAR TP 348 BAR K118204 HE/20 3/24", "?marks-unexplained"),
    ("eu", "EN ISO 9809-1 PW232 PH348 K118204 2024/03 CE 0036 π0036 ε", ""),
    ("eu", "EN ISO 9809-1 PW 232 PH 348 V 11.1 T 14.2 K118204 2024/03", ""),
    ("eu", "EN ISO 9809-1 PW232 PH348 K118204 2024/03 M 18X1.5", "marks-thread"),
    ("eu", "EN ISO 9809-1 PW232 PH348 K118204 2024/03 EXAMPLE GMBH", ""),
    ("eu", "PW232 PH348 EN ISO 9809-1 K118204 2024/03", ""),
    ("eu", "EN ISO 9809-1 D K118204 EXAMPLE PH348 2024/03 14,2 KG 11,1 L PW232", ""),
]
# fmt: on


@pytest.mark.parametrize(("card", "marks", "said"), LAWFUL)
def test_lawful(card: str, marks: str, said: str) -> None:
    assert said_of(card, marks) == said


@pytest.mark.parametrize(("card", "marks", "said"), CROSSED)
def test_crossed(card: str, marks: str, said: str) -> None:
    assert said_of(card, marks) == said


@pytest.mark.parametrize(("card", "marks", "said"), GAS)
def test_gas(card: str, marks: str, said: str) -> None:
    assert said_of(card, marks) == said


@pytest.mark.parametrize(("card", "marks", "said"), MATERIAL)
def test_material(card: str, marks: str, said: str) -> None:
    assert said_of(card, marks) == said


@pytest.mark.parametrize(("card", "marks", "said"), PRESSURE)
def test_pressure(card: str, marks: str, said: str) -> None:
    assert said_of(card, marks) == said


@pytest.mark.parametrize(("card", "marks", "said"), SPECIFICATION)
def test_specification(card: str, marks: str, said: str) -> None:
    assert said_of(card, marks) == said


@pytest.mark.parametrize(("card", "marks", "said"), TESTS)
def test_tests(card: str, marks: str, said: str) -> None:
    assert said_of(card, marks) == said


@pytest.mark.parametrize(("card", "marks", "said"), EUROPE)
def test_europe(card: str, marks: str, said: str) -> None:
    assert said_of(card, marks) == said


@pytest.mark.parametrize(
    ("marks", "key", "name"),
    [
        ("ARGON DIVERS", "owner", "Argon Divers"),
        ("OXYGEN DIVE CLUB", "owner", "Oxygen Dive Club"),
        ("EXAMPLE STEEL CYLINDERS", "maker", "Example Steel Cylinders"),
        ("ALUMINUM CYLINDERS INC", "maker", "Aluminum Cylinders Inc"),
        ("STRUCK DIVING", "owner", "Struck Diving"),
    ],
)
def test_a_name_of_the_card_is_no_gas_and_no_metal(marks: str, key: str, name: str) -> None:
    card, line = "al", f"DOT-3AL 3000 K118204 {marks} 03A24"
    if "STEEL" not in marks and "ALUMINUM" not in marks:
        assert said_of(card, line) in {"marks-gas", "marks-say"}
    if "ALUMINUM" in marks:
        assert said_of("steel", line.replace("3AL 3000", "3AA 2400")) == "marks-made-of"
        card, line = "steel", line.replace("3AL 3000", "3AA 2400")
    more = {"use": "customer"} if key == "owner" else {}
    assert said_of(card, line, **{key: name}, **more) == ""


@pytest.mark.parametrize(
    ("serial", "marks"),
    [
        ("12/3456/A", "DOT-3AL 3000 12/3456/A 03A24"),
        ("AB-1234-5", "DOT-3AL 3000 AB-1234-5 03A24"),
        ("K-N2-334", "DOT-3AL 3000 K-N2-334 03A24"),
        ("3B1234", "DOT-3AL 3000 3B1234 03A24"),
        ("4D1230", "DOT-3AL 3000 4D1230 03A24"),
        ("XZ418X", "DOT-3AL 3000 XZ418X 03A24"),
        ("X12", "DOT-3AL 3000 X12 03A24"),
        ("HT1850", "DOT-3AL 3000 HT1850 03A24"),
        ("O2-4471", "DOT-3AL 3000 O2-4471 03A24"),
    ],
)
def test_its_own_serial_is_nothing_else(serial: str, marks: str) -> None:
    assert said_of("al", marks, serial=serial) == ""


@pytest.mark.parametrize(
    ("stamp", "refused"),
    [
        ("03 T123 26", False),
        ("03 T123 26 VE", False),
        ("03X T123 26", True),
        ("03 T123 26 ><", True),
        ("03 XT123X 26", True),
        ("03 T123 26 (X)", True),
        ("--03 T123 26--", True),
    ],
)
def test_a_stamp_beside_a_test_is_crossed_out_in_the_same_ways(stamp: str, refused: bool) -> None:
    first = "{on: 2024-03, method: hydrostatic, by: maker}"
    test = f"[{first}, {{on: 2026-03, method: hydrostatic, by: T123, stamp: '{stamp}'}}]"
    text = books.with_lines(books.GOOD, requalified=test)
    book = books.make_book({"A": text}).as_known_on(books.TODAY)
    codes = {f.code for f in check(book, books.TODAY) if f.severity is Severity.FAULT}
    assert ("stamp-condemned" in codes) is refused
