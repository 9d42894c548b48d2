"""``python -m tests.report.pictures``: take the pictures of the report that the documents show, from the demo building.

It takes a Chromium (``apt-get install chromium``) and half a minute.
"""

from __future__ import annotations

import io
import subprocess
import sys
import tempfile
from pathlib import Path

from analyzer.places import rule_book
from tests.browser import ARGUMENTS, chromium_path

# A picture's name, the page, and how much of its height it shows [px].
PICTURES = [
    ("report-index", "index.html", 860),
    ("report-terminal", "terminals/VAV-2-05.html", 960),
]
WIDTH, SHARPER = 1280, 1.5
COLOURS = 128


def take(folder: Path) -> list[Path]:
    """Review the demo as the README does, and take every picture into a folder."""
    with tempfile.TemporaryDirectory() as room:
        demo, draft, review = (str(Path(room) / name) for name in ("demo", "draft", "review"))
        schedule = str(Path(demo) / "documents" / "terminal_schedule.xlsx")
        for call in (
            ["demo", demo],
            ["draft", demo, "--schedule", schedule, "--out", draft],
            ["review", demo, "--site", str(Path(draft) / "site.toml"), "--out", review],
        ):
            subprocess.run([sys.executable, "-m", "analyzer", *call], check=True, stdout=subprocess.DEVNULL)
        return _photographed(Path(review), folder)


def _photographed(review: Path, folder: Path) -> list[Path]:
    from playwright.sync_api import sync_playwright

    taken = []
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium_path(), args=ARGUMENTS)
        for name, page, height in PICTURES:
            tab = browser.new_page(viewport={"width": WIDTH, "height": height}, device_scale_factor=SHARPER)
            tab.goto((review / page).as_uri())
            tab.wait_for_selector("html[data-drawn]")
            taken.append(_small(tab.screenshot(), folder / f"{name}.png"))
        browser.close()
    return taken


def _small(picture: bytes, path: Path) -> Path:
    from PIL import Image

    Image.open(io.BytesIO(picture)).convert("RGB").quantize(COLOURS).save(path, optimize=True)
    return path


if __name__ == "__main__":
    for taken in take(rule_book().parent / "docs"):
        print(taken)
