"""The checks that CI makes beside the tests, each by its name: ``python -m tests.checks [NAME ...]``."""
