"""The figures and words of forms: in which units they are, and what they come to."""

from __future__ import annotations

from analyzer.schedule import kinds
from analyzer.schedule.cells import Grid
from analyzer.schedule.columns import units_for
from analyzer.schedule.figures import no_multiplier, read_figure, read_size
from analyzer.schedule.meaning import DIMENSIONS
from analyzer.schedule.units import stated_units
from analyzer.schedule.words import Heading, read_heading

_TEXTS = {"zone", "floor", "air_handler", "remarks", "tested_on", "instrument", "open_zone"}


class FormValues:
    """Reads the values of a grid's forms, whose units its names, its notes or its other figures say."""

    def __init__(self, grid: Grid):
        self.grid = grid
        self.stated = stated_units([text for row in grid.rows for text in row if text] + list(grid.loose))

    def value(self, name: str, heading: Heading, text: str) -> tuple[float | str, str, str]:
        """Return a cell's value in SI or as a word, why it has none, and what was made of it."""
        if name in _TEXTS or name == "type":
            return " ".join(text.split()), "", ""
        if name in ("reheat", "fan_control", "distribution"):
            said = {"reheat": kinds.reheat_in, "fan_control": kinds.control_in, "distribution": kinds.distribution_in}[
                name
            ](text)
            return said, "" if said else "the word was not recognized", ""
        dimension = DIMENSIONS[name]
        units = units_for(name, heading.units) or (
            (self.stated[dimension],) if dimension in self.stated else self._like(dimension)
        )
        figure = read_size(text, units) if name == "inlet_diameter" else read_figure(text, dimension, units)
        if name == "flow_coefficient":
            figure = no_multiplier(figure)
        return figure.value, figure.problem, figure.note

    def _like(self, dimension: str) -> tuple[str, ...]:
        """Return the usual unit of a dimension where the grid names the units of one system only."""
        told = {unit for row in self.grid.rows for text in row if text for unit in read_heading(text).units}
        if told & {"cfm", "in.w.c.", "in"} and not told & {"L/s", "Pa", "mm", "m3/h"}:
            return {"flow": ("cfm",), "pressure": ("in.w.c.",), "length": ("in",), "temperature": ("degF",),
                    "flow_coefficient": ("cfm/sqrt(in.w.c.)",)}.get(dimension, ())  # fmt: skip
        if "L/s" in told and "cfm" not in told:
            return {"flow": ("L/s",), "pressure": ("Pa",), "length": ("mm",), "temperature": ("degC",),
                    "flow_coefficient": ("L/s/sqrt(Pa)",)}.get(dimension, ())  # fmt: skip
        return ()
