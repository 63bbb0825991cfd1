"""What is written behind comment signs, which no record is read from."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from tankbook.records.book import Comment
from tankbook.records.cylinder import Cylinder
from tankbook.rules.checks.declared import FAULT, WARN, Says, on_cylinder
from tankbook.rules.commented import CommentTold


@on_cylinder("comment-tells-against", FAULT, since="0.2", adverse=True)
def comments_say_nothing_against_it(
    card: Cylinder, comments: Sequence[CommentTold]
) -> Iterator[Says]:
    """What a card says of its cylinder is not taken back behind a comment sign."""
    for comment, why in comments:
        text = f"a comment says what no answer is made from: {why}: `{comment.text[:60]}`"
        if comment.behind:
            mend = (
                f"look at the cylinder: where it is so, `tankbook hold {card.id} --why TEXT`; then "
                "take the comment out, or put what is true of it into `note:`"
            )
            yield Says(comment.where, text, mend)
        else:
            mend = "where it is so still, record it; else take it out, or say when it was mended"
            yield Says(comment.where, text, mend, WARN)


@on_cylinder("comment-not-judged", WARN, since="0.2")
def comments_are_judged(card: Cylinder, unjudged: Sequence[Comment]) -> Iterator[Says]:
    """What stands behind a comment sign beside a card's pressure, its thread, its metal, where it
    stands or where it is, says in plain words what is nothing; elsewhere none says that it is held,
    with somebody or not to be taken."""
    for comment in unjudged:
        beside = f" beside `{comment.key}`" if comment.key else ""
        text = f"a comment{beside} says what nobody judged: `{comment.text[:60]}`"
        mend = (
            "nothing is answered from a comment: record what is true of it (`tankbook correct "
            f"{card.id} note --set note=TEXT --why WHY`, `hold`, `rent`), and take it out"
        )
        yield Says(comment.where, text, mend)
