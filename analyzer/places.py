"""Where the rule book and the demo lie: at the top of a checkout, inside the package in an installed wheel."""

from pathlib import Path

_PACKAGE = Path(__file__).resolve().parent


def rule_book() -> Path:
    """Return the folder of the shipped rule files."""
    return _first_folder(_PACKAGE / "rules", _PACKAGE.parent / "rules")


def demo_exports() -> Path:
    """Return the folder of the demo building's exports, site file and schedule."""
    return _first_folder(_PACKAGE / "sample_trends", _PACKAGE.parent / "sample_trends" / "exports")


def _first_folder(*folders: Path) -> Path:
    for folder in folders:
        if folder.is_dir():
            return folder
    raise FileNotFoundError(f"trendwright is installed without {folders[0].name}: {', '.join(map(str, folders))}")
