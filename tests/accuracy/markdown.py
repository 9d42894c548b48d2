"""Tables and shares, as the pages print them."""

from __future__ import annotations

import math

import numpy as np


def share_with_interval(found: int, of: int) -> str:
    """A share with its 95 % interval by Wilson's formula (Journal of the American Statistical Association 22, 1927)."""
    if not of:
        return ""
    z = 1.96
    share = found / of
    middle = (share + z * z / (2 * of)) / (1 + z * z / of)
    half = z / (1 + z * z / of) * math.sqrt(share * (1 - share) / of + z * z / (4 * of * of))
    low, high = np.clip([middle - half, middle + half], 0.0, 1.0)
    return f"{share:.1%} ({low:.1%} to {high:.1%})"


def markdown_table(head: list[str], rows: list[list]) -> str:
    if not rows:
        return "None."
    lines = [head, ["---"] * len(head), *rows]
    return "\n".join("| " + " | ".join(str(cell) for cell in line) + " |" for line in lines)
