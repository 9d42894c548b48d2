"""``python -m analyzer``, and what the installed command ``trendwright`` calls."""

from __future__ import annotations

from analyzer.command import run


def main() -> None:
    """Run the command."""
    run(_load)


def _load():
    from analyzer.cli import app

    return app


if __name__ == "__main__":
    main()
