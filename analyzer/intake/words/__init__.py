"""The trade's words, and how exports spell names, tags, units, values, flags and stamps: text alone, no tables."""
