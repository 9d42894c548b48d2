"""The wheel: installed where there is no checkout, it finds its rule book and its demo inside itself."""

import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

CHECKOUT = Path(__file__).resolve().parents[2]


@pytest.fixture(scope="module")
def installed(tmp_path_factory):
    """The wheel, built and unpacked into a folder of its own."""
    room = tmp_path_factory.mktemp("wheel")
    subprocess.run(
        [sys.executable, "-m", "pip", "wheel", "--quiet", "--no-deps", "--wheel-dir", room, CHECKOUT],
        check=True,
        timeout=300,
    )
    (wheel,) = room.glob("trendwright-*.whl")
    zipfile.ZipFile(wheel).extractall(room / "site")
    return room / "site"


def run(installed: Path, *call: str, cwd: Path) -> subprocess.CompletedProcess:
    """Run the command from the wheel's own files, and from nowhere else."""
    script = (
        f"import sys; sys.path.insert(0, {str(installed)!r}); import analyzer; "
        f"assert analyzer.__file__.startswith({str(installed)!r}), analyzer.__file__; "
        "from analyzer.cli import main; main()"
    )
    return subprocess.run(
        [sys.executable, "-c", script, *call], cwd=cwd, capture_output=True, text=True, timeout=120,
        env={"PATH": "/usr/bin:/bin", "PYTHONPATH": str(installed)},
    )  # fmt: skip


def test_the_wheel_claims_no_other_name(installed):
    claimed = {path.name for path in installed.iterdir()}
    assert claimed == {"analyzer", next(name for name in claimed if name.endswith(".dist-info"))}


def test_the_wheel_reviews_the_demo_building(installed, tmp_path):
    copied = run(installed, "demo", "demo", "--shape", "parquet", cwd=tmp_path)
    assert copied.returncode == 0, copied.stderr
    reviewed = run(installed, "review", "demo", "-q", "--out", "out", cwd=tmp_path)
    assert reviewed.returncode == 0, reviewed.stderr
    assert (tmp_path / "out" / "index.html").exists()
    listed = run(installed, "rules", cwd=tmp_path)
    assert "fan-short-cycling" in listed.stdout
