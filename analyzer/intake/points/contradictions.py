"""Points of which an export says two things that cannot both be so: left out, said, and never taken by half."""

from __future__ import annotations

from collections.abc import Sequence

from analyzer.errors import ExportError
from analyzer.intake.points.point import Point
from analyzer.intake.points.told import Told
from analyzer.intake.words.units import bare, is_volts, no_unit, unit_of
from analyzer.quantities import unit_dimensions

_SAID = (
    "{points}: left out, since the export says two things of each: {details}. Correct the export, or write what holds "
    "(terminal, quantity and unit) into the point list."
)


def hold_against(point: Point, unit: str | None, told_by: str) -> None:
    """Hold the unit of a point against another that its export tells; leave it out where only one of them can be."""
    if point.quantity is None or point.unit is None or point.unit_from == told_by or unit is None or no_unit(unit):
        return
    other, dimension = bare(unit), point.meaning.dimension
    known = unit_of(other, dimension)
    if known is None:
        differs = bool(unit_dimensions(other)) or (is_volts(other) and point.unit.strip() in ("%", "percent"))
    else:
        differs = known != unit_of(point.unit, dimension)
    if differs:
        point.contradict(f"its {point.unit_from} says {point.unit}, its {told_by} {other}")


def tell_contradictions(points: Sequence[Point]) -> list[str]:
    """Say which points were left out since the export contradicts itself."""
    told = Told()
    for point in points:
        if point.contradicted:
            told.of(point, _SAID, [point.contradicted])
    return told.sentences()


def contradiction(points: Sequence[Point]) -> ExportError | None:
    """Return the refusal of exports that contradict themselves in all that they hold; None where they do not."""
    found = [point for point in points if point.contradicted]
    if not found:
        return None
    return ExportError(
        found[0].file,
        f"says two things of its points, and nothing tells which hold: of {found[0].column!r} "
        f"{found[0].contradicted}" + (f", and so of {len(found) - 1} more" if len(found) > 1 else ""),
        "Correct the export, or write what holds (terminal, quantity and unit) into the point list.",
    )
