"""Heating: what a terminal delivers, the most that it could, and what the zone seems to need."""

from __future__ import annotations

import numpy as np

from analyzer.airside.air import STANDARD_DENSITY, sensible_heat, without_zero

# Heat that an office zone stores per floor area and kelvin within an hour or so [J/(m2 K)]. Judgement: more than room
# air and furniture (10 to 30 kJ), less than the whole structure over a day (ISO 13790:2008 table 12, very light: 80 kJ,
# from memory). The spread is the share by which it may be off either way.
ZONE_CAPACITY_PER_AREA = 50e3
ZONE_CAPACITY_SPREAD = 0.5


def delivered_heat(*, discharge_flow, discharge_temp, zone_temp, density=STANDARD_DENSITY):
    """Return the heat that the discharged air brings to the zone.

    Parameters
    ----------
    discharge_flow : float or array
        Air delivered to the zone [L/s].
    discharge_temp, zone_temp : float or array
        Temperatures of the air delivered and of the zone [degC].
    density : float or array, optional
        Air density [kg/m3].

    Returns
    -------
    float or array
        Heat [W]: positive warms the zone, negative cools it.

    Notes
    -----
    ``q = rho cp Q (Td - Tz)``. Only what exceeds zone temperature heats the space: warming cold primary air up to zone
    temperature costs coil heat, see `coil_heat`, and gives the zone none.

    Examples
    --------
    >>> round(delivered_heat(discharge_flow=94.0, discharge_temp=36.6, zone_temp=21.0))
    1776
    """
    return sensible_heat(flow=discharge_flow, temperature_difference=discharge_temp - zone_temp, density=density)


def coil_heat(*, discharge_flow, discharge_temp, entering_temp, density=STANDARD_DENSITY):
    """Return the heat that the coil gives to the air.

    Parameters
    ----------
    discharge_flow : float or array
        Air through the coil [L/s].
    discharge_temp : float or array
        Temperature of the air that leaves the terminal [degC].
    entering_temp : float or array
        Temperature of the air that enters the coil [degC]: `airside.coil_off_temp`, not the primary air's, where
        a fan mixes in plenum air.
    density : float or array, optional
        Air density [kg/m3].

    Returns
    -------
    float or array
        Heat [W]; negative where the readings contradict each other.

    Notes
    -----
    ``q = rho cp Q (Td - Te)``. For a coil in the plenum inlet give the expected discharge without coil all the same:
    the heat balance of the terminal is the same.

    Examples
    --------
    >>> round(coil_heat(discharge_flow=94.0, discharge_temp=30.0, entering_temp=13.0))
    1936
    """
    return sensible_heat(flow=discharge_flow, temperature_difference=discharge_temp - entering_temp, density=density)


def call_effectiveness(*, heat, call, capacity):
    """Return the share of the heat asked for that the coil gives.

    Parameters
    ----------
    heat : float or array
        Heat that the coil gives [W], from `coil_heat`.
    call : float or array
        Signal to the valve or the electric heater [%].
    capacity : float or array
        Scheduled capacity of the coil [W].

    Returns
    -------
    float or array
        Heat over ``capacity x call``: 1 is as scheduled; NaN without a call or a capacity.

    Notes
    -----
    Straight for electric heat. What a hot-water coil gives at part call depends on its valve, and its capacity is
    scheduled for design airflow and water temperature: judge it at a full call, and against 1 with care.

    Examples
    --------
    >>> float(call_effectiveness(heat=1500.0, call=100.0, capacity=3000.0))
    0.5
    """
    asked = capacity * call * 0.01
    return heat / np.where(asked > 0, asked, np.nan)


def most_heat(*, flow, entering_temp, highest_discharge_temp, zone_temp, capacity=np.inf, density=STANDARD_DENSITY):
    """Return the most heat that a flow can bring to the zone, bound by discharge temperature and coil.

    Parameters
    ----------
    flow : float or array
        Air delivered [L/s]: the primary minimum alone, or with the fan (`airside.discharge_flow`).
    entering_temp : float or array
        Temperature of that air before the coil [degC]: primary air's, or the mixture's (`airside.coil_off_temp`). Not
        needed where the capacity is unbounded.
    highest_discharge_temp : float or array
        Highest discharge temperature allowed [degC].
    zone_temp : float or array
        Zone temperature [degC].
    capacity : float or array, optional
        Capacity of the coil [W]; infinite where it is not known.
    density : float or array, optional
        Air density [kg/m3].

    Returns
    -------
    float or array
        Heat to the space [W]; negative where even full heating leaves the air colder than the zone.

    Notes
    -----
    ``q = min(rho cp Q (Tmax - Tz), capacity + rho cp Q (Te - Tz))``.

    Examples
    --------
    A minimum of 94 L/s of primary air, then the same terminal with 283 L/s in all, at 15.6 K above the zone:

    >>> temps = {"entering_temp": 13.0, "highest_discharge_temp": 36.6, "zone_temp": 21.0}
    >>> round(float(most_heat(flow=94.0, **temps)))
    1776
    >>> round(float(most_heat(flow=283.0, **temps)))
    5347
    """
    by_temperature = delivered_heat(
        discharge_flow=flow, discharge_temp=highest_discharge_temp, zone_temp=zone_temp, density=density
    )
    if np.ndim(capacity) == 0 and np.isposinf(capacity):
        return by_temperature
    before_coil = delivered_heat(
        discharge_flow=flow, discharge_temp=entering_temp, zone_temp=zone_temp, density=density
    )
    by_coil = np.where(np.isposinf(capacity), np.inf, capacity + before_coil)
    return np.minimum(by_temperature, by_coil)


def zone_heat_load(*, delivered_heat, temperature_rate, zone_capacity):
    """Return the heat that the zone loses, from what it receives and how fast its temperature moves.

    Parameters
    ----------
    delivered_heat : float or array
        Heat brought by the terminal [W], from `airside.delivered_heat`.
    temperature_rate : float or array
        Rate of change of the zone temperature [K/s].
    zone_capacity : float or array
        Heat that the zone stores per kelvin [J/K]: from `zone_capacity_from_rates`, or the floor area times
        `ZONE_CAPACITY_PER_AREA`.

    Returns
    -------
    float or array
        Heating load [W]: positive where the zone needs heat to hold its temperature, negative where it needs cooling.

    Notes
    -----
    One capacity, ``C dT/dt = q - L``, so ``L = q - C dT/dt``. It holds for an hour or so on which sun, people and
    outdoor temperature change little; walls that are still warming or cooling are part of the load. An estimate: show
    it with `zone_heat_load_uncertainty`.

    Examples
    --------
    A zone of 40 m2 receives 1.5 kW and still falls by 0.5 K an hour:

    >>> round(zone_heat_load(delivered_heat=1500.0, temperature_rate=-0.5 / 3600, zone_capacity=40 * 50e3))
    1778
    """
    return delivered_heat - zone_capacity * temperature_rate


def zone_heat_load_uncertainty(
    *, heat_uncertainty, temperature_rate, rate_uncertainty, zone_capacity, capacity_uncertainty
):
    """Return how far `zone_heat_load` can be off.

    Parameters
    ----------
    heat_uncertainty : float or array
        Uncertainty of the heat delivered [W].
    temperature_rate, rate_uncertainty : float or array
        Rate of change of the zone temperature, and its uncertainty [K/s]. A constant sensor error does not enter; its
        resolution does.
    zone_capacity, capacity_uncertainty : float or array
        Heat that the zone stores per kelvin, and its uncertainty [J/K].

    Returns
    -------
    float or array
        Uncertainty of the load [W].

    Notes
    -----
    ``u = sqrt(uq^2 + (r uC)^2 + (C ur)^2)`` for independent errors.

    References
    ----------
    .. [1] JCGM 100:2008 (GUM), 5.1.2, equation 10 (from memory).

    Examples
    --------
    >>> round(float(zone_heat_load_uncertainty(heat_uncertainty=150.0, temperature_rate=-0.5 / 3600,
    ...     rate_uncertainty=0.1 / 3600, zone_capacity=2e6, capacity_uncertainty=1e6)))
    212
    """
    return np.sqrt(
        np.square(heat_uncertainty)
        + np.square(temperature_rate * capacity_uncertainty)
        + np.square(zone_capacity * rate_uncertainty)
    )


def zone_capacity_from_rates(*, heat_warming, rate_warming, heat_cooling, rate_cooling):
    """Return the heat that a zone stores per kelvin, from a time when it warmed and a time when it cooled.

    Parameters
    ----------
    heat_warming, heat_cooling : float or array
        Heat brought by the terminal in the two times [W].
    rate_warming, rate_cooling : float or array
        Rate of change of the zone temperature in them [K/s].

    Returns
    -------
    float or array
        Capacity [J/K]; NaN where the rates are equal or the answer is not positive.

    Notes
    -----
    Two balances ``C r = q - L`` with the same load: ``C = (q1 - q2) / (r1 - r2)``. Take two times near each other, at
    like outdoor temperature and occupancy.

    Examples
    --------
    >>> round(float(zone_capacity_from_rates(heat_warming=3000.0, rate_warming=1.0 / 3600,
    ...     heat_cooling=0.0, rate_cooling=-0.5 / 3600)))
    7200000
    """
    capacity = (heat_warming - heat_cooling) / without_zero(rate_warming - rate_cooling)
    return np.where(capacity > 0, capacity, np.nan)[()]
