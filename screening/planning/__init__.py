"""Calculations that a crew makes before and during an entry.

Quantities of the project's registry (`screening.units.ureg`) in and out, with Decimal
magnitudes; percentages and ppm are plain numbers. A bad argument is a ValueError that
names it. Nothing here decides anything, and importing it does not import pint.
"""

from screening.planning.air import air_time, planned_duration, turn_around_pressure
from screening.planning.gases import (
    corrected_lel,
    displaced_air,
    lel_at_temperature,
    lel_to_ppm,
    maximum_use_concentration,
    mg_m3_to_ppm,
    mixture_lel,
    ppm_to_mg_m3,
    saturated_vapour_percent,
    vapour_density,
)
from screening.planning.heat import (
    adjusted_temperature,
    heat_index,
    heat_index_category,
    monitoring_interval,
    next_work_period,
    reasons_not_to_enter,
    recommended_alert_limit,
    recommended_exposure_limit,
    wbgt,
    work_period_after_temperature,
)
from screening.planning.isolation import (
    initial_isolation,
    spill_size,
    tank_in_fire_isolation,
)
from screening.planning.radiation import (
    contamination_in_outer_perimeter,
    dose_rate_at,
    half_value_layers,
    halving_distance,
    radiation_zone,
    shield_thickness,
    stay_time,
    tenth_value_layer,
)
from screening.trends import time_to_limit

__all__ = [
    "adjusted_temperature",
    "air_time",
    "contamination_in_outer_perimeter",
    "corrected_lel",
    "displaced_air",
    "dose_rate_at",
    "half_value_layers",
    "halving_distance",
    "heat_index",
    "heat_index_category",
    "initial_isolation",
    "lel_at_temperature",
    "lel_to_ppm",
    "maximum_use_concentration",
    "mg_m3_to_ppm",
    "mixture_lel",
    "monitoring_interval",
    "next_work_period",
    "planned_duration",
    "ppm_to_mg_m3",
    "radiation_zone",
    "reasons_not_to_enter",
    "recommended_alert_limit",
    "recommended_exposure_limit",
    "saturated_vapour_percent",
    "shield_thickness",
    "spill_size",
    "stay_time",
    "tank_in_fire_isolation",
    "tenth_value_layer",
    "time_to_limit",
    "turn_around_pressure",
    "vapour_density",
    "wbgt",
    "work_period_after_temperature",
]
