"""What is told by colour is told by a dash or a letter as well, and every line stands out from its ground."""

import re
from itertools import combinations
from pathlib import Path

import pytest

import analyzer.report
from analyzer.report.building import VERDICT_LETTERS
from analyzer.report.series import ALL_PANELS, SERIES

SHEET = (Path(analyzer.report.__file__).parent / "assets" / "report.css").read_text(encoding="utf-8")
# The three sets of colours: light, dark, paper, in the order of the sheet.
SCHEMES = [
    dict(re.findall(r"--([\w-]+):\s*(#\w{3,6})", block)) for block in re.findall(r":root \{(.*?)\}", SHEET, re.DOTALL)
]
NEVER_TOGETHER = {("supply_temp", "primary_temp")}


@pytest.mark.parametrize("panel", ALL_PANELS, ids=lambda panel: panel.name)
def test_no_line_is_told_from_another_by_colour_alone(panel):
    for one, other in combinations(panel.series, 2):
        assert one.dash != other.dash or (one.name, other.name) in NEVER_TOGETHER, (
            f"give {one.name} or {other.name} another dash in analyzer/report/series.py"
        )


def test_every_verdict_has_a_mark_of_its_own():
    marks = (Path(analyzer.report.__file__).parent / "templates" / "marks.html").read_text(encoding="utf-8")
    drawn = dict(re.findall(r'"([FMNC-])": "(.?)"', marks))
    assert set(drawn) == set(VERDICT_LETTERS)
    assert len(set(drawn.values())) == len(drawn)


def _luminance(colour: str) -> float:
    """Relative luminance: WCAG 2.1, its definition (from memory)."""
    digits = colour[1:] if len(colour) == 7 else "".join(2 * digit for digit in colour[1:])
    parts = [int(digits[i : i + 2], 16) / 255 for i in (0, 2, 4)]
    red, green, blue = (part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def _contrast(one: str, other: str) -> float:
    low, high = sorted((_luminance(one), _luminance(other)))
    return (high + 0.05) / (low + 0.05)


def test_contrast_is_what_the_standard_says_of_black_and_white():
    assert _contrast("#000000", "#fff") == pytest.approx(21)


@pytest.mark.parametrize("scheme", SCHEMES, ids=["light", "dark", "paper"])
def test_every_line_stands_out_from_its_plot(scheme):
    """At least 3 to 1: WCAG 2.1, success criterion 1.4.11 (from memory)."""
    without = [f"--s-{name}" for name in SERIES if f"s-{name}" not in scheme]
    assert not without, (
        "a line without a colour is not drawn: add it to this scheme of analyzer/report/assets/report.css"
    )
    for name in SERIES:
        for ground in ("plot", "occupied"):
            assert _contrast(scheme[f"s-{name}"], scheme[ground]) >= 3, (name, ground)


@pytest.mark.parametrize("scheme", SCHEMES, ids=["light", "dark", "paper"])
def test_verdicts_differ_in_lightness(scheme):
    """Firm, marginal and clear stay apart on a grey printer."""
    lightness = [_luminance(scheme[name]) for name in ("firm", "marginal", "clear")]
    for one, other in combinations(lightness, 2):
        assert (max(one, other) + 0.05) / (min(one, other) + 0.05) > 1.3
