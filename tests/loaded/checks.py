"""Checks of the data contract whose library is loaded: importing it would be two seconds of each review."""

from __future__ import annotations

import os

import analyzer.contract.check as contract
from tests.loaded.server import POSSIBLE, Process, Server

__all__ = ["AS_USERS_HAVE_IT", "CHECKS", "POSSIBLE", "check_at", "contract", "started"]

AS_USERS_HAVE_IT = contract._started
CHECKS = Server("analyzer.contract.suite")


def started() -> Process:
    """Begin a check, as ``analyzer.contract.check`` does."""
    return check_at(CHECKS.address)


def check_at(address: str) -> Process:
    """Begin a check by the server that listens at an address."""
    theirs, to = os.pipe()
    answers, their_answers = os.pipe()
    nowhere = os.open(os.devnull, os.O_WRONLY)
    try:
        process = Process(address, "analyzer.contract.__main__", (), [theirs, their_answers, nowhere])
    finally:
        for end in (theirs, their_answers, nowhere):
            os.close(end)
    process.stdin, process.stdout = open(to, "wb"), open(answers, "rb")  # noqa: SIM115 (its caller closes them)
    return process
