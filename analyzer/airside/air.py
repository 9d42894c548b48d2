"""Air itself: its pressure and density, and the sensible heat that a flow of it carries."""

from __future__ import annotations

import numpy as np

SPECIFIC_HEAT = 1006.0  # J/(kg K), dry air at room temperature: ASHRAE Handbook Fundamentals ch. 1 (from memory)
STANDARD_DENSITY = 1.204  # kg/m3, dry air at 20 degC and 101.325 kPa
_GAS_CONSTANT = 287.042  # J/(kg K), dry air: ASHRAE Handbook Fundamentals ch. 1 (from memory)
_SEA_LEVEL_PRESSURE = 101325.0  # Pa
_LITRES_PER_M3 = 1000.0


def without_zero(divisor):
    """Return a divisor with NaN for 0, so that a quotient without meaning is missing instead of infinite."""
    return np.where(divisor == 0, np.nan, divisor)


def air_pressure(*, altitude):
    """Return the air pressure of the standard atmosphere.

    Parameters
    ----------
    altitude : float or array
        Height above sea level [m].

    Returns
    -------
    float or array
        Absolute pressure [Pa].

    Notes
    -----
    ``p = 101325 (1 - 2.25577e-5 z)^5.2559``, for -5,000 m to 11,000 m. Weather moves it by some 2 %.

    References
    ----------
    .. [1] ASHRAE Handbook Fundamentals, ch. 1, standard atmosphere (form from memory; it meets Table 6a of a
       government HVAC design guide, 2006, to 0.001 in relative density).

    Examples
    --------
    >>> round(air_pressure(altitude=1524.0))
    84307
    """
    return _SEA_LEVEL_PRESSURE * (1.0 - 2.25577e-5 * altitude) ** 5.2559


def air_density(*, altitude=0.0, temperature=20.0):
    """Return the density of dry air at the standard atmosphere's pressure.

    Parameters
    ----------
    altitude : float or array, optional
        Height above sea level [m].
    temperature : float or array, optional
        Air temperature [degC].

    Returns
    -------
    float or array
        Density [kg/m3].

    Notes
    -----
    Ideal gas, ``rho = p / (R T)``. Moist air at 0.010 kg/kg is 0.6 % lighter.

    References
    ----------
    .. [1] ASHRAE Handbook Fundamentals, ch. 1 (from memory).

    Examples
    --------
    >>> round(air_density(), 3)
    1.204
    """
    return air_pressure(altitude=altitude) / (_GAS_CONSTANT * (temperature + 273.15))


def sensible_heat(*, flow, temperature_difference, density=STANDARD_DENSITY):
    """Return the sensible heat that an airflow carries across a temperature difference.

    Parameters
    ----------
    flow : float or array
        Airflow [L/s].
    temperature_difference : float or array
        Temperature difference [K]; the heat takes its sign.
    density : float or array, optional
        Air density [kg/m3].

    Returns
    -------
    float or array
        Heat [W].

    Notes
    -----
    ``q = rho cp Q dT``: 1.21 W per L/s and K in standard air, 1.08 Btu/h per cfm and degF.

    References
    ----------
    .. [1] Sensible heat factors 1.08 (IP) and 1.2 (SI): common practice, ASHRAE Handbook Fundamentals (from memory).

    Examples
    --------
    >>> round(sensible_heat(flow=283.0, temperature_difference=15.6))
    5347
    """
    return _heat_per_flow(density) * flow * temperature_difference


def flow_for_heat(*, heat, temperature_difference, density=STANDARD_DENSITY):
    """Return the airflow that carries a heat at a temperature difference.

    Parameters
    ----------
    heat : float or array
        Heat [W].
    temperature_difference : float or array
        Temperature of the air less that of what it heats or cools [K].
    density : float or array, optional
        Air density [kg/m3].

    Returns
    -------
    float or array
        Airflow [L/s]; NaN where no airflow can do it: no difference, or one of the wrong sign.

    Notes
    -----
    The inverse of `sensible_heat`.

    Examples
    --------
    >>> round(flow_for_heat(heat=3517.0, temperature_difference=15.6))
    186
    """
    flow = heat / (_heat_per_flow(density) * without_zero(temperature_difference))
    return np.where(flow < 0, np.nan, flow)[()]


def temperature_rise(*, heat, flow, density=STANDARD_DENSITY):
    """Return the temperature rise that a heat gives to an airflow.

    Parameters
    ----------
    heat : float or array
        Heat [W].
    flow : float or array
        Airflow [L/s].
    density : float or array, optional
        Air density [kg/m3].

    Returns
    -------
    float or array
        Temperature rise [K]; NaN where no air flows.

    Notes
    -----
    The inverse of `sensible_heat`. In IP the rise in degF is 927 times the heat in kBtu/h over the flow in cfm.

    Examples
    --------
    >>> round(float(temperature_rise(heat=1760.0, flow=94.0)), 1)
    15.5
    """
    moving = np.where(flow > 0, flow, np.nan)
    return heat / (_heat_per_flow(density) * moving)


def _heat_per_flow(density):
    """W per L/s and K. Worked out first, so that a row array is passed over once less."""
    return density * (SPECIFIC_HEAT / _LITRES_PER_M3)
