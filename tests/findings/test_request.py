"""The trend request: what to send, how long, in what season, and what it settles."""

import numpy as np
import pandas as pd

from analyzer.engine.reasons import CONTEXT, INTERVAL, SAMPLES, SCHEDULE, TREND
from analyzer.engine.wording import forms
from analyzer.request import trend_request
from analyzer.reviews import rule_book_of
from analyzer.site import Site

BOOK = rule_book_of(Site())


def asked(*gaps) -> pd.DataFrame:
    columns = ["terminal", "rule", "what", "point", "interval"]
    return trend_request(pd.DataFrame(gaps, columns=columns), BOOK)


def test_points_that_several_rules_lack_are_asked_for_once_at_the_coarsest_interval_that_serves_all():
    (row,) = asked(
        ("TU-1", "reheat-hunting", TREND, "reheat_position", 300.0),
        ("TU-1", "reheat-during-cooling", TREND, "reheat_position", 900.0),
    ).to_dict("records")
    assert (row["point"], row["interval"], row["length"]) == ("reheat_position", "5 min or on change", "1 week")
    assert row["settles"] == "reheat-during-cooling reheat-hunting"


def test_terminals_that_lack_the_same_share_a_line_and_what_settles_most_stands_first():
    rows = asked(
        ("TU-1", "zone-too-cold", TREND, "zone_temp", 1800.0),
        ("TU-2", "fan-short-cycling", TREND, "fan_status", 300.0),
        ("TU-1", "zone-too-cold", TREND, "fan_status", 1800.0),
        ("TU-3", "fan-short-cycling", INTERVAL, "fan_status", 60.0),
    )
    assert rows["point"].tolist() == ["fan_status", "zone_temp"]
    assert rows["terminal"].tolist() == [("TU-1", "TU-2", "TU-3"), ("TU-1",)]
    assert rows["interval"].tolist() == ["1 min or on change", "30 min or on change"]
    assert rows["condition"].tolist() == ["logged more often", ""]


def test_a_context_that_never_came_says_how_to_bring_it_about_and_for_how_long():
    heat, cool = asked(
        ("TU-1", "heating-capacity-short", CONTEXT, "", np.nan),
        ("TU-2", "reheat-not-delivering", CONTEXT, "", np.nan),
        ("TU-1", "starved-terminal", CONTEXT, "", np.nan),
    ).to_dict("records")  # fmt: skip
    assert heat["condition"].startswith("cold weather; or the heating setpoint 5 °F (3 °C)")
    assert heat["length"] == "until 1 h is logged"
    assert heat["settles"] == "heating-capacity-short reheat-not-delivering" and heat["terminal"] == ("TU-1", "TU-2")
    assert {"zone_temp", "heating_setpoint", "reheat_position", "discharge_temp"} <= set(heat["point"].split(", "))
    assert cool["condition"].startswith("cooling weather") and cool["interval"] == "15 min or on change"


def test_the_same_points_are_asked_for_only_where_none_is_named():
    (alone,) = asked(("TU-1", "sensor-flatlined", CONTEXT, "", np.nan)).to_dict("records")
    assert alone["point"] == "the same points"
    (beside,) = asked(
        ("TU-1", "sensor-flatlined", CONTEXT, "", np.nan), ("TU-1", "slow-to-respond", CONTEXT, "", np.nan)
    ).to_dict("records")  # fmt: skip
    assert "primary_flow" in beside["point"] and "the same points" not in beside["point"]


def test_schedule_values_need_no_trend():
    (row,) = asked(("TU-1", "primary-above-maximum", SCHEDULE, "primary_max", 1800.0)).to_dict("records")
    assert row["point"] == "primary_max (schedule)" and row["interval"] == row["length"] == ""
    assert "balancing report" in row["condition"]


def test_coarse_logs_and_gaps_say_so():
    rows = asked(
        ("TU-1", "reheat-hunting", INTERVAL, "reheat_position", 60.0),
        ("TU-2", "reheat-hunting", SAMPLES, "reheat_position", np.nan),
    )
    (row,) = rows.to_dict("records")
    assert row["terminal"] == ("TU-1", "TU-2") and row["interval"] == "1 min or on change"
    assert row["condition"] == "logged more often; without gaps"


def test_every_shipped_rule_can_say_what_it_waits_for():
    rows = asked(*[("TU-1", rule, CONTEXT, "", np.nan) for rule in BOOK])
    settled = set(" ".join(rows["settles"]).split())
    assert settled == set(BOOK)
    assert (rows["condition"].str.len() > 10).all()


def test_without_a_gap_nothing_is_asked():
    assert asked().empty


def test_no_point_of_a_fan_is_asked_of_a_terminal_without_one():
    columns = ["terminal", "rule", "what", "point", "interval"]
    gaps = pd.DataFrame(
        [(tag, "reheat-without-airflow", CONTEXT, "", np.nan) for tag in ("TU-1", "TU-2")], columns=columns
    )
    may_be = {"TU-1": forms(["single-duct"]), "TU-2": forms(["series"])}
    rows = trend_request(gaps, BOOK, may_be).set_index("terminal")["point"].str.split(", ")
    assert {"fan_status", "reheat_position"} <= set(rows["TU-2",])
    assert set(rows["TU-2",]) - set(rows["TU-1",]) == {"fan_status", "fan_command"}
    assert len(trend_request(gaps, BOOK, dict.fromkeys(may_be, forms()))) == 1
    # Nor what another terminal's rule asks in the same test.
    gaps.loc[0, "rule"] = "discharge-too-hot"
    rows = trend_request(gaps, BOOK, may_be).set_index("terminal")["point"].str.split(", ")
    assert "fan_status" in rows["TU-2",] and "fan_status" not in rows["TU-1",]
