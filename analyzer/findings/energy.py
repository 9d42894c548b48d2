"""What a finding costs at the site's tariffs: an estimate, and told as one."""

from __future__ import annotations

from analyzer.findings.results import Measure
from analyzer.site.model import Tariff


def cost(kilowatt_hours: float, source: str, reheat: str, tariff: Tariff) -> Measure:
    """Return what energy costs, in the site's currency.

    Parameters
    ----------
    kilowatt_hours : float
        The energy [kWh].
    source : str
        What it is bought as: "electricity", "heat", or "reheat", either of them by the terminal's own reheat.
    reheat : str
        The terminal's reheat, as scheduled: "electric" is bought as electricity, anything else as heat.
    tariff : Tariff
        Prices per kWh.
    """
    electric = source == "electricity" or (source == "reheat" and reheat == "electric")
    return Measure(kilowatt_hours * (tariff.electricity if electric else tariff.heat), tariff.currency)
