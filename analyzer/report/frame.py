"""The frame that all pages share: their templates, their style and scripts, and the words that templates use."""

from __future__ import annotations

import shutil
from pathlib import Path

from jinja2 import Environment, FileSystemLoader, StrictUndefined

from analyzer.quantities import half_up
from analyzer.report import words

_HERE = Path(__file__).resolve().parent
ASSETS = _HERE / "assets"


def page_environment(*folders: Path, **known) -> Environment:
    """Return the environment of a kind of page.

    Parameters
    ----------
    folders : Path
        Where the pages' own templates lie; the shared ones are found behind them.
    known
        What every template of the kind may use by name, such as ``site`` and ``period``.
    """
    environment = Environment(
        loader=FileSystemLoader([*folders, _HERE / "templates"]),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters.update(whole=words.whole, capitalized=words.capitalized, half_up=half_up)
    environment.globals.update(plural=words.plural, **known)
    return environment


def write_assets(folder: Path, *more: Path) -> None:
    """Write what pages load into their folder: style, scripts, the charts' specifications, and folders of one's own."""
    for assets in (ASSETS, *more):
        shutil.copytree(assets, folder, dirs_exist_ok=True)


def write_script(path: Path, name: str, value) -> None:
    """Write a value as a script that pages load: from the file system a page can load nothing else."""
    path.write_text(script(name, value), encoding="utf-8")


def script(name: str, value) -> str:
    """Return the script that gives a page a value under a name."""
    return f"var {name} = {words.embedded(value)};\n"
