"""What the reader refuses, and for how long it holds a value: every number named once, and told in the message."""

MEBIBYTE = 1024 * 1024

LARGEST_UNPACKED = 4096 * MEBIBYTE  # bytes that one archive may hold when unpacked
MOST_ARCHIVE_MEMBERS = 20_000  # files in one archive
LONGEST_LINE = 4 * MEBIBYTE  # bytes of one line of text
MOST_COLUMNS = 50_000  # columns of one file

HOLD_LIMIT_HOURS = 24.0  # a change-of-value log: for how long the last value is taken to stand
EVENT_GRID_SECONDS = 300  # the grid of a terminal that has only change-of-value logs
