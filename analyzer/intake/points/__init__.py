"""Which column is which point of which terminal, and the cells of each point."""
