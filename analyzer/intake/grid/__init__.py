"""Values at their moments onto the rows of the normalized table."""
