"""The metal that a specification's own title names."""

from __future__ import annotations

from tankbook.records.words import Material

MATERIAL_OF = {
    "3A": Material.STEEL,
    "3AA": Material.STEEL,
    "3AX": Material.STEEL,
    "3AAX": Material.STEEL,
    "3AM": Material.STEEL,
    "3AAM": Material.STEEL,
    "3HT": Material.STEEL,
    "3T": Material.STEEL,
    "3AL": Material.ALUMINIUM,
    "3ALM": Material.ALUMINIUM,
    "ISO-7866": Material.ALUMINIUM,
    "ISO-9809": Material.STEEL,
    "ISO-11119": Material.COMPOSITE,
    "BS-5045-3": Material.ALUMINIUM,
    "BS-5045-1": Material.STEEL,
    "EN-1975": Material.ALUMINIUM,
    "EN-1964-1": Material.STEEL,
    "EN-1964-2": Material.STEEL,
    "EN-12245": Material.COMPOSITE,
    "EN-12257": Material.COMPOSITE,
    "AS-1777": Material.ALUMINIUM,
}
"""The material that a specification's own title names (49 CFR 178.36 to 178.46, titles of ISO 7866,
9809 and 11119, of EN 1964, 1975, 12245 and 12257, BS 5045 parts 1 and 3, AS 1777, HOAL; memory)."""


def material_named(specification: str) -> Material | None:
    """The material a specification names, in its normal spelling, or None."""
    head, _, rest = specification.partition("-")
    if head in {"DOT", "ICC", "TC"}:
        return MATERIAL_OF.get(rest)
    if head.startswith("HOAL"):
        return Material.ALUMINIUM
    for name, material in MATERIAL_OF.items():
        if "-" in name and f"-{specification}-".find(f"-{name}-") >= 0:
            return material
    return None


def material_of(specifications: tuple[str, ...]) -> Material | None:
    """The material that specifications name, where they name one and the same."""
    named = {m for s in specifications if (m := material_named(s)) is not None}
    return named.pop() if len(named) == 1 else None
