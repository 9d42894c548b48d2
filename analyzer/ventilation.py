"""Ventilation of a zone: the outdoor air that it needs, and the primary air that brings it.

Pure functions on numbers or arrays, all SI: airflow [L/s], area [m2], volume [m3]. A missing value (NaN) in gives a
missing value out; an input is never changed. Local codes may ask for more than the standard quoted here.
"""

from __future__ import annotations

import numpy as np

# Office space. Rates and density: ASHRAE 62.1, Table 6-1 (6.2.2.1 up to 2016): 5 cfm/person and 0.06 cfm/ft2 as
# secondary pages give them, in the standard's own rounding to SI; the density is from memory.
OFFICE_RATE_PER_PERSON = 2.5  # L/s
OFFICE_RATE_PER_AREA = 0.3  # L/(s m2)

# From this rise above the zone on, air from the ceiling stays up: 15 degF, 8 K in the standard's SI form.
WARM_DISCHARGE_RISE = 8.0


def breathing_zone_flow(*, people, area, rate_per_person=OFFICE_RATE_PER_PERSON, rate_per_area=OFFICE_RATE_PER_AREA):
    """Return the outdoor air that the breathing zone needs.

    Parameters
    ----------
    people : float or array
        People in the zone.
    area : float or array
        Floor area [m2].
    rate_per_person : float or array, optional
        Outdoor air per person [L/s]; an office's where not given.
    rate_per_area : float or array, optional
        Outdoor air per floor area [L/(s m2)]; an office's where not given.

    Returns
    -------
    float or array
        Outdoor airflow Vbz [L/s].

    Notes
    -----
    ``Vbz = Rp Pz + Ra Az``.

    References
    ----------
    .. [1] ASHRAE 62.1, equation 6-1 (6.2.1.1 in 2019 and 2022), from secondary pages.

    Examples
    --------
    >>> breathing_zone_flow(people=4, area=80.0)
    34.0
    """
    return rate_per_person * people + rate_per_area * area


def distribution_effectiveness(*, underfloor, discharge_rise=0.0, stratified=False, jet_reaches=True):
    """Return how well the supplied outdoor air reaches the breathing zone.

    Parameters
    ----------
    underfloor : bool or array
        True where air comes from the floor, False where it comes from the ceiling; return at the ceiling.
    discharge_rise : float or array, optional
        Discharge temperature less zone temperature [K].
    stratified : bool or array, optional
        Floor supply only: the designer has shown a low throw that leaves the room stratified. Otherwise it is taken as
        well mixed, which asks for more air.
    jet_reaches : bool or array, optional
        Ceiling supply only: air up to 8 K warmer than the zone comes with a jet of 0.8 m/s to within 1.4 m of the
        floor, as diffusers are selected for.

    Returns
    -------
    float or array
        Zone air distribution effectiveness Ez; NaN where the rise is.

    Notes
    -----
    Ceiling: cool 1.0; up to 8 K warm 1.0, or 0.8 without the jet; from 8 K on (inclusive) 0.8.
    Floor: cool 1.0, or 1.2 if stratified; warm 0.7.

    References
    ----------
    .. [1] ASHRAE 62.1, Table 6-4 (6.2.2.2 up to 2016): from secondary pages; the 0.7 and the floor's 1.0 from memory.

    Examples
    --------
    >>> float(distribution_effectiveness(underfloor=False, discharge_rise=10.0))
    0.8
    """
    warm = discharge_rise > 0
    from_floor = np.where(warm, 0.7, np.where(stratified, 1.2, 1.0))
    stays_up = (discharge_rise >= WARM_DISCHARGE_RISE) | (warm & np.logical_not(jet_reaches))
    from_ceiling = np.where(stays_up, 0.8, 1.0)
    known = np.where(np.isnan(discharge_rise), np.nan, 1.0)
    return known * np.where(underfloor, from_floor, from_ceiling)


def zone_outdoor_flow(*, breathing_zone_flow, effectiveness):
    """Return the outdoor air that must leave the diffusers.

    Parameters
    ----------
    breathing_zone_flow : float or array
        Outdoor air that the breathing zone needs [L/s].
    effectiveness : float or array
        Zone air distribution effectiveness.

    Returns
    -------
    float or array
        Outdoor airflow Voz [L/s].

    Notes
    -----
    ``Voz = Vbz / Ez``.

    References
    ----------
    .. [1] ASHRAE 62.1, equation 6-2, from secondary pages.

    Examples
    --------
    >>> zone_outdoor_flow(breathing_zone_flow=34.0, effectiveness=0.8)
    42.5
    """
    return breathing_zone_flow / effectiveness


def outdoor_flow_to_zone(*, primary_flow, outdoor_air_fraction, inlet_flow=0.0):
    """Return the outdoor air that reaches the zone.

    Parameters
    ----------
    primary_flow : float or array
        Primary airflow [L/s].
    outdoor_air_fraction : float or array
        Share of outdoor air in the primary air, 0 to 1.
    inlet_flow : float or array, optional
        What the dedicated outdoor-air inlet brings [L/s].

    Returns
    -------
    float or array
        Outdoor airflow [L/s].

    Notes
    -----
    ``V = x Vpz + Vinlet``, the balance of outdoor air.

    Examples
    --------
    >>> outdoor_flow_to_zone(primary_flow=90.0, outdoor_air_fraction=0.25, inlet_flow=20.0)
    42.5
    """
    return primary_flow * outdoor_air_fraction + inlet_flow


def averaging_seconds(*, zone_volume, breathing_zone_flow):
    """Return the time over which the zone's outdoor air may be averaged.

    Parameters
    ----------
    zone_volume : float or array
        Volume of the zone [m3].
    breathing_zone_flow : float or array
        Outdoor air that the breathing zone needs [L/s].

    Returns
    -------
    float or array
        Time [s]; NaN where no outdoor air is needed.

    Notes
    -----
    ``T = 3 v / Vbz``: minutes from ft3 and cfm, 50 v / Vbz minutes from m3 and L/s.

    References
    ----------
    .. [1] ASHRAE 62.1, short-term conditions (6.2.6.2 in 2016): the IP form from a secondary page, the SI form from
       memory.

    Examples
    --------
    >>> round(float(averaging_seconds(zone_volume=216.0, breathing_zone_flow=34.0)) / 60)
    318
    """
    return 3000.0 * zone_volume / np.where(breathing_zone_flow > 0, breathing_zone_flow, np.nan)
