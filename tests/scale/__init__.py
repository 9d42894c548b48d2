"""A building that is too large for one look: stored in parts, judged in groups, by several processes or a cluster."""
