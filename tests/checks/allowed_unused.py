# type: ignore
# ruff: noqa
"""What vulture takes for unused and is not, with the reason."""

# Asked by Python for the names of the public face.
__getattr__

# Set on an object of a library, which reads them: Great Expectations.
_.progress_bars

# openpyxl.
_.alignment
_.border
_.data_type
_.errorTitle
_.fitToHeight
_.fitToPage
_.fitToWidth
_.font
_.freeze_panes
_.orientation
_.print_area
_.print_title_rows
_.prompt
_.promptTitle
_.ref
_.showErrorMessage
_.showInputMessage

# A file as pyarrow takes it.
_.closed
_.readable
_.seekable

# Python: what is raised where nobody can catch it.
_.unraisablehook

# zipfile: what a member of an archive says of itself.
_.create_system
_.external_attr

# numpy: an array that is not to be written to.
_.writeable

# Read by their name as a text: what a simulated terminal does, recorded point by point.
_.fan_speed
_.heating_signal
_.shown_pressure_setpoint

# Only python -m tests.accuracy calls it: field mode as raw files.
write_field_exports

# A building judged as one group: what the tests of the rules hold them with.
judge_building
collect_building

# Where a building lies is told whole.
longitude

# A fixture asked for by name alone, for what it does.
small_limits

# The asset of the pages that is made with Altair: python -m tests.make_docs writes it, a test holds it.
SPECIFICATIONS
specifications_script

# Ways of a drift that have no case of their own: the others are told from them by their place.
ZERO
CURVE

# What a fault of the simulated building may bring: named by keyword.
brings

# Parts of the benchmark, called by their names.
_.yardsticks

# html.parser: how a parser is told of what it meets.
_.handle_starttag

# reportlab: how a flowable tells how much room it takes.
_.wrap

# openpyxl: what a workbook says of itself.
_.properties

# Asked by a notebook that shows a review.
_._repr_html_

# What a signal made in a loop says of itself; and what the simulator records by its name.
_.__doc__
_.mode_shown
