"""The normalized table as it is stored: one Parquet file or a folder of them, read whole or terminal by terminal.

Each file carries the format and the time zone in its schema's metadata, and how each point was logged. A row group
holds whole terminals where this program wrote it, so that a few terminals of a large building are read without the
rest. A building's files may be laid into one folder as they come: a file per month, a folder per building.
"""

from analyzer.dataset.kept import keep_trends, kept_trends
from analyzer.dataset.reading import Dataset, beside, is_normalized, logging_of, open_dataset, read_normalized
from analyzer.dataset.writing import write_dataset, write_trends

__all__ = [
    "Dataset", "beside", "is_normalized", "keep_trends", "kept_trends", "logging_of", "open_dataset", "read_normalized",
    "write_dataset", "write_trends",
]  # fmt: skip
