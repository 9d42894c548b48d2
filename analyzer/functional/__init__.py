"""Functional tests that the site file names: how soon what a sequence moves followed each step; a page, and a CSV."""

from analyzer.functional.limits import response_limits
from analyzer.functional.writing import write_functional_tests

__all__ = ["response_limits", "write_functional_tests"]
