"""The start of a rule: a file with every key and a remark on each; the rule book takes it, and it judges nothing."""

from __future__ import annotations

import re
from collections.abc import Collection
from pathlib import Path

from analyzer.errors import CallError

_TEMPLATE = Path(__file__).with_name("rule_template.toml")


def start_rule(rule: str, folder: Path, known: Collection[str]) -> Path:
    """Write the start of a rule into a folder, which is made where it is not there.

    Parameters
    ----------
    rule : str
        Its id: the file's name, lower-case words joined by hyphens.
    folder : path
        A folder of rules, such as the one that the site file names.
    known : collection of str
        The ids that there are already.

    Returns
    -------
    Path
        The file.

    Raises
    ------
    CallError
        The id is none, or is taken; the folder cannot be written.
    """
    if not re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)+", rule):
        raise CallError(
            None, f"{rule!r} is no id of a rule",
            "Name the fault in two or more lower-case words joined by hyphens, such as zone-too-humid.",
        )  # fmt: skip
    file = folder / f"{rule}.toml"
    if rule in known or file.exists():
        raise CallError(
            None, f"there is a rule {rule!r} already", "Take another id, or move its limits in the site file."
        )
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with file.open("x", encoding="utf-8") as written:
            written.write(_TEMPLATE.read_text("utf-8"))
    except OSError as error:
        raise CallError(folder, f"cannot be written ({error.strerror})", "Name a folder of your own.") from None
    return file
