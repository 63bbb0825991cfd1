"""`tankbook sticker`."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Annotated

from tankbook.acts.options import Arg, Opt
from tankbook.cli.answer import RequestError
from tankbook.cli.recording import Bench, Planned


def sticker(
    bench: Bench,
    ids: Annotated[Iterable[str], Arg("ID", "Cylinders; a tail will do.", ids=True)] = (),
    *,
    number: Annotated[
        str, Opt("LIST", "Its number; 0417..0420 for several. With --void: what replaces it.")
    ] = "",
    void: Annotated[str, Opt("NUMBER", "Void this sticker number.")] = "",
    why: Annotated[str, Opt("TEXT", "Why it is void.")] = "",
) -> Planned:
    """Put a withheld sticker on, or void a number.

    It carries the month of the full inspection. How old that may be, and whether a second look is
    asked for, is the policy of tankbook.yaml.
    """
    from tankbook.acts.arrivals import serials
    from tankbook.acts.stickers import put_on, void_number
    from tankbook.cli.option_values import read

    book, by, on, named = bench.book, bench.by, bench.today, tuple(ids)
    if bool(named) == bool(void):
        raise RequestError("name cylinders, or a number with --void", "one of the two")
    if void:
        return void_number(book, void, why=why, by=by, on=on, instead=number)
    numbers = read("--number", number, serials) if number else ()
    return put_on(book, named, by=by, on=on, numbers=numbers)
