"""Lines of the log that were removed: moved, edited, or gone."""

from __future__ import annotations

from repos import line

from tankbook.records.commits import LineSeen
from tankbook.rules.changes import sort_out

NINE = "2026-11-20T09:30:00+01:00"
TEN = "2026-11-20T10:30:00+01:00"


def seen(*texts: str, path: str = "fills/2026.csv") -> list[LineSeen]:
    return [LineSeen(path, n, tuple(text.split(",")), text) for n, text in enumerate(texts, 2)]


def test_lines_that_are_only_added() -> None:
    added = seen(line(NINE), line(TEN))
    assert sort_out([], added) == ([], added)


def test_a_line_that_is_there_again_was_moved() -> None:
    changes, new = sort_out(
        seen(line(NINE), line(TEN)), seen(line(TEN), line(NINE), path="fills/x.csv")
    )
    assert (changes, new) == ([], [])


def test_one_of_two_equal_lines_gone_is_gone() -> None:
    changes, new = sort_out(seen(line(NINE), line(NINE)), seen(line(NINE)))
    assert ([c.after for c in changes], new) == ([None], [])


def test_an_edited_line_is_found_by_its_time_and_cylinder() -> None:
    edited = line(NINE, to="2900 psi", note="x")
    changes, new = sort_out(seen(line(NINE)), seen(line(TEN), edited))
    assert [c.cells for c in changes] == [(("to", "3000 psi", "2900 psi"), ("note", "", "x"))]
    assert [n.text for n in new] == [line(TEN)]


def test_an_edited_time_or_cylinder_is_found_by_the_rest() -> None:
    changes, new = sort_out(seen(line(NINE)), seen(line(TEN)))
    assert [c.cells for c in changes] == [(("at", NINE, TEN),)]
    changes, new = sort_out(seen(line(NINE)), seen(line(NINE, "RB-015")))
    assert [(c.cylinder, c.cells) for c in changes] == [
        ("RB-014", (("cylinder", "RB-014", "RB-015"),))
    ]
    assert new == []


def test_another_act_of_another_cylinder_is_a_new_line() -> None:
    changes, new = sort_out(seen(line(NINE)), seen(line(TEN, "RB-015")))
    assert [c.after for c in changes] == [None]
    assert len(new) == 1


def test_what_is_no_row_is_compared_as_text() -> None:
    torn = [LineSeen("fills/2026.csv", 9, (), "torn")]
    assert sort_out(torn, torn) == ([], [])
    changes, _ = sort_out(torn, seen(line(NINE)))
    assert [(c.cylinder, c.cells, c.after) for c in changes] == [("", (), None)]


def test_a_log_written_anew_is_sorted_out_at_once() -> None:
    old = seen(
        *(
            line(f"2026-11-20T{h:02}:{m:02}:00+01:00", f"RB-{h:03}")
            for h in range(24)
            for m in range(60)
        )
    )
    new = seen(*(each.text.replace("3000 psi", "207 bar") for each in old))
    changes, left = sort_out(old, new)
    assert (len(changes), left) == (1440, [])
    assert {c.cells for c in changes} == {(("to", "3000 psi", "207 bar"),)}
