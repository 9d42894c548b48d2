"""Inside the terminal: what the fan induces, how the airs mix, and what leaves while the coil is off.

A row of a terminal without a fan has ``fan_flow`` 0 and ``fan_on`` 0; ``series`` says which rows belong to a series
unit. So one call serves a whole building.
"""

from __future__ import annotations

import numpy as np

from analyzer.airside.air import STANDARD_DENSITY, temperature_rise, without_zero

# Electric power of a terminal fan per airflow [W per L/s]. Judgement: terminal fans lie between about 0.3 (ECM, low
# external pressure) and 1.0 (single-speed motor), so the heat rise of about 0.5 K is known to some 0.3 K.
FAN_POWER_PER_FLOW = 0.6


def induced_flow(*, primary_flow, fan_flow, fan_on, series):
    """Return the plenum air that the terminal fan draws in.

    Parameters
    ----------
    primary_flow : float or array
        Primary airflow [L/s].
    fan_flow : float or array
        Flow of the fan while it runs [L/s]; 0 without a fan.
    fan_on : float or array
        1 while the fan runs, else 0.
    series : bool or array
        True for a series unit; False for a parallel unit or one without a fan.

    Returns
    -------
    float or array
        Induced airflow [L/s], never negative.

    Notes
    -----
    Series: ``max(fan - primary, 0)``; what primary air exceeds the fan leaves through the plenum inlet. Parallel: the
    fan's flow. Mass balance of the terminal.

    Examples
    --------
    >>> float(induced_flow(primary_flow=100.0, fan_flow=250.0, fan_on=1, series=True))
    150.0
    """
    running = fan_flow * fan_on
    return np.where(series, np.maximum(running - primary_flow, 0.0), running)[()]


def discharge_flow(*, primary_flow, fan_flow, fan_on, series):
    """Return the air that the terminal delivers.

    Parameters
    ----------
    primary_flow : float or array
        Primary airflow [L/s].
    fan_flow : float or array
        Flow of the fan while it runs [L/s]; 0 without a fan.
    fan_on : float or array
        1 while the fan runs, else 0.
    series : bool or array
        True for a series unit; False for a parallel unit or one without a fan.

    Returns
    -------
    float or array
        Discharge airflow [L/s]. A series unit with its fan off gives the primary flow, which is the most that can
        reach the zone: some of it leaves through the plenum inlet.

    Notes
    -----
    Series: the fan's flow. Parallel: primary and fan. Single-duct: primary.

    Examples
    --------
    >>> float(discharge_flow(primary_flow=100.0, fan_flow=250.0, fan_on=1, series=False))
    350.0
    """
    running = fan_flow * fan_on
    through_fan = np.logical_and(series, running > 0)
    return np.where(through_fan, running, primary_flow + running)[()]


def mixed_temp(*, primary_flow, primary_temp, induced_flow, induced_temp):
    """Return the temperature of primary and induced air once mixed.

    Parameters
    ----------
    primary_flow, induced_flow : float or array
        Airflows [L/s].
    primary_temp, induced_temp : float or array
        Their temperatures [degC]; the induced one is not needed where no air is induced.

    Returns
    -------
    float or array
        Mixed temperature [degC]; NaN where no air flows.

    Notes
    -----
    ``T = Tp + (Ti - Tp) Qi / (Qp + Qi)``. Weighted by volume: weighting by mass instead lowers the result by less
    than 0.1 K for airs 10 K apart.

    Examples
    --------
    >>> float(mixed_temp(primary_flow=100.0, primary_temp=13.0, induced_flow=100.0, induced_temp=23.0))
    18.0
    """
    total = primary_flow + induced_flow
    induced_share = induced_flow / np.where(total > 0, total, np.nan)
    return primary_temp + np.where(induced_share == 0, 0.0, induced_share * (induced_temp - primary_temp))


def fan_temp_rise(*, power_per_flow=FAN_POWER_PER_FLOW, density=STANDARD_DENSITY):
    """Return how much a terminal fan warms the air that passes it.

    Parameters
    ----------
    power_per_flow : float or array, optional
        Electric power of the fan per airflow [W per L/s].
    density : float or array, optional
        Air density [kg/m3].

    Returns
    -------
    float or array
        Temperature rise of the air through the fan [K].

    Notes
    -----
    Fan and motor stand in the airstream, so all electric power becomes heat of the air: ``dT = P / (rho cp Q)``.

    Examples
    --------
    >>> round(float(fan_temp_rise()), 2)
    0.5
    """
    return temperature_rise(heat=power_per_flow, flow=1.0, density=density)


def coil_off_temp(*, primary_flow, primary_temp, induced_flow, induced_temp, fan_flow, fan_rise):
    """Return the discharge temperature to expect while the coil gives no heat, for every kind of terminal.

    Parameters
    ----------
    primary_flow, induced_flow : float or array
        Airflows [L/s]; the induced one from `induced_flow`, 0 for single-duct and for a parallel unit with its fan off.
    primary_temp, induced_temp : float or array
        Their temperatures [degC]; the induced one is not needed where no air is induced.
    fan_flow : float or array
        Air through the running fan [L/s]; 0 where no fan runs. All of the discharge in a series unit, the induced air
        in a parallel one.
    fan_rise : float or array
        Temperature rise of the air through the fan [K], from `fan_temp_rise`.

    Returns
    -------
    float or array
        Discharge temperature [degC], which is also the temperature that enters a coil in the discharge; NaN where no
        air flows.

    Notes
    -----
    Heat balance: ``T = mixed + rise Qfan / (Qp + Qi)``. A parallel unit's fan warms only the induced air, so its rise
    counts by that share. Gain along the duct up to the sensor is not in it.

    Examples
    --------
    A series unit, then a parallel one, each with 100 L/s of primary air at 13 degC and 100 L/s of plenum air at 23:

    >>> airs = {"primary_flow": 100.0, "primary_temp": 13.0, "induced_flow": 100.0, "induced_temp": 23.0}
    >>> float(coil_off_temp(**airs, fan_flow=200.0, fan_rise=0.5))
    18.5
    >>> float(coil_off_temp(**airs, fan_flow=100.0, fan_rise=0.5))
    18.25
    """
    total = primary_flow + induced_flow
    mixed = mixed_temp(
        primary_flow=primary_flow, primary_temp=primary_temp, induced_flow=induced_flow, induced_temp=induced_temp
    )
    return mixed + fan_rise * (fan_flow / without_zero(total))


def primary_share(*, discharge_temp, primary_temp, plenum_temp, fan_rise=0.0):
    """Return the share of primary air in the discharge that the three temperatures imply, with the coil off.

    Parameters
    ----------
    discharge_temp, primary_temp, plenum_temp : float or array
        Temperatures [degC]. For a parallel unit give the plenum temperature plus the fan's rise, and no ``fan_rise``.
    fan_rise : float or array, optional
        Temperature rise through a series unit's fan [K].

    Returns
    -------
    float or array
        Share of primary air; below 0 or above 1 where the readings contradict each other; NaN where primary and plenum
        air are equally warm. Times the fan's flow it is the primary flow of a series unit.

    Notes
    -----
    ``x = (Ti + rise - Td) / (Ti - Tp)``, from the heat balance of the mixing. Meaningful only with
    `primary_share_uncertainty` beside it: with the airs less than some 5 K apart it says little.

    References
    ----------
    .. [1] The form is that of the outdoor-air fraction by temperatures, as a test-instrument maker's brochure gives it.

    Examples
    --------
    >>> float(primary_share(discharge_temp=18.5, primary_temp=13.0, plenum_temp=23.0, fan_rise=0.5))
    0.5
    """
    return (plenum_temp + fan_rise - discharge_temp) / without_zero(plenum_temp - primary_temp)


def primary_share_uncertainty(
    *,
    share,
    primary_temp,
    plenum_temp,
    discharge_accuracy,
    primary_accuracy,
    plenum_accuracy,
    fan_rise_accuracy=0.0,
):
    """Return how far `primary_share` can be off for the accuracy of its three sensors.

    Parameters
    ----------
    share : float or array
        The share, from `primary_share`.
    primary_temp, plenum_temp : float or array
        Temperatures [degC].
    discharge_accuracy, primary_accuracy, plenum_accuracy : float or array
        Accuracies of the three sensors [K].
    fan_rise_accuracy : float or array, optional
        How well the fan's rise is known [K].

    Returns
    -------
    float or array
        Uncertainty of the share, with the coverage of the accuracies that were given; NaN where primary and plenum air
        are equally warm.

    Notes
    -----
    Law of propagation for independent errors: ``u = sqrt(ud^2 + (1-x)^2 ui^2 + x^2 up^2 + ur^2) / |Ti - Tp|``.

    References
    ----------
    .. [1] JCGM 100:2008 (GUM), 5.1.2, equation 10 (from memory).

    Examples
    --------
    >>> round(float(primary_share_uncertainty(share=0.5, primary_temp=13.0, plenum_temp=23.0,
    ...     discharge_accuracy=0.5, primary_accuracy=0.5, plenum_accuracy=0.5)), 3)
    0.061
    """
    variance = (
        np.square(discharge_accuracy)
        + np.square((1.0 - share) * plenum_accuracy)
        + np.square(share * primary_accuracy)
        + np.square(fan_rise_accuracy)
    )
    return np.sqrt(variance) / without_zero(np.abs(plenum_temp - primary_temp))
