"""Writes reference/drying/psychrometrics_hot_check.csv: wet bulbs of hot and humid air, also above boiling.

Independent values: psychrolib 2.5.0 (ideal gas, its own bisection) and CoolProp 8.0.0 HumidAir (real gas).
    pip install psychrolib==2.5.0 coolprop==8.0.0
    python psychrometrics_hot.py > ../drying/psychrometrics_hot_check.csv
Given: dry bulb, humidity ratio, pressure. The humidity ratios are those of saturated air at round wet bulbs, thinned by
fixed shares, so that no row was chosen by the program under test. Blank: the library gave no answer, or one that its own
inverse does not turn back into the humidity ratio (its bisection loses the root where a middle lies above boiling).
"""
import math
import psychrolib
from CoolProp.HumidAirProp import HAPropsSI

psychrolib.SetUnitSystem(psychrolib.SI)
SOURCE = "CoolProp 8.0.0 HumidAir; psychrolib 2.5.0"
print("altitude_m,pressure_Pa,dry_bulb_C,humidity_ratio_kg_per_kg_da,"
      "wet_bulb_psychrolib_C,wet_bulb_coolprop_C,source,basis")
for altitude in (0, 1500, 3000):
    p = round(psychrolib.GetStandardAtmPressure(altitude), 3)
    for dry_bulb in (75, 95, 110, 130, 150):
        for saturated_at in (60, 75, 85, 94):
            ps = psychrolib.GetSatVapPres(saturated_at)
            if ps > 0.95 * p or saturated_at > dry_bulb:
                continue
            for share in (0.5, 0.9):
                w = round(share * 0.621945 * ps / (p - ps), 8)
                try:
                    found = psychrolib.GetTWetBulbFromHumRatio(dry_bulb, w, p)
                    back = psychrolib.GetHumRatioFromTWetBulb(dry_bulb, found, p)
                    twb = f"{found:.5f}" if abs(back / w - 1.0) < 1e-3 else ""
                except Exception:
                    twb = ""
                try:
                    real = HAPropsSI("B", "T", dry_bulb + 273.15, "W", w, "P", p) - 273.15
                    real = f"{real:.5f}" if math.isfinite(real) else ""
                except Exception:
                    real = ""
                print(f"{altitude},{p},{dry_bulb},{w:.8f},{twb},{real},{SOURCE},COMPUTED")
