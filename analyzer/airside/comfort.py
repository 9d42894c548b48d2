"""How warm people find a room: the predicted mean vote, and the share of them that it leaves dissatisfied."""

from __future__ import annotations

import numpy as np

_MET = 58.15  # W/m2
_CLO = 0.155  # m2 K/W
_ZERO_CELSIUS = 273.0  # K, as the standard's own program has it
# The clothing's temperature is taken as found once a step moves it by less [K]; so many steps are tried.
_SETTLED, _MOST_STEPS = 1e-7, 200


def predicted_mean_vote(*, air_temp, radiant_temp, air_speed, humidity, activity, clothing):
    """Return the predicted mean vote (PMV) of people in a room.

    Parameters
    ----------
    air_temp, radiant_temp : float or array
        Air temperature and mean radiant temperature [degC].
    air_speed : float or array
        Relative air speed [m/s].
    humidity : float or array
        Relative humidity [%].
    activity : float or array
        Metabolic rate [met]; no work is done outside the body.
    clothing : float or array
        Clothing insulation [clo].

    Returns
    -------
    float or array
        The vote: -3 cold, 0 neutral, +3 hot [-].

    Notes
    -----
    ``PMV = (0.303 exp(-0.036 M) + 0.028) L`` [1]_, equation (1): the heat load L is the heat that the body makes less
    what it gives off through the skin, by sweat, by breath, by radiation and to the air. For 10 to 30 degC, up to
    1 m/s, 0.8 to 4 met and up to 2 clo. ASHRAE 55 has the same for still air.

    References
    ----------
    .. [1] ISO 7730:2005, clause 4 and annex D (equations from memory; they meet the twelve rows of table D.1 that are
       held against them to 0.01, and the library ``pythermalcomfort``).

    Examples
    --------
    >>> vote = predicted_mean_vote(
    ...     air_temp=22.0, radiant_temp=22.0, air_speed=0.1, humidity=60.0, activity=1.2, clothing=0.5
    ... )
    >>> round(float(vote), 2)  # table D.1: -0.75
    -0.75
    """
    heat = activity * _MET
    insulation = clothing * _CLO
    area = np.where(insulation > 0.078, 1.05 + 0.645 * insulation, 1.0 + 1.29 * insulation)
    vapour = humidity * 10.0 * np.exp(16.6536 - 4030.183 / (air_temp + 235.0))  # Pa
    surface, convection = _clothing(air_temp, radiant_temp, air_speed, heat, insulation, area)
    through_skin = 3.05e-3 * (5733.0 - 6.99 * heat - vapour)
    by_sweat = 0.42 * np.maximum(heat - _MET, 0.0)
    by_breath = 1.7e-5 * heat * (5867.0 - vapour) + 0.0014 * heat * (34.0 - air_temp)
    by_radiation = 3.96e-8 * area * (_kelvin(surface) ** 4 - _kelvin(radiant_temp) ** 4)
    to_air = area * convection * (surface - air_temp)
    load = heat - through_skin - by_sweat - by_breath - by_radiation - to_air
    return (0.303 * np.exp(-0.036 * heat) + 0.028) * load


def predicted_dissatisfied(*, vote):
    """Return the share of people who are predicted to be dissatisfied (PPD).

    Parameters
    ----------
    vote : float or array
        The predicted mean vote [-].

    Returns
    -------
    float or array
        [%]; never under 5.

    References
    ----------
    .. [1] ISO 7730:2005, clause 5, equation (5) (from memory; it meets table D.1).

    Examples
    --------
    >>> round(float(predicted_dissatisfied(vote=0.5)), 1)
    10.2
    """
    return 100.0 - 95.0 * np.exp(-0.03353 * vote**4 - 0.2179 * vote**2)


def _clothing(air_temp, radiant_temp, air_speed, heat, insulation, area):
    """Return the clothing's surface temperature [degC] and its heat transfer to the air [W/(m2 K)], NaN if not found.

    The surface gives off what comes through the clothing: equations (2) and (3), each depending on the other's answer.
    """
    skin = 35.7 - 0.028 * heat
    surface = air_temp + (35.5 - air_temp) / (3.5 * (6.45 * insulation + 0.1))
    for _ in range(_MOST_STEPS):
        convection = np.maximum(2.38 * np.abs(surface - air_temp) ** 0.25, 12.1 * np.sqrt(air_speed))
        resistance = insulation * area
        by_radiation = 3.96e-8 * resistance * (_kelvin(surface) ** 4 - _kelvin(radiant_temp) ** 4)
        found = (skin - by_radiation + resistance * convection * air_temp) / (1.0 + resistance * convection)
        step = (found - surface) / 2.0  # half of it: a whole step overshoots for ever
        surface = surface + step
        if not np.any(np.abs(step) > _SETTLED):
            break
    return np.where(np.abs(step) > _SETTLED, np.nan, surface), convection


def _kelvin(temperature):
    return temperature + _ZERO_CELSIUS
