"""What the reader refuses, and for how long it holds a value: every number named once, and told in the message."""

MEBIBYTE = 1024 * 1024

LARGEST_UNPACKED = 4096 * MEBIBYTE  # bytes that one archive may hold when unpacked
MOST_TIMES_UNPACKED = 200  # how many times its packed size a file may unpack to, once it is over the next number
SURELY_UNPACKED = 256 * MEBIBYTE  # bytes that are unpacked whatever the packed size
MOST_ARCHIVE_MEMBERS = 20_000  # files in one archive
LONGEST_LINE = 4 * MEBIBYTE  # bytes of one line of text
MOST_COLUMNS = 50_000  # columns of one file
MOST_CELLS = 500_000_000  # rows times columns of one stored table
MOST_SHEET_CELLS = 50_000_000  # rows times columns of a workbook's sheets
LONGEST_NAME = 1_000  # letters of a point's name, or of a cell that is a value

HOLD_LIMIT_HOURS = 24.0  # a change-of-value log: for how long the last value is taken to stand
SILENCE_LIMIT_HOURS = 4.0  # ... while its terminal's other logs, that report at an interval, say nothing; judgement
EVENT_GRID_SECONDS = 300  # the grid of a terminal that has only change-of-value logs
