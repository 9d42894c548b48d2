"""Tests of the findings report."""
