"""Small files that people write by hand, read within bounds: no pipe without an end, nothing beyond all measure."""

from __future__ import annotations

import errno
import os
import re
import stat
import tomllib
from pathlib import Path
from typing import Any

KIBIBYTE = 1024
LARGEST_TOML = 1024 * KIBIBYTE  # bytes of a site file or a rule file
MOST_DOTS = 100  # dots of one key
LARGEST_TABLE = 64 * 1024 * KIBIBYTE  # bytes of a schedule, a point list or an issue log


def read_bytes(path: str | Path, most: int) -> bytes:
    """Read a file of no more than ``most`` bytes.

    Raises
    ------
    OSError
        It cannot be read, is no file (a pipe, a device), or is larger; ``strerror`` says which.
    """
    # Opening a pipe would wait for someone to write into it.
    handle = os.open(path, os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0))
    with open(handle, "rb") as stream:
        if not stat.S_ISREG(os.fstat(handle).st_mode):
            raise OSError(errno.EINVAL, "it is no file but a folder, a pipe or a device", str(path))
        data = stream.read(most + 1)
    if len(data) > most:
        raise OSError(errno.EFBIG, f"it is larger than {most // KIBIBYTE:,} KiB, the most allowed", str(path))
    return data


def read_toml(path: str | Path) -> dict[str, Any]:
    """Read a TOML file.

    Raises
    ------
    OSError
        As :func:`read_bytes`.
    ValueError
        It is no TOML, or nested or numbered beyond all measure; the message says where.
    """
    text = read_bytes(path, LARGEST_TOML).decode("utf-8-sig")
    # Each dot of a key is looked up through all before it.
    if any(part.count(".") > MOST_DOTS for part in re.split(r"[={},\n]", text)):
        raise ValueError(f"a key has more than {MOST_DOTS} dots")
    try:
        return tomllib.loads(text)
    except RecursionError:
        raise ValueError("its tables are nested too deeply") from None
