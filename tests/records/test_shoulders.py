"""Whole shoulders, each with everything that is read of it, and look-alikes that must stay open.

Lines are invented. Their shapes follow 49 CFR 178.35(f)(1) (order and one-line example) and
180.213(d), (f) (requalification stamps), 2015 edition, read; maker and inspector numbers a
handbook (read, secondary); fields of EN and ISO lines, marks of the UK, and size words memory. Each
reading was gone through by hand against those.
"""

from __future__ import annotations

import pytest

from tankbook.records.marks import MarkedDate, MarkKind, Marks, Retest, read_marks

K = MarkKind
ALSO = {K.COUNTRY, K.CONFORMITY, K.UNDERWATER, K.EXPANSION_REJECT, K.WALL, K.ALLOY}


def said(marks: Marks) -> str:
    """Everything a line was read as, what was not read (`!` where it may hide something), doubts."""
    first = [when(marks.first_test)] if marks.first_test else ["-"] * bool(marks.first_suffixes)
    parts = [
        ("", marks.specifications),
        ("bare", marks.bare_specifications),
        ("at", marks.service_pressures),
        ("test", marks.test_pressures),
        ("no.", [marks.serial] if marks.serial else []),
        ("by", marks.makers),
        ("inspector", [t.text for t in marks.of(K.INSPECTOR)]),
        ("first", [" ".join([*first, *marks.first_suffixes])] if first else []),
        ("date", [when(d) for d in marks.dates]),
        *(("re", [stamped(r)]) for r in marks.retests),
        ("ends", [when(marks.life_end)] if marks.life_end else []),
        ("", [v for v in (marks.volume, marks.mass) if v]),
        ("size", marks.sizes),
        ("thread", marks.threads),
        ("also", [t.text for t in marks.tokens if t.kind in ALSO]),
        ("CONDEMNED?" if marks.condemned_in_doubt else "CONDEMNED", [""] * marks.condemned),
        ("unread", [t.text + "!" * bool(t.could_be) for t in marks.unread]),
        ("doubt", [t.text for t in marks.tokens if t.doubt]),
    ]
    return "; ".join(
        f"{name} {', '.join(map(str, found))}".strip() for name, found in parts if found
    )


def when(date: MarkedDate) -> str:
    return str(date.date) if date.date else "|".join(map(str, date.could_be))


def stamped(retest: Retest) -> str:
    by = (retest.rin, "/".join(retest.rin_could_be), retest.station)
    return " ".join(filter(None, (when(retest.when), *by, *retest.suffixes)))


# fmt: off
US_STEEL = [
    ("DOT-3AA2250 K118204 11 B 95 05 A123 25", "DOT-3AA; at 2250 psi; no. K118204; first 1995-11; re 2025-05 A123"),
    ("DOT-3AA2250 K118204 SEP 2021", "DOT-3AA; at 2250 psi; no. K118204; first 2021-09"),
    ("DOT-3AA2250 K118204 SEPT21", "DOT-3AA; at 2250 psi; no. K118204; first 2021-09"),
    ("DOT-3AA2250 K118204 09-K-21", "DOT-3AA; at 2250 psi; no. K118204; first 2021-09"),
    ("DOT-3AA2250 K118204 (09K21)", "DOT-3AA; at 2250 psi; no. K118204; first 2021-09"),
    ("DOT-3AA2250 K118204 5-67", "DOT-3AA; at 2250 psi; no. K118204; first 1967-05"),
    ("DOT-3AA2250 K118204 5-67+", "DOT-3AA; at 2250 psi; no. K118204; first 1967-05 +"),
    ("DOT-3AA2250+ K118204 5-67", "DOT-3AA; at 2250 psi; no. K118204; first 1967-05 +"),
    ("DOT-3AA 2400 K118204 3-72+", "DOT-3AA; at 2400 psi; no. K118204; first 1972-03 +"),
    ("DOT-3AA2400+ K118204 3-98+ 05 A123 03+ 06 A123 08+ 07 Z418 13 08 Z418 18+", "DOT-3AA; at 2400 psi; no. K118204; first 1998-03 +; re 2003-05 A123 +; re 2008-06 A123 +; re 2013-07 Z418; re 2018-08 Z418 +"),
    ("DOT3AA2400 K118204 03^98", "DOT-3AA; at 2400 psi; no. K118204; first 1998-03"),
    ("DOT 3AA 2400 + K118204 03 A 98 +", "DOT-3AA; at 2400 psi; no. K118204; first 1998-03 +"),
    ("DOT-3AA-2640 HP40182 06N10+ 07 Z418 15+ 07 Z418 20+ 07 Z418 25+", "DOT-3AA; at 2640 psi; no. HP40182; first 2010-06 +; re 2015-07 Z418 +; re 2020-07 Z418 +; re 2025-07 Z418 +"),
    ("DOT-3AA2640 LP95 HP40190 06N10+ 10 Z418 21+", "DOT-3AA; at 2640 psi; no. HP40190; first 2010-06 +; re 2021-10 Z418 +; size LP95"),
    ("DOT-3AA2640-HP40191-NCC AB 6-10", "DOT-3AA; at 2640 psi; no. HP40191; by NCC; inspector AB; first 2010-06"),
    ("DOT-3AA 2640 LP 108 HP44071 08N11 02 Z418 19 01 Z418 24", "DOT-3AA; at 2640 psi; no. HP44071; first 2011-08; re 2019-02 Z418; re 2024-01 Z418; size LP108"),
    ("dot-3aa 2015 k55211 1-75 + 2 b442 80 + 3 b442 85 4 c100 90+", "DOT-3AA; at 2015 psi; no. K55211; first 1975-01 +; re 1980-02 B442 +; re 1985-03 B442; re 1990-04 C100 +; doubt 2015"),
    ("DOT-3A1800-1234-XY AB 5-95", "DOT-3A; at 1800 psi; no. 1234; by XY; inspector AB; first 1995-05"),
    ("DOT-3A 1800 77123 XY AB 11-69", "DOT-3A; at 1800 psi; no. 77123; by XY; inspector AB; first 1969-11"),
    ("DOT-3A2015 K77123 NORTHSIDE 11-69 11 A201 74+", "DOT-3A; at 2015 psi; no. K77123; by NORTHSIDE; first 1969-11; re 1974-11 A201 +"),
    ("DOT-3AA2250 NORTHSIDE CYLINDER CO 45678 7-81+ 8 A123 86+ 9 A123 91", "DOT-3AA; at 2250 psi; no. 45678; by NORTHSIDE CYLINDER CO; first 1981-07 +; re 1986-08 A123 +; re 1991-09 A123"),
    ("DOT-3AA2250 BLUE SEA CYLINDER CO LTD 45678 7-81", "DOT-3AA; at 2250 psi; no. 45678; by BLUE SEA CYLINDER CO LTD; first 1981-07"),
    ("DOT-3AA2250 Old Mill Works 45678 7-81", "DOT-3AA; at 2250 psi; no. 45678; by OLD MILL WORKS; first 1981-07"),
    ("DOT-3AA2250 K118204 NORTHSIDE AB 7-81", "DOT-3AA; at 2250 psi; no. K118204; by NORTHSIDE; inspector AB; first 1981-07"),
    ("DOT-3AA 2250 EXAMPLE CYLINDER 456789 7-81 1-86 2-91", "DOT-3AA; at 2250 psi; no. 456789; by EXAMPLE CYLINDER; first 1981-07; re 1986-01; re 1991-02"),
    ("DOT-3AA2250 K118204 M1004 IA02 12/02 11-A123-07", "DOT-3AA; at 2250 psi; no. K118204; by M1004; inspector IA02; first 2002-12; re 2007-11 A123"),
    ("DOT-3AA 3442 HP71305 05N19 REE 58.4", "DOT-3AA; at 3442 psi; no. HP71305; first 2019-05; also REE 58.4"),
    ("DOT-3AA3500 HP80117 05N22 7/8 UNF", "DOT-3AA; at 3500 psi; no. HP80117; first 2022-05; thread 7/8 UNF"),
    ("DOT-3AA2400 K118204 REE 52.1 03A03+ 03 B771 08 S", "DOT-3AA; at 2400 psi; no. K118204; first 2003-03 +; re 2008-03 B771 S; also REE 52.1"),
    ("DOT-3HT1850 K33121 REE 44 6-92 7 A123 95 7 A123 98", "DOT-3HT; at 1850 psi; no. K33121; first 1992-06; re 1995-07 A123; re 1998-07 A123; also REE 44"),
    ("ICC-3AA 2250 HP01188 11/68 06 Z418 21 10 Z418 26", "ICC-3AA; at 2250 psi; no. HP01188; first 1968-11; re 2021-06 Z418; re 2026-10 Z418"),
    ("ICC-3AA2250 01188 7-56 + 8-61 + 9-66 + 03 A123 05", "ICC-3AA; at 2250 psi; no. 01188; first 1956-07 +; re 1961-08 +; re 1966-09 +; re 2005-03 A123"),
    ("ICC-3A 1800 NORTHSIDE GAS CO B40021 5-48 + 5-53 6-58", "ICC-3A; at 1800 psi; no. B40021; by NORTHSIDE GAS CO; first 1948-05 +; re 1953-05; re 1958-06"),
    ("ICC-3AA2015 A2201 XY 6^59 6 59 A", "ICC-3AA; at 2015 psi; first 1959-06; unread A2201, XY, 6 59!, A"),
    ("3AA2400 K118204 5-95", "bare 3AA; at 2400 psi; no. K118204; first 1995-05|2095-05; doubt 3AA, 2400"),
    ("3AA 2250+ K118204 3-72", "bare 3AA; at 2250 psi; no. K118204; first 1972-03|2072-03 +; doubt 3AA, 2250"),
    ("3A1800 77123 AB 11-69", "bare 3A; at 1800 psi; no. 77123; first 1969-11|2069-11; unread AB; doubt 3A, 1800"),
    ("DOT-3AA2250 K118204 05 A123 98 05A123 03", "DOT-3AA; at 2250 psi; no. K118204; re 1998-05 A123; re 2003-05 A123"),
    ("DOT-3AA2250 K118204 5-95 05A12300+ 06A12305", "DOT-3AA; at 2250 psi; no. K118204; first 1995-05; re 2000-05 A123 +; re 2005-06 A123"),
    ("DOT-3AA2250 K118204 5-95 10 Z4 18 00 10 Z418 05", "DOT-3AA; at 2250 psi; no. K118204; first 1995-05; re 2000-10 Z481/Z418; re 2005-10 Z418; doubt 10 Z4 18 00"),
    ("DOT-3AA2250 K118204 5-95 Z4/10 00/81 +", "DOT-3AA; at 2250 psi; no. K118204; first 1995-05; re 2000-10 Z418/Z481 +; doubt Z4/10 00/81"),
    ("DOT-3AA2250 K118204 5*95", "DOT-3AA; at 2250 psi; date 1995-05; unread K118204; doubt 5*95"),
]

US_ALUMINIUM = [
    ("DOT-3AL 3000 K118204 09A21 20,0 MPA", "DOT-3AL; at 3000 psi; no. K118204; first 2021-09; unread 20,0 MPA!"),
    ("DOT-3AL 3000 K118204 09A21 20, 0 MPA", "DOT-3AL; at 3000 psi; no. K118204; first 2021-09; unread 20, 0 MPA!"),
    ("DOT-3AL 3000 K118204 WT 31.4 MIN WALL 11.5 ALLOY 6061 HEAT 4432 09A21", "DOT-3AL; at 3000 psi; no. K118204; first 2021-09; unread WT 31.4, MIN WALL 11.5, ALLOY 6061, HEAT 4432"),
    ("DOT-3AL 3000 K118204 09A21 VISUAL 05/26 VIP 5/26 OX CLEAN 05/26", "DOT-3AL; at 3000 psi; no. K118204; first 2021-09; unread VISUAL 05/26, VIP 5/26, OX CLEAN 05/26"),
    ("DOT-3AL3000 K118204 09A21", "DOT-3AL; at 3000 psi; no. K118204; first 2021-09"),
    ("DOT-3AL 3000 K118204 09A21", "DOT-3AL; at 3000 psi; no. K118204; first 2021-09"),
    ("DOT3AL3000 K118204 09A21", "DOT-3AL; at 3000 psi; no. K118204; first 2021-09"),
    ("DOT-3AL-3000 K118204 09A21", "DOT-3AL; at 3000 psi; no. K118204; first 2021-09"),
    ("DOT 3AL 3000 PSI K118204 09A21", "DOT-3AL; at 3000 psi; no. K118204; first 2021-09"),
    ("DOT-3AL3000PSI K118204 09A21", "DOT-3AL; at 3000 psi; no. K118204; first 2021-09"),
    ("DOT-3AL3000 S80 P45678 09A21", "DOT-3AL; at 3000 psi; no. P45678; first 2021-09; size S80"),
    ("DOT-3AL3000 S80 45678 09A21", "DOT-3AL; at 3000 psi; no. 45678; first 2021-09; size S80"),
    ("DOT-3AL 3000 S40 P45678 M1004 09^21", "DOT-3AL; at 3000 psi; no. P45678; by M1004; first 2021-09; size S40"),
    ("DOT-3AL3000 AL80 K118204 09A98 10 Z418 03 10 Z418 08 VE 11 Z418 13 VE", "DOT-3AL; at 3000 psi; no. K118204; first 1998-09; re 2003-10 Z418; re 2008-10 Z418 VE; re 2013-11 Z418 VE; size AL80"),
    ("DOT-3AL3300 C100 F31020 03K22", "DOT-3AL; at 3300 psi; no. F31020; first 2022-03; size C100"),
    ("DOT-3AL 3000 F16202 01K22 SP12", "DOT-3AL; at 3000 psi; no. F16202; first 2022-01; thread SP12"),
    ("DOT-3AL3000 F16203 3/4-14 NPSM 01K22", "DOT-3AL; at 3000 psi; no. F16203; first 2022-01; thread 3/4-14 NPSM"),
    ("DOT-3AL 3000 T12250 09C87 08 Z418 18 VE 05 Y207 24", "DOT-3AL; at 3000 psi; no. T12250; first 1987-09; re 2018-08 Z418 VE; re 2024-05 Y207"),
    ("DOT-3AL3000-K118204-XY AB 9-21", "DOT-3AL; at 3000 psi; no. K118204; by XY; inspector AB; first 2021-09"),
    ("DOT-3AL3000 K118204 XY IA02 09-21", "DOT-3AL; at 3000 psi; no. K118204; by XY; inspector IA02; first 2021-09"),
    ("DOT-3AL3000 K118204 AA6061 09A21", "DOT-3AL; at 3000 psi; no. K118204; first 2021-09; also AA6061"),
    ("DOT-3AL3000 6351-T6 K118204 09A85 10 Z418 90 10 Z418 95", "DOT-3AL; at 3000 psi; no. K118204; first 1985-09; re 1990-10 Z418; re 1995-10 Z418; also 6351-T6"),
    ("DOT-3AL 3000 K118204 09/2021", "DOT-3AL; at 3000 psi; no. K118204; first 2021-09"),
    ("DOT-3AL 3000 K118204 2021/09", "DOT-3AL; at 3000 psi; no. K118204; first 2021-09"),
    ("DOT-3AL 3000 K118204 2021-09", "DOT-3AL; at 3000 psi; no. K118204; first 2021-09"),
    ("DOT-3AL 3000 K118204 09-2021", "DOT-3AL; at 3000 psi; no. K118204; first 2021-09"),
    ("DOT-3AL 3000 K118204 09 A 2021", "DOT-3AL; at 3000 psi; no. K118204; first 2021-09"),
    ("DOT-3AL 3000 K118204 M1004 9A21 10 Z418 2026", "DOT-3AL; at 3000 psi; no. K118204; by M1004; first 2021-09; re 2026-10 Z418"),
    ("DOT-3AL 3000 K118204 09A21 10 Z418 26 * E", "DOT-3AL; at 3000 psi; no. K118204; first 2021-09; re 2026-10 Z418 * E"),
    ("DOT-3AL 3000 K118204 09A21 V12345 10 V1234 26", "DOT-3AL; at 3000 psi; no. K118204; first 2021-09; re 2026-10 V1234; unread V12345"),
    ("DOT-3AL 3000 K118204 09A21 TP 5000", "DOT-3AL; at 3000 psi; test 5000 psi; no. K118204; first 2021-09"),
    ("DOT-3AL 3000 EXX4411 09A21", "DOT-3AL; at 3000 psi; no. EXX4411; first 2021-09"),
    ("DOT-3AL 3000 EXAMPLE CYLINDER CO LTD K118204 09A21 31.7 LB", "DOT-3AL; at 3000 psi; no. K118204; by EXAMPLE CYLINDER CO LTD; first 2021-09; 31.7 lb"),
    ("DOT-3AL3000, K118204, 09A21, 10 Z418 26", "DOT-3AL; at 3000 psi; no. K118204; first 2021-09; re 2026-10 Z418"),
    ("DOT-3AL 3000|K118204|09A21", "DOT-3AL; at 3000 psi; no. K118204; first 2021-09"),
    ("DOT-3AL 2216 K9921 4A79 5 A123 84 6 A123 89", "DOT-3AL; at 2216 psi; no. K9921; first 1979-04; re 1984-05 A123; re 1989-06 A123"),
    ("3AL3000 K118204 09A21", "bare 3AL; at 3000 psi; no. K118204; first 2021-09; doubt 3AL, 3000"),
    ("3AL 3000 K118204 09A21", "bare 3AL; at 3000 psi; no. K118204; first 2021-09; doubt 3AL, 3000"),
]

PERMITS = [
    ("DOT-E6498-3000 K118204 9A79", "DOT-E 6498; at 3000 psi; no. K118204; first 1979-09"),
    ("DOT-E 6498 3000 K118204 9A79 10 A123 84", "DOT-E 6498; at 3000 psi; no. K118204; first 1979-09; re 1984-10 A123"),
    ("DOT-E7042 3000 K20411 10-80", "DOT-E 7042; at 3000 psi; no. K20411; first 1980-10"),
    ("E 9791-3500 HP20411 3-92 TP 5250", "DOT-E 9791; at 3500 psi; test 5250 psi; no. HP20411; first 1992-03"),
    ("E9791-3500 HP20411 3^92 04 A123 97", "DOT-E 9791; at 3500 psi; no. HP20411; first 1992-03; re 1997-04 A123"),
    ("DOT-E 9791-3500 HP20411 TP 5250 3-92", "DOT-E 9791; at 3500 psi; test 5250 psi; no. HP20411; first 1992-03"),
    ("DOT-SP12079-3442 HP71305 05N19 04 Z418 24", "DOT-SP 12079; at 3442 psi; no. HP71305; first 2019-05; re 2024-04 Z418"),
    ("DOT-SP 12079 3442 HP71305 05N19", "DOT-SP 12079; at 3442 psi; no. HP71305; first 2019-05"),
    ("SP12079-3442 HP71305 05N19", "DOT-SP 12079; at 3442 psi; no. HP71305; first 2019-05"),
    ("DOT-SP13488-3442-HP71305-XY AB 5-19", "DOT-SP 13488; at 3442 psi; no. HP71305; by XY; inspector AB; first 2019-05"),
    ("DOT-E10915-4500 IF12345 2001/03", "DOT-E 10915; at 4500 psi; no. IF12345; first 2001-03"),
    ("TC-SU 5134-310 IF12345 2001/03", "TC-SU 5134; at 310 bar; no. IF12345; first 2001-03"),
]

TWO_FAMILIES = [
    ("TC-3ALM207 K118204 09A21", "TC-3ALM; at 207 bar; no. K118204; first 2021-09"),
    ("TC-3ALM 207 BAR K118204 09A21", "TC-3ALM; at 207 bar; no. K118204; first 2021-09"),
    ("TC-3AAM 237 DOT-3AA 3442 HP71305 05N19 04 Z418 24", "TC-3AAM, DOT-3AA; at 237 bar, 3442 psi; no. HP71305; first 2019-05; re 2024-04 Z418"),
    ("TC-3ALM 207 DOT-3AL 3000 F20411 02K23", "TC-3ALM, DOT-3AL; at 207 bar, 3000 psi; no. F20411; first 2023-02"),
    ("DOT-3AL/TC-3ALM 3000/207 F20411 02K23", "DOT-3AL, TC-3ALM; at 3000 psi, 207 bar; no. F20411; first 2023-02"),
    ("TC-3ALM/DOT-3AL 207/3000 F20411 02K23", "TC-3ALM, DOT-3AL; at 207 bar, 3000 psi; no. F20411; first 2023-02"),
    ("DOT-3AL3000/TC-3ALM207 F20411 02K23", "DOT-3AL, TC-3ALM; at 3000 psi, 207 bar; no. F20411; first 2023-02"),
    ("DOT-3AL 3000 / TC-3ALM 207 F20411 02K23", "DOT-3AL, TC-3ALM; at 3000 psi, 207 bar; no. F20411; first 2023-02"),
    ("TC-3ALM207/DOT-3AL3000 S80 F20411 02K23", "TC-3ALM, DOT-3AL; at 207 bar, 3000 psi; no. F20411; first 2023-02; size S80"),
    ("TC/DOT-3ALM 207 F20411 02K23", "TC-3ALM, DOT-3ALM; at 207 bar; no. F20411; first 2023-02"),
    ("TC/DOT 3ALM/3AL 207/3000 F20411 02K23", "TC-3ALM, DOT-3AL; at 207 bar, 3000 psi; no. F20411; first 2023-02"),
    ("DOT-3AL/3AA 3000 F20411 02K23", "DOT-3AL, DOT-3AA; at 3000 psi; no. F20411; first 2023-02"),
    ("DOT-3AL PW 3000 PH 5000 F20411 02K23", "DOT-3AL; at 3000 psi; test 5000 psi; no. F20411; first 2023-02"),
    ("DOT/TC-3AL3000 F20411 02K23", "DOT-3AL, TC-3AL; at 3000 psi; no. F20411; first 2023-02"),
    ("CTC/DOT-3AL3000 F20411 02K83", "CTC-3AL, DOT-3AL; at 3000 psi; no. F20411; first 1983-02"),
    ("CTC-3AL 3000 F20411 02K83 10 A123 88", "CTC-3AL; at 3000 psi; no. F20411; first 1983-02; re 1988-10 A123"),
    ("CTC-3AA2250 HP01188 11-78 10 A123 83", "CTC-3AA; at 2250 psi; no. HP01188; first 1978-11; re 1983-10 A123"),
    ("CTC/TC-3ALM 207 F20411 02K94", "CTC-3ALM, TC-3ALM; at 207 bar; no. F20411; first 1994-02"),
    ("DOT-3AA2400+/TC-3AAM165 K118204 03A98", "DOT-3AA, TC-3AAM; at 2400 psi, 165 bar; no. K118204; first 1998-03 +"),
    ("DOT-3AL 3000/207 F20411 02K23", "DOT-3AL; at 3000 psi, 207 bar; no. F20411; first 2023-02"),
    ("DOT-3AL 3000 PSI/207 BAR F20411 02K23", "DOT-3AL; at 3000 psi, 207 bar; no. F20411; first 2023-02"),
    ("TC-3AAM 182 DOT-3AA 2640 HP40182 06N10+", "TC-3AAM, DOT-3AA; at 182 bar, 2640 psi; no. HP40182; first 2010-06 +"),
    ("TC-3ALM-207 F20411 02K23 25P", "TC-3ALM; at 207 bar; no. F20411; first 2023-02; thread 25P"),
]

EN_AND_ISO = [
    ("EN 1964-1 PW232 PH348 774512 2015/06", "EN 1964-1; at 232 bar; test 348 bar; first 2015-06; unread 774512"),
    ("EN 1964-2 12/3456/789 PS 232 BAR PE 348 BAR 2015/06", "EN 1964-2; at 232 bar; test 348 bar; no. 12/3456/789; first 2015-06"),
    ("EN1964-2 PW 300 PH 450 12/3456/789 2010/03 2015/04 XY 2020/05 XY", "EN 1964-2; at 300 bar; test 450 bar; no. 12/3456/789; first 2010-03; re 2015-04 XY; re 2020-05 XY"),
    ("EN ISO 9809-1 PW300 PH450 NORTHSIDE 123456 2018/04 M25x2", "EN ISO 9809-1; at 300 bar; test 450 bar; no. 123456; by NORTHSIDE; first 2018-04; thread M25x2"),
    ("EN ISO 9809-1:2019 PW300BAR PH450BAR WN-88213 2020/11 14.2KG 12.2L M18x1.5", "EN ISO 9809-1; at 300 bar; test 450 bar; no. WN-88213; first 2020-11; 12.2 L, 14.2 kg; thread M18x1.5"),
    ("ISO 9809-1 GB NORTHSIDE 88213 PH348 PW232 2012/02 2017/03 AB1", "ISO 9809-1; at 232 bar; test 348 bar; no. 88213; by NORTHSIDE; first 2012-02; re 2017-03 AB1; also GB"),
    ("EN 1975 PW 200 PH 300 WN-88213 06/98 07/03", "EN 1975; at 200 bar; test 300 bar; no. WN-88213; first 1998-06; re 2003-07|2007-03"),
    ("EN 12245 PW300 PH450 FIN 2030/05 IF12345 2015/05", "EN 12245; at 300 bar; test 450 bar; no. IF12345; first 2015-05; ends 2030-05"),
    ("EN ISO 7866 PW232 PH348 WN-88213 2018/04 V11.1L W 14.2 KG 25E", "EN ISO 7866; at 232 bar; test 348 bar; no. WN-88213; first 2018-04; 11.1 L, 14.2 kg; thread 25E"),
    ("EN ISO 7866 PH 348 BAR PW 232 BAR MUSTER FLASCHEN GMBH 123456 2018/04", "EN ISO 7866; at 232 bar; test 348 bar; no. 123456; by MUSTER FLASCHEN GMBH; first 2018-04"),
    ("ISO 7866 PW/PH 232/348 BAR WN-88213 2018/04", "ISO 7866; at 232 bar; test 348 bar; no. WN-88213; first 2018-04"),
    ("BS EN ISO 9809-2 WP 232 TP 348 12/3456/789 2018/04", "BS EN ISO 9809-2; at 232 bar; test 348 bar; no. 12/3456/789; first 2018-04"),
    ("EN 1964-1 PT 348 PS 232 12/3456/789 98/05 03/06", "EN 1964-1; at 232 bar; test 348 bar; no. 12/3456/789; first 1998-05; re 2006-03|2003-06"),
    ("EN 1964-3 F 12/3456/789 PS 200 PE 300 2001/05 2006/06 QA1", "EN 1964-3; at 200 bar; test 300 bar; no. 12/3456/789; first 2001-05; re 2006-06 QA1; also F"),
    ("EN 1964-1 CP 232 TP 348 WN-88213 2004/02", "EN 1964-1; at 232 bar; test 348 bar; no. WN-88213; first 2004-02"),
    ("EN 1964-1 W 14.2 V 12.2 PW232 PH348 WN-88213 2004/02", "EN 1964-1; at 232 bar; test 348 bar; no. WN-88213; first 2004-02; 12.2 L, 14.2 kg; doubt W 14.2, V 12.2"),
    ("EN 1964-1 T 14.2 KG 12.2 LTR PW232 PH348 WN-88213 2004/02", "EN 1964-1; at 232 bar; test 348 bar; no. WN-88213; first 2004-02; 12.2 L, 14.2 kg"),
    ("EN 1964-1 PW232 PH348 WN-88213 2004/02 17E 34CrMo4 8.5 MM", "EN 1964-1; at 232 bar; test 348 bar; no. WN-88213; first 2004-02; thread 17E; also 34CrMo4, 8.5 MM"),
    ("EN ISO 9809-1 12L PW232 PH348 WN-88213 2004/02", "EN ISO 9809-1; at 232 bar; test 348 bar; no. WN-88213; first 2004-02; 12 L"),
    ("EN ISO 9809-1 12 LTR PW232 PH348 WN-88213 2004/02", "EN ISO 9809-1; at 232 bar; test 348 bar; no. WN-88213; first 2004-02; 12 L"),
    ("EN ISO 9809-1 10.0L PW300 PH450 WN-88213 2004/02", "EN ISO 9809-1; at 300 bar; test 450 bar; no. WN-88213; first 2004-02; 10 L"),
    ("EN 1964-1 PW232 PH348 WN-88213 2004/02 π 0036", "EN 1964-1; at 232 bar; test 348 bar; no. WN-88213; first 2004-02; also π 0036"),
    ("EN 1964-1 PW232 PH348 WN-88213 Π0036 2004/02 CE 0045", "EN 1964-1; at 232 bar; test 348 bar; no. WN-88213; first 2004-02; also Π0036, CE 0045"),
]

UN = [
    ("UN ISO 7866 PW232 PH348 12.2 L WN-88213 2018/04 M25x2", "UN ISO 7866; at 232 bar; test 348 bar; no. WN-88213; first 2018-04; 12.2 L; thread M25x2"),
    ("UN ISO 9809-1 D PH450BAR PW300 NORTHSIDE 123456 2018/04", "UN ISO 9809-1; at 300 bar; test 450 bar; no. 123456; by NORTHSIDE; first 2018-04; also D"),
    ("UN ISO 7866 GB ABC 123456 PH348BAR 2021/06 PW 232 BAR 14.2KG 11,1L M25×2 8.5MM π 0036", "UN ISO 7866; at 232 bar; test 348 bar; no. 123456; first 2021-06; 11.1 L, 14.2 kg; thread M25x2; also GB, 8.5MM, π 0036; unread ABC"),
    ("(UN) ISO 9809-1 PW300 PH450 WN-88213 2018/04", "UN ISO 9809-1; at 300 bar; test 450 bar; no. WN-88213; first 2018-04"),
    ("UN ISO 11119-2 PW300 PH450 IF12345 2018/04 FIN 2033/04 UW", "UN ISO 11119-2; at 300 bar; test 450 bar; no. IF12345; first 2018-04; ends 2033-04; also UW"),
    ("UN ISO 7866 USA PH348 PW232 IF12345 2018/04 5-A123-23", "UN ISO 7866; at 232 bar; test 348 bar; no. IF12345; first 2018-04; re 2023-05 A123; also USA"),
    ("UN ISO 9809-2 PW 232 PH 387 WN-88213 2019-11 25P", "UN ISO 9809-2; at 232 bar; test 387 bar; no. WN-88213; first 2019-11; thread 25P"),
]

CANADA = [  # names from memory
    ("TC-3ASM 155 K118204 05K12", "TC-3ASM; at 155 bar; no. K118204; first 2012-05"),
    ("TC-3ANM207 K118204 05K12", "TC-3ANM; at 207 bar; no. K118204; first 2012-05"),
    ("TC-3FCM-310 K118204 05K12", "TC-3FCM; at 310 bar; no. K118204; first 2012-05"),
]

AUSTRALIA = [  # MPa on lines of AS from memory
    ("AS 2030.1 7000221 WP 23.2 MPA TP 34.8 MPA 12.2 KG 10.6 L 03/2015 03/2026", "AS 2030.1; at 23.2 MPa; test 34.8 MPa; no. 7000221; first 2015-03; re 2026-03; 10.6 L, 12.2 kg"),
    ("AS2030.1-1999 7000221 WP 20 TP 30 03/2012", "AS 2030.1; at 20 MPa; test 30 MPa; no. 7000221; first 2012-03"),
    ("AS 1777 7000221 WP 20.0 MPA TP 30.0 MPA 03/2012", "AS 1777; at 20 MPa; test 30 MPa; no. 7000221; first 2012-03"),
    ("AS 1777 7000221 WP 20 TP 30 03/2012", "AS 1777; at 20 MPa; test 30 MPa; no. 7000221; first 2012-03"),
    ("AS 1777 7000221 WP 20000 KPA TP 30000 KPA 03/2012", "AS 1777; at 20000 kPa; test 30000 kPa; no. 7000221; first 2012-03"),
    ("EN 1964-1 7000221 WP 20 TP 30 2012/03", "EN 1964-1; at 20 bar; test 30 bar; no. 7000221; first 2012-03"),
]

GERMANY = [
    ("EN 1964-1 7000221 PW 232 BAR PH 348 BAR 12 L 14,4 KG 12/2021 M25x2 06/24", "EN 1964-1; at 232 bar; test 348 bar; no. 7000221; first 2021-12; re 2024-06; 12 L, 14.4 kg; thread M25x2"),
    ("EN 1964-1 7000221 PW 232 BAR PH 348 BAR 10 L 12,1 KG 12/2021", "EN 1964-1; at 232 bar; test 348 bar; no. 7000221; first 2021-12; 10 L, 12.1 kg"),
    ("EN 1964-1 7000221 PW232 PH348 2021/06 09 D12 2024", "EN 1964-1; at 232 bar; test 348 bar; no. 7000221; first 2021-06; re 2024-09 D12"),
    ("EN 1964-1 7000221 PW232 PH348 2021/06 2024/09 D/12", "EN 1964-1; at 232 bar; test 348 bar; no. 7000221; first 2021-06; re 2024-09 D/12"),
    ("EN 1964-1 7000221 PW232 PH348 2021/06 2024/09 Q.12", "EN 1964-1; at 232 bar; test 348 bar; no. 7000221; first 2021-06; re 2024-09 Q.12"),
    ("EN 1964-1 7000221 PW232 PH348 2021/06 2024/09 Q1-2", "EN 1964-1; at 232 bar; test 348 bar; no. 7000221; first 2021-06; re 2024-09 Q1-2"),
    ("EN 1964-1 7000221 PW232 PH348 N\u00c4CHSTE PR\u00dcFUNG 2030/05 2017/05 2025/05", "EN 1964-1; at 232 bar; test 348 bar; no. 7000221; first 2017-05; re 2025-05; unread N\u00c4CHSTE PR\u00dcFUNG 2030/05!"),
    ("EN 1964-1 7000221 PW232 PH348 2017/05 2024 05 Q12", "EN 1964-1; at 232 bar; test 348 bar; no. 7000221; first 2017-05; re 2024-05 Q12"),
    ("EN 1964-1 PW200 PH300 12/3456/789 05/06 05/11 XY", "EN 1964-1; at 200 bar; test 300 bar; first 2006-05|2005-06; re 2011-05|2005-11 XY; unread 12/3456/789"),
    ("EN 1964-1 PS 200 PT 300 MUSTER FLASCHEN GMBH 12/3456/789 2002/06 24/05 F", "EN 1964-1; at 200 bar; test 300 bar; no. 12/3456/789; by MUSTER FLASCHEN GMBH; first 2002-06; re 2024-05 F"),
    ("EN ISO 9809-1 PW300 PH450 12/3456/789 2015/06 26/05 F", "EN ISO 9809-1; at 300 bar; test 450 bar; no. 12/3456/789; first 2015-06; re 2026-05 F"),
    ("EN ISO 9809-1 PW300 PH450 12/3456/789 2015/06 2027/05 F NEXT 2027/05", "EN ISO 9809-1; at 300 bar; test 450 bar; no. 12/3456/789; first 2015-06; re 2027-05 F; unread NEXT 2027/05!"),
    ("EN 1964-1 D 12/3456/789 PW 232 PH 348 12.2 L 14,6 KG 2009/10 14/10 XY", "EN 1964-1; at 232 bar; test 348 bar; no. 12/3456/789; first 2009-10; re 2014-10 XY; 12.2 L, 14.6 kg; also D"),
    ("DIN 4661 PS 200 PE 300 12/3456/789 1989/03 1999/04 XY 2004/05 XY", "DIN 4661; at 200 bar; test 300 bar; no. 12/3456/789; first 1989-03; re 1999-04 XY; re 2004-05 XY"),
]

UK = [
    ("BS 5045/1 700221 232 BAR W.P. 348 BAR T.P. 5.97", "BS 5045/1; at 232 bar; test 348 bar; no. 700221; unread 5.97!"),
    ("EN 1964-1 700221 PW232 PH348 V 12.2 M 14.1 2017/05", "EN 1964-1; at 232 bar; test 348 bar; no. 700221; first 2017-05; 12.2 L, 14.1 kg; doubt V 12.2, M 14.1"),
    # a name of a pressure stands before it, or behind it; between two it may be of either
    ("EN 1964-1 W.P. 140 BAR T.P. 232 BAR 2019/05", "EN 1964-1; at 140 bar; test 232 bar; first 2019-05"),
    # so low a test pressure is the mark of who tested, but beside a working pressure as low
    ("EN 1964-1 12 L PW232 PH348 AB1234 2019/05 TP12", "EN 1964-1; at 232 bar; test 348 bar; no. AB1234; first 2019-05; 12 L; unread TP12!"),
    ("EN 1964-1 TP12 2019/05 PW 232 BAR PH348", "EN 1964-1; at 232 bar; test 348 bar; first 2019-05; unread TP12!"),
    ("EN 1964-1 PW20 BAR PH30 2019/05", "EN 1964-1; at 20 bar; test 30 bar; first 2019-05"),
    ("EN 1964-1 PW232 BAR PT 12 2019/05", "EN 1964-1; at 232 bar; first 2019-05; unread PT 12!; doubt PW232 BAR"),
    ("EN 1964-1 200 BAR WP 300 BAR TP 2019/05", "EN 1964-1; at 200 bar; test 300 bar; first 2019-05"),
    ("EN 1964-1 200 BAR WP 300 BAR 2019/05", "EN 1964-1; first 2019-05; unread 200 BAR!, WP 300 BAR!"),
    ("AS 1777 FP 25.0 MPa @ 65C TP 30.0 MPa WP 20.0 MPa@15C", "AS 1777; at 20 MPa; test 30 MPa; unread FP 25.0 MPa @ 65C!"),
    ("BS 5045/1/CM/S WP 232 BAR TP 348 BAR 12/3456/789 06/95 07/00 08/06", "BS 5045/1; at 232 bar; test 348 bar; no. 12/3456/789; first 1995-06; re 2000-07; re 2006-08|2008-06"),
    ("BS 5045-1 CP 232 TP 348 NORTHSIDE 45678 1991/06", "BS 5045-1; at 232 bar; test 348 bar; no. 45678; by NORTHSIDE; first 1991-06"),
    ("BS5045/3 WP 232 TP 348 WN-88213 2001/03 06/16 XY", "BS 5045/3; at 232 bar; test 348 bar; no. WN-88213; first 2001-03; re 2016-06 XY"),
    ("HOAL 2 WP 232 BAR TP 348 BAR NORTHSIDE 45678 1985/06", "HOAL 2; at 232 bar; test 348 bar; no. 45678; by NORTHSIDE; first 1985-06"),
    ("HOAL2 WP 3000 PSI TP 4500 PSI NORTHSIDE 45678 06/85", "HOAL 2; at 3000 psi; test 4500 psi; no. 45678; by NORTHSIDE; first 1985-06|2085-06"),
    ("HOT WP 200 BAR TP 300 BAR NORTHSIDE 45678 1970/06", "HOT; at 200 bar; test 300 bar; no. 45678; by NORTHSIDE; first 1970-06"),
    ("BS EN 1964-1 TP/WP 450/300 12/3456/789 2003/07", "BS EN 1964-1; at 300 bar; test 450 bar; no. 12/3456/789; first 2003-07"),
    ("BS EN 1964-2 WP/TP 232/348 BAR 12/3456/789 2003/07 2008/08 XY 2013/09 1A2", "BS EN 1964-2; at 232 bar; test 348 bar; no. 12/3456/789; first 2003-07; re 2008-08 XY; re 2013-09 1A2"),
]

CONDEMNED = [
    ("DOT-3AL 3000 K118204 09A21 CONDEMNED", "DOT-3AL; at 3000 psi; no. K118204; first 2021-09; CONDEMNED"),
    ("CONDEMNED", "CONDEMNED"),
    ("condemned DOT-3AL 3000", "DOT-3AL; at 3000 psi; CONDEMNED"),
    ("DOT-3AL XXXX K118204 09A21", "DOT-3AL; no. K118204; first 2021-09; CONDEMNED"),
    ("XXXX 3000", "CONDEMNED; unread 3000!"),
    ("DOT-XXXX", "CONDEMNED"),
    ("DOT-XXX XXXX K118204 09A21", "first 1921-09|2021-09; CONDEMNED; unread K118204"),
    ("XXXXXXXX", "CONDEMNED"),
    ("X X X X K118204", "CONDEMNED; unread K118204"),
    ("DOT-3AL3000XXXX K118204 09A21", "first 1921-09|2021-09; CONDEMNED?; unread K118204; doubt DOT-3AL3000XXXX"),
    ("EN ISO 9809-1 PW300 XXXX PH450 2015/06", "EN ISO 9809-1; at 300 bar; test 450 bar; first 2015-06; CONDEMNED"),
    ("DOT-3AL 3000 K118204 09A21 10 Z418 26 XXX", "DOT-3AL; at 3000 psi; no. K118204; first 2021-09; re 2026-10 Z418; CONDEMNED"),
    ("DOT-3AL ×××× K118204 09A21", "DOT-3AL; no. K118204; first 2021-09; CONDEMNED"),
    ("C O N D E M N E D", "CONDEMNED"),
    ("DOT-3AL 3000 K118204 09A21 CONDEMED", "DOT-3AL; at 3000 psi; no. K118204; first 2021-09; CONDEMNED?; doubt CONDEMED"),
    ("DOT-3AL 3000 K118204 09A21 REJECTED", "DOT-3AL; at 3000 psi; no. K118204; first 2021-09; CONDEMNED?; doubt REJECTED"),
    ("DOT-3AL 3000 KXXX123 09A21", "DOT-3AL; at 3000 psi; first 2021-09; CONDEMNED?; doubt KXXX123"),
]

NOT_CONDEMNED = [
    ("9 A123 06 X", "re 2006-09 A123 X"),
    ("DOT-3AL 3000 K118204 09A21 9 A123 26 X", "DOT-3AL; at 3000 psi; no. K118204; first 2021-09; re 2026-09 A123 X"),
    ("DOT-3AX2400 K118204 5-95", "DOT-3AX; at 2400 psi; no. K118204; first 1995-05"),
    ("DOT-3AAX2400 K118204 5-95", "DOT-3AAX; at 2400 psi; no. K118204; first 1995-05"),
    ("DOT-3AL 3000 XX K118204 09A21", "DOT-3AL; at 3000 psi; no. K118204; first 2021-09; unread XX!"),
    ("DOT-3AL 3000 AXX K118204 09A21", "DOT-3AL; at 3000 psi; no. K118204; first 2021-09; unread AXX!"),
    ("DOT-3AL 3000 K118204 09A21 9 A123 26 XX", "DOT-3AL; at 3000 psi; no. K118204; first 2021-09; re 2026-09 A123; unread XX!"),
]

LOOK_ALIKES = [
    ("AS 1777 7000221 WP200 TP300 03/2012 1234-5/26", "AS 1777; at 200 bar; test 300 bar; no. 7000221; first 2012-03; re 2026-05; unread 1234-!"),
    ("DOT-3AL 30OO K118204 09A21", "DOT-3AL; first 2021-09; unread 30OO!, K118204"),
    ("DOT-3AL 3O00 K118204 09A21", "DOT-3AL; first 2021-09; unread 3O00!, K118204"),
    ("DOT-3AL3OOO K118204 09A21", "first 1921-09|2021-09; unread DOT-3AL3OOO!, K118204"),
    ("D0T-3AL3000 K118204 09A21", "first 1921-09|2021-09; unread D0T-3AL3000!, K118204"),
    ("DQT-3AL3000 K118204 09A21", "first 1921-09|2021-09; unread DQT-3AL3000!, K118204"),
    ("DOT-3ALI3000", "unread DOT-3ALI3000!"),
    ("DOT-9ZZ 3000", "unread DOT-9ZZ!, 3000!"),
    ("DOT-3900", "unread DOT-3900!"),
    ("DOT-3 A 1800", "unread DOT-3!, A, 1800!"),
    ("DOT-3AL-3000-09-21", "unread DOT-3AL-3000-09-21!"),
    ("DOT-3AL3000-09A21 K118204", "DOT-3AL; at 3000 psi; unread 09A21!, K118204"),
    ("DOT-3AL3000-5000-XY 09A21", "DOT-3AL; at 3000 psi; by XY; first 2021-09; unread 5000!"),
    ("DOT-3A1800-2400-XY 09A21", "DOT-3A; at 1800 psi; by XY; first 2021-09; unread 2400!"),
    ("DOT-3AL 5000 TP K118204 09A21", "DOT-3AL; test 5000 psi; no. K118204; first 2021-09; doubt 5000 TP"),
    ("DOT-3AL 3,000 K118204 09A21", "DOT-3AL; first 2021-09; unread 3,000!, K118204"),
    ("DOT-3AL 3.000 K118204 09A21", "DOT-3AL; first 2021-09; unread 3.000!, K118204"),
    ("DOT-3AL 3 000 K118204 09A21", "DOT-3AL; first 2021-09; unread 3 000!, K118204"),
    ("DOT-3AL 3000/5000 K118204 09A21", "DOT-3AL; first 2021-09; unread 3000/5000!, K118204"),
    ("DOT-3AL/TC-3ALM 3000/232 K118204 09A21", "DOT-3AL, TC-3ALM; at 3000 psi, 232 bar; no. K118204; first 2021-09; doubt 3000, 232"),
    ("DOT-3AL/TC-3ALM 3000/5000 K118204 09A21", "DOT-3AL, TC-3ALM; first 2021-09; unread 3000/5000!, K118204"),
    ("DOT-3AL/TC-3ALM 3000/345 K118204 09A21", "DOT-3AL, TC-3ALM; at 3000 psi, 345 bar; no. K118204; first 2021-09; doubt 3000, 345"),
    ("DOT-3AL3000/TC-3ALM232 K118204 09A21", "DOT-3AL, TC-3ALM; at 3000 psi, 232 bar; no. K118204; first 2021-09; doubt 3000, 232"),
    ("DOT-3AL 207 K118204 09A21", "DOT-3AL; at 207 psi; no. K118204; first 2021-09; doubt 207"),
    ("DOT-3AL 2021 K118204 09A21", "DOT-3AL; at 2021 psi; no. K118204; first 2021-09; doubt 2021"),
    ("DOT-3AL 0921 K118204 09A21", "DOT-3AL; first 2021-09; unread 0921!, K118204"),
    ("TC-3ALM 3000 K118204 09A21", "TC-3ALM; first 2021-09; unread 3000!, K118204"),
    ("3AA2015 K118204", "unread 3AA2015!, K118204"),
    ("3A4411 K118204", "unread 3A4411!, K118204"),
    ("3AL 3000/207", "unread 3AL!, 3000/207!"),
    ("E 3000", "unread E 3000!"),
    ("E 9791", "unread E 9791!"),
    ("SP 6688", "unread SP 6688!"),
    ("DOT-3AL 3000 E20411 09A21", "DOT-3AL; at 3000 psi; first 2021-09; unread E20411!"),
    ("DOT-3AL 3000 1234 09A21", "DOT-3AL; at 3000 psi; first 2021-09; unread 1234!"),
    ("DOT-3AL 3000 4500 K118204 09A21", "DOT-3AL; at 3000 psi; first 2021-09; unread 4500!, K118204"),
    ("DOT-3AL 3000 45678 12345 09A21", "DOT-3AL; at 3000 psi; first 2021-09; unread 45678, 12345"),
    ("DOT-3AL 3000 121998 09A21", "DOT-3AL; at 3000 psi; date 2021-09; unread 121998!; doubt 09A21"),
    ("DOT-3AL 3000 202109 K118204", "DOT-3AL; at 3000 psi; unread 202109!, K118204"),
    ("DOT-3AL 3000 12A34 5-72", "DOT-3AL; at 3000 psi; date 1972-05; unread 12A34!; doubt 5-72"),
    ("DOT-3AL 3000 K118204-XY 09A21", "DOT-3AL; at 3000 psi; no. K118204-XY; first 2021-09; doubt K118204-XY"),
    ("DOT-3AL3000-1234-XX 09A21", "first 1921-09|2021-09; unread DOT-3AL3000-1234-XX!"),
    ("DOT-3AL 3000 12A34 09A21", "DOT-3AL; at 3000 psi; date 2021-09; unread 12A34!; doubt 09A21"),
    ("DOT-3AL 3000 10Z41821 09A21", "DOT-3AL; at 3000 psi; first 2021-09; unread 10Z41821!"),
    ("DOT-3AL 3000 09A21 10Z41826", "DOT-3AL; at 3000 psi; first 2021-09; unread 10Z41826!"),
    ("DOT-3AL 3000 3A4411 09A21", "DOT-3AL; at 3000 psi; first 2021-09; unread 3A4411!"),
    ("DOT-3AL 3000 S40 09A21", "DOT-3AL; at 3000 psi; first 2021-09; size S40; doubt S40"),
    ("DOT-3AL 3000 C100 21", "DOT-3AL; at 3000 psi; unread C100!, 21"),
    ("DOT-3AL 3000 P3000 09A21", "DOT-3AL; at 3000 psi; first 2021-09; unread P3000!"),
    ("DOT-3AA2250 K118204 3 67 + 3-72+", "DOT-3AA; at 2250 psi; date 1972-03; unread K118204, 3 67!, +; doubt 3-72"),
    ("DOT-3AA2250 K118204 3-?7 3-72+", "DOT-3AA; at 2250 psi; date 1972-03; unread K118204, 3-?7!; doubt 3-72"),
    ("DOT-3AA2250 K118204 3 - 67", "DOT-3AA; at 2250 psi; unread K118204, 3 - 67!"),
    ("DOT-3AA2250 K118204 67 3", "DOT-3AA; at 2250 psi; unread K118204, 67 3!"),
    ("DOT-3AA2250 K118204 1967 03", "DOT-3AA; at 2250 psi; unread K118204, 1967 03!"),
    ("DOT-3AA2250 K118204 9*21", "DOT-3AA; at 2250 psi; date 2021-09; unread K118204; doubt 9*21"),
    ("DOT-3AA2250 K118204 9#21", "DOT-3AA; at 2250 psi; date 2021-09; unread K118204; doubt 9#21"),
    ("DOT-3AA2250 K118204 9_21", "DOT-3AA; at 2250 psi; unread K118204, 9_21!"),
    ("DOT-3AA2250 K118204 09.21", "DOT-3AA; at 2250 psi; no. K118204; unread 09.21!"),
    ("DOT-3AA2250 K118204 9+21", "DOT-3AA; at 2250 psi; unread K118204, 9+21!"),
    ("DOT-3AA2250 K118204 0921", "DOT-3AA; at 2250 psi; no. K118204; unread 0921!"),
    ("DOT-3AA2250 K118204 092021", "DOT-3AA; at 2250 psi; unread K118204, 092021!"),
    ("DOT-3AA2250 K118204 2021-09-15", "DOT-3AA; at 2250 psi; unread K118204, 2021-09-15!"),
    ("DOT-3AA2250 K118204 15/09/2021", "DOT-3AA; at 2250 psi; unread K118204, 15/09/2021!"),
    ("DOT-3AA2250 K118204 5-95 13 A123 26", "DOT-3AA; at 2250 psi; no. K118204; first 1995-05; unread 13 A123 26!"),
    ("DOT-3AA2250 K118204 5-95 0 A123 26", "DOT-3AA; at 2250 psi; no. K118204; first 1995-05; unread 0 A123 26!"),
    ("DOT-3AA2250 K118204 5-95 09 A12 26", "DOT-3AA; at 2250 psi; first 1995-05; unread K118204, 09 A12 26!"),
    ("DOT-3AA2250 K118204 5-95 09 A1234 26", "DOT-3AA; at 2250 psi; no. K118204; first 1995-05; unread 09 A1234 26!"),
    ("DOT-3AA2250 K118204 5-95 Z4 10 21 81", "DOT-3AA; at 2250 psi; first 1995-05; unread K118204, Z4, 10 21!, 81"),
    ("DOT-3AA2250 K118204 5-95 A123", "DOT-3AA; at 2250 psi; no. K118204; first 1995-05; unread A123!"),
    ("DOT-3AA2250 K118204 5-95 09 A123 ?6", "DOT-3AA; at 2250 psi; no. K118204; first 1995-05; unread 09 A123 ?6!"),
    ("DOT-3AA2250 K118204 5-95 05 A123 93", "DOT-3AA; at 2250 psi; first 1995-05; re 1993-05 A123; unread K118204; doubt 5-95, 05 A123 93"),
    ("DOT-3AL 3000 K118204 10 L 12", "DOT-3AL; at 3000 psi; unread K118204, 10 L 12!"),
    ("EN 1964-1 300/450 12/3456/789", "EN 1964-1; unread 300/450!, 12/3456/789"),
    ("EN 1964-1 232/348", "EN 1964-1; unread 232/348!"),
    ("EN 1964-1 232 348", "EN 1964-1; unread 232!, 348!"),
    ("EN 1964-1 300 BAR", "EN 1964-1; unread 300 BAR!"),
    ("EN 1964-1 348 BAR PH", "EN 1964-1; test 348 bar; doubt 348 BAR PH"),
    ("EN 1964-1 PW 300", "EN 1964-1; at 300 bar; doubt PW 300"),
    ("EN 1964-1 PS 300 BAR", "EN 1964-1; at 300 bar; doubt PS 300 BAR"),
    ("EN 1964-1 CP 3000", "EN 1964-1; unread CP 3000!"),
    ("EN 1964-1 PW 450 PH 300", "EN 1964-1; test 300 bar; unread PW 450!; doubt PH 300"),
    ("EN 1964-1 PW 300 PH 300", "EN 1964-1; test 300 bar; unread PW 300!; doubt PH 300"),
    ("EN 1964-1 PH 5000", "EN 1964-1; unread PH 5000!"),
    ("EN 1964-1 WP/PW 232/348", "EN 1964-1; unread WP/PW, 232/348!"),
    ("EN 1964-1 P 232 P 348", "EN 1964-1; also P; unread 232!, P, 348!"),
    ("EN 1964-1 PW232 PH348 06/07", "EN 1964-1; at 232 bar; test 348 bar; first 2007-06|2006-07"),
    ("EN 1964-1 PW232 PH348 S 12.1", "EN 1964-1; at 232 bar; test 348 bar; unread S 12.1"),
    ("EN 1964-1 PW232 PH348 774512 2015/06", "EN 1964-1; at 232 bar; test 348 bar; first 2015-06; unread 774512"),
    ("EN 1964-1 PW232 PH348 2015/06 2027/05 NEXT 2029/11", "EN 1964-1; at 232 bar; test 348 bar; first 2015-06; re 2027-05; unread NEXT 2029/11!"),
    ("EN 12245 PW300 PH450 FIN NLL", "EN 12245; at 300 bar; test 450 bar; unread FIN!, NLL"),
    ("EN 12245 PW300 PH450 EXP 2020/05", "EN 12245; at 300 bar; test 450 bar; unread EXP 2020/05!"),
    ("ISO 7866 3000 LB", "ISO 7866; unread 3000!, LB"),
    ("WP 3000 TP 5000", "unread WP 3000!, TP 5000!"),
    ("TP 300", "unread TP 300!"),
    ("UN1009", "unread UN1009!"),
    ("π 3000", "also π; unread 3000!"),
    ("W.C. 23.6 LB", "unread W.C. 23.6 LB"),
    ("DOT-3AL XX00 K118204 09A21", "DOT-3AL; first 2021-09; unread XX00!, K118204"),
    ("DOT-3AL 3000 XX K118204", "DOT-3AL; at 3000 psi; no. K118204; unread XX!"),
    ("DOT-XX 3000", "CONDEMNED?; unread 3000!; doubt DOT-XX"),
    ("DOT-X 3000", "unread DOT-X!, 3000!"),
    ("K118204", "unread K118204"),
    ("3000", "unread 3000!"),
    ("09A21", "first 1921-09|2021-09"),
    ("5-95", "date 1995-05|2095-05"),
    ("@@ ## ~", "unread @@, ##, ~"),
    ("IOOO", "unread IOOO!"),
]
# fmt: on

SHOULDERS = [
    *US_STEEL, *US_ALUMINIUM, *PERMITS, *TWO_FAMILIES, *EN_AND_ISO, *UN, *CANADA, *AUSTRALIA, *GERMANY, *UK, *CONDEMNED,
    *NOT_CONDEMNED,
]  # fmt: skip


@pytest.mark.parametrize(("line", "reading"), SHOULDERS)
def test_a_shoulder(line: str, reading: str) -> None:
    assert said(read_marks(line)) == reading


@pytest.mark.parametrize(("line", "reading"), SHOULDERS)
def test_a_shoulder_in_small_letters_with_wide_blanks(line: str, reading: str) -> None:
    small = said(read_marks(f"  {line.lower()} ".replace(" ", "  ")))
    assert small.upper().replace("  ", " ") == reading.upper()


@pytest.mark.parametrize(("line", "reading"), LOOK_ALIKES)
def test_a_look_alike_stays_open(line: str, reading: str) -> None:
    marks = read_marks(line)
    assert said(marks) == reading
    assert marks.doubts


def test_there_are_enough_of_them() -> None:
    assert len({line for line, _ in SHOULDERS}) >= 150
    assert {read_marks(line).condemned for line, _ in CONDEMNED} == {True}
    assert {read_marks(line).condemned for line, _ in NOT_CONDEMNED} == {False}
