"""The operators of a run: those of cosmic-ray that fit, kept off texts and types, and our own."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from changes import (
    CallDropped,
    ClampDropped,
    ConditionNegated,
    Membership,
    Number,
    OperandDropped,
    ReturnValue,
    StatementDropped,
    Swap,
)
from cosmic_ray.operators import (
    binary_operator_replacement,
    boolean_replacer,
    break_continue,
    comparison_operator_replacement,
    exception_replacer,
    unary_operator_replacement,
    zero_iteration_for_loop,
)
from spared import spared


def _spare(core: type[Any]) -> type[Any]:
    """An operator of cosmic-ray, kept off text and types."""

    class Spared(core):  # type: ignore[misc]
        def mutation_positions(self, node: Any) -> Any:
            places = list(super().mutation_positions(node))
            return () if not places or spared(node) or _no_sum(node) else places

    Spared.__name__ = core.__name__
    return Spared


def _no_sum(node: Any) -> bool:
    """An operator sign that stands in no sum: a `*` or `/` among the parameters."""
    return node.type == "operator" and node.parent.type not in {
        "arith_expr", "term", "power", "expr", "shift_expr", "and_expr", "xor_expr", "factor",
    }  # fmt: skip


CORE = (
    *(getattr(comparison_operator_replacement, f"ReplaceComparisonOperator_{name}") for name in (
        "Lt_LtE", "Lt_GtE", "LtE_Lt", "LtE_Gt", "Gt_GtE", "Gt_LtE", "GtE_Gt", "GtE_Lt",
        "Eq_NotEq", "NotEq_Eq", "Is_IsNot", "IsNot_Is")),
    *(getattr(binary_operator_replacement, f"ReplaceBinaryOperator_{name}") for name in (
        "Add_Sub", "Sub_Add", "Mul_Div", "Div_Mul", "FloorDiv_Mul", "Mod_Mul", "Pow_Mul",
        "BitOr_BitAnd", "BitAnd_BitOr")),
    *(getattr(unary_operator_replacement, f"ReplaceUnaryOperator_Delete_{name}") for name in (
        "Not", "USub")),
    boolean_replacer.ReplaceTrueWithFalse, boolean_replacer.ReplaceFalseWithTrue,
    boolean_replacer.ReplaceAndWithOr, boolean_replacer.ReplaceOrWithAnd,
    break_continue.ReplaceBreakWithContinue, break_continue.ReplaceContinueWithBreak,
    exception_replacer.ExceptionReplacer, zero_iteration_for_loop.ZeroIterationForLoop,
)  # fmt: skip
OWN = (
    Number, Swap, Membership, ConditionNegated, OperandDropped, ClampDropped, CallDropped,
    StatementDropped, ReturnValue,
)  # fmt: skip


class Provider:
    """The operators of a run, in the form in which cosmic-ray asks for them."""

    known: dict[str, type[Any]] = {op.__name__: op for op in (*map(_spare, CORE), *OWN)}  # noqa: RUF012

    def __iter__(self) -> Iterator[str]:
        return iter(self.known)

    def __getitem__(self, name: str) -> type[Any]:
        return self.known[name]
