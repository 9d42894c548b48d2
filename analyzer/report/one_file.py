"""A page with everything it loads inside it, so that it can be sent as one file and still loads nothing else."""

from __future__ import annotations

import base64
import hashlib
import re
from pathlib import Path

_SHEET = re.compile(r'<link rel="stylesheet" href="assets/([\w./-]+)">')
_SCRIPT = re.compile(r'<script src="assets/([\w./-]+)"></script>')
_POLICY = re.compile(r'(<meta http-equiv="Content-Security-Policy" content=")[^"]*(">)')


def in_one_file(page: str, assets: Path) -> str:
    """Return a page with its style sheets and scripts in place.

    Parameters
    ----------
    page : str
        A page whose ``root`` is empty: it loads ``assets/...``.
    assets : Path
        Where these lie.

    Notes
    -----
    The page's policy allows exactly these sheets and scripts, by their digests, and nothing from anywhere.
    """
    digests: dict[str, list[str]] = {"style": [], "script": []}

    def put(tag: str):
        def replaced(match: re.Match) -> str:
            text = (assets / match[1]).read_text("utf-8").replace("</script", "<\\/script")
            digest = base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()
            digests[tag].append(f"'sha256-{digest}'")
            return f"<{tag}>{text}</{tag}>"

        return replaced

    page = _SCRIPT.sub(put("script"), _SHEET.sub(put("style"), page))
    allowed = " ".join(f"{tag}-src {' '.join(found)};" for tag, found in digests.items() if found)
    policy = f"default-src 'none'; {allowed} img-src data:; base-uri 'none'; form-action 'none'"
    return _POLICY.sub(lambda match: match[1] + policy + match[2], page)
