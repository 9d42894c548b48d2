"""How fast trendwright is, and how much memory it takes: ``python -m tests.benchmarks``."""
