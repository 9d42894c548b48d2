"""A page's text as a reader has it."""

from __future__ import annotations

import html
import re
from pathlib import Path


def text_of(page: Path) -> str:
    """Return a page's text without its markup and scripts."""
    told = re.sub(r"<script.*?</script>", "", page.read_text(encoding="utf-8"), flags=re.DOTALL)
    return re.sub(r"\s+", " ", html.unescape(re.sub(r"<[^>]*>", " ", told)))
