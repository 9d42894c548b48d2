"""The normalized table as it is stored: one Parquet file or a folder of them, read whole or terminal by terminal.

Each file carries the format and the time zone in its schema's metadata, and how each point was logged. A row group
holds whole terminals where this program wrote it, so that a few terminals of a large building are read without the
rest. A building's files may be laid into one folder as they come: a file per month, a folder per building. A list
beside them says which count where not all do, as in a store that grows.
"""

from analyzer.dataset.kept import keep_trends, kept_trends
from analyzer.dataset.manifest import Manifest, is_store, read_manifest
from analyzer.dataset.reading import (
    Dataset,
    beside,
    is_normalized,
    logging_of,
    open_dataset,
    reach_of,
    read_normalized,
)
from analyzer.dataset.writing import ROW_GROUP, TableWriter, stretches, write_dataset, write_trends

__all__ = [
    "ROW_GROUP", "Dataset", "Manifest", "TableWriter", "beside", "is_normalized", "is_store", "keep_trends",
    "kept_trends", "logging_of", "open_dataset", "reach_of", "read_manifest", "read_normalized", "stretches",
    "write_dataset", "write_trends",
]  # fmt: skip
