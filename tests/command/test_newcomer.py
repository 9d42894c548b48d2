"""What a newcomer meets: a table that is not named, a unit that is none, completion in the shell."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from analyzer.quantities import parse_quantity

HOME = Path(__file__).parents[2]


def test_a_schedule_that_the_site_file_does_not_name_is_mentioned(trendwright, tmp_path):
    (tmp_path / "site.toml").write_text('[site]\ntime_zone = "America/Chicago"\n')
    (tmp_path / "terminals.csv").write_text("terminal,kind\nVAV-1,single-duct\n")
    rows = "".join(f"2026-01-26 {hour:02d}:00,{70 + hour / 10}\n" for hour in range(24))
    (tmp_path / "log.csv").write_text("time,VAV-1 zone temperature (degF)\n" + rows)
    ran = trendwright("review", ".", "--out", "review", cwd=tmp_path)
    assert ran.status == 0, ran.err
    (told,) = [line for line in ran.out.splitlines() if "terminals.csv" in line]
    assert "was not read" in told and 'terminals = "terminals.csv" under [site]' in told
    (tmp_path / "site.toml").write_text('[site]\ntime_zone = "America/Chicago"\nterminals = "terminals.csv"\n')
    assert "was not read" not in trendwright("review", ".", "--out", "review", cwd=tmp_path).out


@pytest.mark.parametrize(
    ("text", "dimension", "told"),
    [
        ("4 apples", "count", "'apples' is no unit of count, which has none; write the number alone"),
        ("4 apples", "flow", "'apples' is no unit of flow; known are "),
    ],
)
def test_a_unit_that_is_none_is_told_in_a_whole_sentence(text, dimension, told):
    with pytest.raises(ValueError) as refused:
        parse_quantity(text, dimension)
    assert str(refused.value).startswith(told)
    assert not str(refused.value).endswith("known are ")


def test_the_shell_completes_commands():
    env = {**os.environ, "PYTHONPATH": str(HOME), "_TRENDWRIGHT_COMPLETE": "complete_bash"}
    env |= {"COMP_WORDS": "trendwright com", "COMP_CWORD": "1"}
    call = "import sys; sys.argv[0] = 'trendwright'; from analyzer.cli import main; main()"
    done = subprocess.run([sys.executable, "-c", call], env=env, capture_output=True, text=True, timeout=60)
    assert done.stdout.split() == ["compare", "complaint"]
