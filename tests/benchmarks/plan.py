"""What is measured by default, and which cells of the table are left out and why."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from tests.benchmarks.building import TILE, Model, model
from tests.benchmarks.exports import write_exports

SIZES = (50, 500, 5000)
READINGS_A_ROW = 10.4  # of a terminal and time: points that are trended, air handlers' included
GIB = 1024**3


@dataclass(frozen=True)
class Span:
    """How long, and how often: days, minutes."""

    name: str
    days: int
    minutes: int

    @property
    def told(self) -> str:
        long = {1: "a day", 7: "a week", 30: "a month", 364: "a year"}.get(self.days, f"{self.days} days")
        return f"{long} every {f'{self.minutes} minutes' if self.minutes > 1 else 'minute'}"


@dataclass(frozen=True)
class Shape:
    """How the rows come: as which files, and how many rows of a file a terminal and time take."""

    name: str
    shape: str
    kind: str
    told: str


SPANS = {span.name: span for span in (Span("week", 7, 5), Span("month", 30, 1))}
YEAR = Span("year", 364, 5)
SHAPES = {
    shape.name: shape
    for shape in (
        Shape("csv-wide", "wide", "csv", "CSV wide"),
        Shape("csv-long", "long", "csv", "CSV long"),
        Shape("csv-tidy", "tidy", "csv", "CSV tidy"),
        Shape("parquet-wide", "wide", "parquet", "Parquet wide"),
        Shape("parquet-long", "long", "parquet", "Parquet long"),
        Shape("parquet-tidy", "tidy", "parquet", "Parquet tidy"),
        Shape("trends", "trends", "parquet", "normalized"),
    )
}
TRENDS = SHAPES["trends"]
WIDE = SHAPES["csv-wide"]
# Of a month at a minute, 500 terminals: the two that say most. The others are read by the same code at the same cost a
# row as the ones above them, and would take longer than all else together.
LARGE_MONTH = ("csv-wide", "trends")


@dataclass(frozen=True)
class Cell:
    """One line of the table."""

    terminals: int
    span: Span
    shape: Shape

    @property
    def rows(self) -> int:
        """Rows of the normalized table: one for each terminal and time."""
        return self.terminals * self.span.days * 1440 // self.span.minutes

    @property
    def name(self) -> str:
        return f"{self.terminals}-{self.span.name}-{self.shape.name}"

    def left_out(self, everything: bool) -> str | None:
        """Say why it is left out, if it is."""
        readings = round(self.rows * READINGS_A_ROW / 1e6)
        if self.rows > 100e6:
            return (
                f"{self.rows / 1e6:.0f} million rows and {readings:,} million readings: tens of gigabytes of text, and "
                "more in one piece than a machine of this size can hold. Such a building is reviewed in groups from a "
                "dataset: see memory."
            )
        if self.shape.shape == "long" and self.rows > 5e6:
            return f"{readings} million lines, one a reading: nobody exports this in one go."
        if not everything and self.rows > 20e6 and self.shape.name not in LARGE_MONTH:
            return f"{self.rows / 1e6:.0f} million rows take minutes; --all measures it."
        return None

    @property
    def memory(self) -> int:
        """About how much memory a review of it takes [bytes]: exports are read whole, a stored table in groups."""
        return round(GIB + self.rows * (BYTES_A_ROW if self.shape is not TRENDS else 0))


# What reading exports holds for each row of the normalized table at its most: measured, with some room. [bytes]
BYTES_A_ROW = 900


class Store:
    """The cache folder: what is measured is generated into it when it is first asked for."""

    def __init__(self, folder: Path, say):
        self.folder, self._say = folder, say
        self._models: dict[int, Model] = {}

    def _model(self, days: int) -> Model:
        """Return the simulated terminals."""
        if days not in self._models:
            self._say(f"simulating {TILE} terminals for {days} days, once")
            self._models[days] = model(days, self.folder)
        return self._models[days]

    def _recorded(self, span: Span) -> Model:
        if span.days <= 7:
            return self._model(7).every(span.minutes, span.days)
        if span.days <= 30:
            return self._model(30).every(span.minutes, span.days)
        return self._model(30).every(span.minutes, 28).repeated(span.days // 28)

    def of(self, terminals: int, span: Span, shape: Shape) -> Path:
        """Return the folder of a building's exports."""
        folder = self.folder / f"{terminals}-{span.days}-days-{span.minutes}-min-{shape.name}"
        if not folder.exists():
            self._say(f"writing {terminals} terminals, {span.told}, {shape.told}")
            write_exports(self._recorded(span), terminals, shape.shape, shape.kind, folder)
        return folder

    def warm(self, shape: Shape) -> Path:
        """Return a small building's exports in the same shape."""
        return self.of(TILE, Span("day", 1, 5), shape)

    def tiny(self) -> Path:
        """Return a tiny export: two terminals, a day."""
        return self.of(2, Span("day", 1, 5), WIDE)
