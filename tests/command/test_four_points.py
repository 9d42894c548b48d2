"""With nothing trended but the four points of the card and a schedule, the card rules judge what those can show."""

import pandas as pd
import pytest

from analyzer.places import demo_exports

SITE = '[site]\ntime_zone = "America/Chicago"\nterminals = "terminals.csv"\n[hours]\noccupied = { mon-fri = "07:00-18:00" }\n'
POINTS = {"ZN-T", "PRI-FLOW", "FAN-STS", "RH-VLV", "ELEC-HTG"}


@pytest.fixture(scope="module")
def four_points(trendwright, tmp_path_factory):
    """The demo's wide exports with every other column cut away, and a site file that gives hours and nothing more."""
    room = tmp_path_factory.mktemp("four-points")
    exports = room / "exports"
    exports.mkdir()
    for source in sorted((demo_exports() / "wide").glob("*.csv")):
        text = source.read_text().splitlines()
        head = next(number for number, line in enumerate(text) if "ZN-T" in line)
        columns = text[head].split(",")
        kept = [0] + [at for at, name in enumerate(columns) if name.split(" (")[0].rsplit(".", 1)[-1] in POINTS]
        lines = [",".join(line.split(",")[at] for at in kept) for line in text[head:]]
        (exports / source.name).write_text("\n".join(lines) + "\n")
    (exports / "terminals.csv").write_text((demo_exports() / "terminals.csv").read_text())
    (exports / "site.toml").write_text(SITE)
    ran = trendwright("review", "exports", "--out", "out", "-q", cwd=room)
    assert ran.status == 0, ran.err
    return room / "out"


def test_what_four_points_can_show_is_judged(four_points):
    verdicts = pd.read_csv(four_points / "verdicts.csv", keep_default_na=False).set_index(["terminal", "rule"])
    assert verdicts.loc[("VAV-1-03", "primary-below-ventilation-minimum"), "verdict"] == "fault"
    assert verdicts.loc[("VAV-2-05", "reheat-without-airflow"), "verdict"] == "fault"
    assert verdicts.loc[("FPT-3-12", "fan-short-cycling"), "verdict"] == "fault"
    assert (verdicts.xs("primary-below-ventilation-minimum", level="rule")["verdict"] == "clear").sum() > 20


def test_the_rest_says_which_trend_would_settle_it(four_points):
    verdicts = pd.read_csv(four_points / "verdicts.csv", keep_default_na=False).set_index(["terminal", "rule"])
    drift = verdicts.xs("flow-sensor-drift", level="rule")
    # Where the terminals show that their air handler was off, the zero was seen; the rest takes more.
    assert set(drift["verdict"]) <= {"not-judged", "clear"} and (drift["verdict"] == "not-judged").sum() > 20
    assert drift["reason"].str.contains("damper_position").all()
    reheat = verdicts.loc[("VAV-2-05", "reheat-during-cooling")]
    assert reheat["verdict"] == "not-judged"  # without a setpoint nothing tells heating from cooling
    assert "the trend cooling_setpoint, or a cooling setpoint in the site file" in reheat["reason"]
    request = pd.read_csv(four_points / "trend_request.csv", keep_default_na=False)
    (asked,) = request[request["point"] == "damper_position"].to_dict("records")
    assert asked["terminal"] == "all 44 terminals" and "flow-sensor-drift" in asked["settles"]
    assert len(request) < 40  # a line a point, schedule value or test


def test_setpoints_in_the_site_file_settle_reheat_in_cooling(four_points, trendwright):
    """As the reason said: with the setpoints told, the same four points show it."""
    room = four_points.parent
    (room / "exports" / "site.toml").write_text(SITE + '[setpoints]\nheating = "70 degF"\ncooling = "74 degF"\n')
    ran = trendwright("review", "exports", "--out", "told", "-q", cwd=room)
    assert ran.status == 0, ran.err
    verdicts = pd.read_csv(room / "told" / "verdicts.csv", keep_default_na=False).set_index(["terminal", "rule"])
    assert verdicts.loc[("VAV-2-05", "reheat-during-cooling"), "verdict"] == "fault"
    others = verdicts.xs("reheat-during-cooling", level="rule")["verdict"]
    assert (others == "clear").sum() > 10
