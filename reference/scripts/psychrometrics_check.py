"""Works psychrometrics_check.csv out again and prints the greatest difference of each column from the file.

    pip install psychrolib==2.5.0 coolprop==8.0.0
    python psychrometrics_check.py
"""
import csv
import pathlib
import psychrolib
from CoolProp.HumidAirProp import HAPropsSI

psychrolib.SetUnitSystem(psychrolib.SI)
path = pathlib.Path(__file__).parent.parent / "drying" / "psychrometrics_check.csv"
worst = {}
for row in csv.DictReader(path.open()):
    t, rh, p = float(row["dry_bulb_C"]), float(row["rh_pct"]) / 100, float(row["pressure_Pa"])
    w = psychrolib.GetHumRatioFromRelHum(t, rh, p)
    found = {
        "humidity_ratio_psychrolib_kg_per_kg_da": w,
        "wet_bulb_thermodynamic_psychrolib_C": psychrolib.GetTWetBulbFromRelHum(t, rh, p),
        "dew_point_psychrolib_C": psychrolib.GetTDewPointFromRelHum(t, rh),
        "enthalpy_psychrolib_J_per_kg_da": psychrolib.GetMoistAirEnthalpy(t, w),
        "specific_volume_psychrolib_m3_per_kg_da": psychrolib.GetMoistAirVolume(t, w, p),
        "sat_vapour_pressure_pure_water_psychrolib_Pa": psychrolib.GetSatVapPres(t),
    }
    real = (("humidity_ratio_coolprop_kg_per_kg_da", "W", 0.0), ("wet_bulb_thermodynamic_coolprop_C", "B", 273.15),
            ("dew_point_coolprop_C", "D", 273.15), ("enthalpy_coolprop_J_per_kg_da", "H", 0.0),
            ("specific_volume_coolprop_m3_per_kg_da", "V", 0.0))
    for name, key, offset in real:
        try:
            found[name] = HAPropsSI(key, "T", t + 273.15, "R", rh, "P", p) - offset
        except Exception as error:
            print("no answer:", row["altitude_m"], t, rh, key, str(error)[:60])
    for name, value in found.items():
        if row[name] == "":
            continue
        worst[name] = max(worst.get(name, 0.0), abs(value - float(row[name])))
for name, value in sorted(worst.items()):
    print(f"{name}: {value:.2e}")
