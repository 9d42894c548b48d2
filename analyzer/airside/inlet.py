"""The inlet flow sensor: velocity pressure, flow coefficient, and the least flow that it can resolve."""

from __future__ import annotations

import numpy as np

from analyzer.airside.air import STANDARD_DENSITY, without_zero

# How many times the velocity pressure an averaging inlet sensor shows. Judgement: makers' sensors lie between 2.0 and
# 2.8, which puts the coefficient of an unknown one within 10 %.
AMPLIFICATION = 2.3
# Lowest reading that a controller's transducer can be trusted with [Pa]: 0.004 in. w.c., ASHRAE Guideline 36, 3.1.2
# guidance (0.003 to 0.004; from memory).
LEAST_READABLE_PRESSURE = 1.0
_LITRES_PER_M3 = 1000.0


def inlet_area(*, diameter):
    """Return the area of a round inlet.

    Parameters
    ----------
    diameter : float or array
        Inlet diameter [m].

    Returns
    -------
    float or array
        Area [m2].

    Examples
    --------
    >>> round(inlet_area(diameter=0.254), 4)
    0.0507
    """
    return 0.25 * np.pi * diameter**2


def velocity_from_pressure(*, velocity_pressure, density=STANDARD_DENSITY):
    """Return the air velocity that makes a velocity pressure.

    Parameters
    ----------
    velocity_pressure : float or array
        Velocity pressure [Pa].
    density : float or array, optional
        Air density [kg/m3].

    Returns
    -------
    float or array
        Velocity [m/s]; NaN for a pressure below zero.

    Notes
    -----
    ``v = sqrt(2 p / rho)``; in standard air ``V[fpm] = 4005 sqrt(p[in. w.c.])``. For air that can be taken as
    incompressible (below some 60 m/s).

    References
    ----------
    .. [1] Factors 4005 and 1096.7: a test-instrument maker's brochure.

    Examples
    --------
    >>> round(float(velocity_from_pressure(velocity_pressure=249.089)), 2)
    20.34
    """
    return _root(velocity_pressure * (2.0 / density))


def velocity_pressure(*, velocity, density=STANDARD_DENSITY):
    """Return the velocity pressure of moving air.

    Parameters
    ----------
    velocity : float or array
        Velocity [m/s].
    density : float or array, optional
        Air density [kg/m3].

    Returns
    -------
    float or array
        Velocity pressure [Pa].

    Notes
    -----
    ``p = rho v^2 / 2``, the inverse of `velocity_from_pressure`.

    Examples
    --------
    >>> round(float(velocity_pressure(velocity=20.34)), 1)
    249.1
    """
    return (0.5 * density) * np.square(velocity)


def flow_from_pressure(*, differential_pressure, flow_coefficient, density=STANDARD_DENSITY):
    """Return the flow through an inlet sensor from its reading.

    Parameters
    ----------
    differential_pressure : float or array
        Reading of the sensor [Pa].
    flow_coefficient : float or array
        Flow at 1 Pa in standard air [L/s/sqrt(Pa)].
    density : float or array, optional
        Air density [kg/m3]; a controller without altitude correction shows the flow at standard density.

    Returns
    -------
    float or array
        Airflow [L/s]; NaN for a reading below zero.

    Notes
    -----
    ``Q = K sqrt(dP rho0 / rho)``.

    References
    ----------
    .. [1] ``Q = K sqrt(dP)``: a trade equation sheet; the correction for density follows from ``v = sqrt(2 p / rho)``.

    Examples
    --------
    >>> float(flow_from_pressure(differential_pressure=4.0, flow_coefficient=43.0))
    86.0
    """
    return flow_coefficient * _root(differential_pressure * (STANDARD_DENSITY / density))


def pressure_from_flow(*, flow, flow_coefficient, density=STANDARD_DENSITY):
    """Return the reading that a flow gives at an inlet sensor.

    Parameters
    ----------
    flow : float or array
        Airflow [L/s].
    flow_coefficient : float or array
        Flow at 1 Pa in standard air [L/s/sqrt(Pa)].
    density : float or array, optional
        Air density [kg/m3].

    Returns
    -------
    float or array
        Differential pressure [Pa]; NaN where the coefficient is 0.

    Notes
    -----
    ``dP = (Q / K)^2 rho / rho0``, the inverse of `flow_from_pressure`.

    Examples
    --------
    >>> float(pressure_from_flow(flow=86.0, flow_coefficient=43.0))
    4.0
    """
    return np.square(flow / without_zero(flow_coefficient)) * (density / STANDARD_DENSITY)


def flow_coefficient_from_reading(*, flow, differential_pressure, density=STANDARD_DENSITY):
    """Return the flow coefficient from a flow that was measured by other means, and the sensor's reading then.

    Parameters
    ----------
    flow : float or array
        Airflow [L/s], as the balancer measured it.
    differential_pressure : float or array
        Reading of the sensor at that flow [Pa].
    density : float or array, optional
        Air density at that time [kg/m3].

    Returns
    -------
    float or array
        Flow at 1 Pa in standard air [L/s/sqrt(Pa)]; NaN where the reading is not above zero.

    Notes
    -----
    ``K = Q / sqrt(dP rho0 / rho)``.

    Examples
    --------
    >>> float(flow_coefficient_from_reading(flow=86.0, differential_pressure=4.0))
    43.0
    """
    return flow / without_zero(_root(differential_pressure * (STANDARD_DENSITY / density)))


def flow_coefficient_of_inlet(*, diameter, amplification=AMPLIFICATION):
    """Return the flow coefficient to expect of a round inlet whose sensor is not known.

    Parameters
    ----------
    diameter : float or array
        Inlet diameter [m].
    amplification : float or array, optional
        How many times the velocity pressure the sensor shows.

    Returns
    -------
    float or array
        Flow at 1 Pa in standard air [L/s/sqrt(Pa)].

    Notes
    -----
    ``K = 1000 A sqrt(2 / (rho0 F))``; in IP ``K = A 4005 / sqrt(F)``. Between 2.0 and 2.8 the amplification moves the
    coefficient by +7 % and -9 %.

    References
    ----------
    .. [1] ASHRAE Guideline 36, 3.1.2 guidance (from memory).

    Examples
    --------
    >>> round(float(flow_coefficient_of_inlet(diameter=0.254)), 1)
    43.1
    """
    velocity_at_1_pa = velocity_from_pressure(velocity_pressure=1.0 / amplification)
    return _LITRES_PER_M3 * inlet_area(diameter=diameter) * velocity_at_1_pa


def least_measurable_flow(*, flow_coefficient, least_pressure=LEAST_READABLE_PRESSURE, density=STANDARD_DENSITY):
    """Return the least flow that an inlet sensor can resolve.

    Parameters
    ----------
    flow_coefficient : float or array
        Flow at 1 Pa in standard air [L/s/sqrt(Pa)]: scheduled, or from `flow_coefficient_of_inlet`.
    least_pressure : float or array, optional
        Lowest reading of the transducer that can be trusted [Pa].
    density : float or array, optional
        Air density [kg/m3].

    Returns
    -------
    float or array
        Airflow [L/s].

    Notes
    -----
    ``Vm = A 4005 sqrt(VPm / F)`` in IP, which is ``K sqrt(VPm)``: VPm is what the sensor shows, amplified.

    References
    ----------
    .. [1] ASHRAE Guideline 36, 3.1.2 guidance (from memory).

    Examples
    --------
    >>> round(float(least_measurable_flow(flow_coefficient=43.1)))
    43
    """
    return flow_from_pressure(differential_pressure=least_pressure, flow_coefficient=flow_coefficient, density=density)


def _root(number):
    """Square root, missing below zero."""
    return np.sqrt(np.where(number < 0, np.nan, number))
