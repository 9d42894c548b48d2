"""Open data sets that no simulator made, held against facts that follow from simple statistics on their raw columns."""
