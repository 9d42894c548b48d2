"""A published comfort range: the zone temperatures at which few are dissatisfied, by ISO 7730 and ASHRAE 55."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from analyzer.airside import predicted_dissatisfied, predicted_mean_vote

# What nobody measured. ASHRAE 55 takes air speeds to 0.1 m/s as still; office work is 1.1 to 1.2 met; clothing 0.5 clo
# in summer and 1.0 clo in winter (ISO 7730:2005, annex C; ASHRAE 55, table of typical ensembles; from memory).
AIR_SPEED, ACTIVITY = 0.1, 1.2  # m/s, met
SUMMER, WINTER = 0.5, 1.0  # clo
HUMIDITY, HUMIDITIES = 40.0, (20.0, 60.0)  # %
# ASHRAE 55 and category B of ISO 7730: a predicted mean vote within half a step of neutral, 10 % dissatisfied.
WIDEST_VOTE = 0.5
# The range in which ISO 7730 holds [degC].
LOWEST, HIGHEST = 10.0, 30.0


@dataclass(frozen=True)
class ComfortRange:
    """The comfort range and what it rests on; degC, clo.

    ``shift`` [K] is how far its ends move with the humidity between ``HUMIDITIES``.
    """

    low: float
    high: float
    lightest: float
    warmest: float
    outdoor: float
    shift: float


def predicted_vote(
    zone_temp: Any,
    *,
    radiant_temp: Any = None,
    air_speed: float = AIR_SPEED,
    humidity: float = HUMIDITY,
    activity: float = ACTIVITY,
    clothing: Any,
) -> tuple[Any, Any]:
    """Return the predicted mean vote (PMV) and the share predicted dissatisfied (PPD).

    Parameters
    ----------
    zone_temp : float or array
        Air temperature [degC].
    radiant_temp : float or array, optional
        Mean radiant temperature [degC]; the air's where not given.
    air_speed : float
        Relative air speed [m/s].
    humidity : float
        Relative humidity [%].
    activity : float
        [met].
    clothing : float
        [clo].

    Returns
    -------
    tuple of float or array
        Vote, -3 cold to +3 hot, and share [%]; NaN outside the method's range.
    """
    zone_temp = np.asarray(zone_temp, dtype=float)
    vote = predicted_mean_vote(
        air_temp=zone_temp, radiant_temp=zone_temp if radiant_temp is None else radiant_temp, air_speed=air_speed,
        humidity=humidity, activity=activity, clothing=clothing,
    )  # fmt: skip
    holds = (zone_temp >= LOWEST) & (zone_temp <= HIGHEST)
    shown, share = (np.where(holds, figure, np.nan)[()] for figure in (vote, predicted_dissatisfied(vote=vote)))
    return shown, share


def comfort_range(outdoor_temp: float) -> ComfortRange:
    """Return the zone temperatures that keep the predicted vote within half a step of neutral.

    Parameters
    ----------
    outdoor_temp : float
        Outdoor temperature on that day [degC]: by it people dress. Unknown, the range reaches from what is comfortable
        in winter clothing to what is in summer clothing.

    Returns
    -------
    ComfortRange

    Notes
    -----
    Below 10 degC outdoors people are taken to wear winter clothing, above 20 degC summer clothing, and something
    between in between (judgement; ASHRAE 55 lets clothing follow the outdoor air likewise).
    """
    share = np.clip((outdoor_temp - 10.0) / 10.0, 0.0, 1.0)
    typical = WINTER + share * (SUMMER - WINTER)
    lightest, warmest = (SUMMER, WINTER) if np.isnan(outdoor_temp) else (typical, typical)
    low, high = _edge(-WIDEST_VOTE, warmest, HUMIDITY), _edge(WIDEST_VOTE, lightest, HUMIDITY)
    shift = max(
        abs(_edge(vote, clothing, humidity) - at)
        for humidity in HUMIDITIES
        for vote, clothing, at in ((-WIDEST_VOTE, warmest, low), (WIDEST_VOTE, lightest, high))
    )
    return ComfortRange(low, high, float(lightest), float(warmest), float(outdoor_temp), float(shift))


def _edge(vote: float, clothing: float, humidity: float) -> float:
    """The zone temperature [degC] at which the vote is what it is; the vote grows with temperature."""
    temperature = np.linspace(LOWEST, HIGHEST, 201)
    votes = predicted_vote(temperature, humidity=humidity, clothing=clothing)[0]
    return float(np.interp(vote, votes, temperature))
