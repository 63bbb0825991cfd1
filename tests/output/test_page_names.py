"""What the file of a cylinder's page is called: ids are what somebody typed."""

import re

import hypothesis.strategies as st
from hypothesis import given

from tankbook.output.page_names import BOARD, MONTH, STATION, address, file_name

HOSTILE = [
    "..",
    ".",
    "",
    "con",
    "CON",
    "a/b",
    "a\\b",
    "a\0b",
    "-rf",
    "index",
    "RB-014 ",
    "é",
    "\udcff",
]
IDS = st.one_of(st.sampled_from(HOSTILE), st.text(max_size=300))


@given(IDS, IDS)
def test_no_two_ids_share_a_name_even_where_capitals_count_for_nothing(
    one: str, other: str
) -> None:
    assert (file_name(one).casefold() == file_name(other).casefold()) == (one == other)


@given(st.text(alphabet="aAbB._-", max_size=6), st.text(alphabet="aAbB._-", max_size=6))
def test_nor_do_ids_that_are_alike(one: str, other: str) -> None:
    assert (file_name(one).casefold() == file_name(other).casefold()) == (one == other)


@given(IDS)
def test_a_name_is_plain_on_every_system_and_in_an_address(id_: str) -> None:
    name = file_name(id_)
    assert re.fullmatch(r"c-[a-z0-9._~-]*\.html", name)
    assert len(name) < 120
    assert name not in {BOARD, STATION, MONTH}


def test_names_as_they_are_read() -> None:
    assert file_name("RB-014") == "c-rb-014.html"
    assert file_name("rb-014") == "c-_r_b-014.html"
    assert address("https://tanks.example.org/pages", "RB-014") == (
        "https://tanks.example.org/pages/c-rb-014.html"
    )
