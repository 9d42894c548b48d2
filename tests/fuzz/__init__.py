"""Mutated exports, site files, schedules, point lists and rules, read by the thousand: see ``python -m tests.fuzz``."""
