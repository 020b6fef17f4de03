//! Single numbers and their units.

use crate::trial::{Apparatus, Trial, TrialAir, TrialFault};

/// A number with the range it must lie in, and where it would make sense in another unit.
struct Number {
    what: &'static str,
    value: f64,
    unit: &'static str,
    range: (f64, f64),
    /// From, to, unit it seems to be in.
    seems: &'static [(f64, f64, &'static str)],
}

/// Air and product of a food dryer: 100 degC and more is taken for Fahrenheit, 273 and more for kelvin.
const TEMPERATURES: &[(f64, f64, &str)] = &[(100.0, 260.0, "degF"), (273.0, 400.0, "K")];
const PERCENT: &[(f64, f64, &str)] = &[(1.0, 100.0, "per cent")];

pub(super) fn check(trial: &Trial) -> Result<(), TrialFault> {
    let number = |what, value, unit, range, seems| Number { what, value, unit, range, seems };
    let mut list = vec![
        number("size of the pieces", trial.size_m, "m", (1e-4, 0.2), &[(0.2, 200.0, "mm")]),
        number("error of the size", trial.size_error, "share", (1e-4, 0.5), PERCENT),
        number(
            "raw moisture",
            trial.preparation.raw_moisture_wet_basis,
            "kg/kg wet basis",
            (0.02, 0.985),
            PERCENT,
        ),
        number(
            "error of the raw moisture",
            trial.moisture_error_wet_basis,
            "kg/kg wet basis",
            (1e-5, 0.2),
            PERCENT,
        ),
        number(
            "product when loaded",
            trial.temperature_initial_c,
            "degC",
            (-5.0, 60.0),
            &[(60.0, 140.0, "degF"), (268.0, 340.0, "K")],
        ),
        number(
            "pressure",
            trial.pressure_pa,
            "Pa",
            (4e4, 1.2e5),
            &[(40.0, 120.0, "kPa"), (400.0, 1200.0, "hPa")],
        ),
        number("error of a weighing", trial.scale_error_kg, "kg", (1e-7, 1.0), &[(1.0, 1e3, "g")]),
        number("error of a core reading", trial.core_error_k, "K", (0.01, 20.0), &[]),
    ];
    match &trial.air {
        TrialAir::Held { temperature_c, relative_humidity } => {
            list.push(number("air temperature", *temperature_c, "degC", (0.0, 100.0), TEMPERATURES));
            list.push(number("relative humidity", *relative_humidity, "fraction", (1e-4, 0.9999), PERCENT));
        }
        TrialAir::Recorded(readings) => {
            for r in readings {
                list.push(number("air temperature", r.temperature_c, "degC", (-10.0, 100.0), TEMPERATURES));
                list.push(number("relative humidity", r.relative_humidity, "fraction", (1e-4, 1.0), PERCENT));
            }
        }
        TrialAir::Computed => {}
    }
    if let Apparatus::Tunnel { heat_transfer_w_per_m2_k, lewis_factor, .. } = trial.apparatus {
        list.push(number(
            "heat transfer coefficient",
            heat_transfer_w_per_m2_k,
            "W/(m2 K)",
            (0.05, 1e3),
            &[],
        ));
        list.push(number("Lewis factor", lewis_factor, "-", (0.3, 3.0), &[]));
    }
    for r in trial.cores.iter().flat_map(|c| &c.readings) {
        list.push(number("core temperature", r.temperature_c, "degC", (-10.0, 100.0), TEMPERATURES));
    }
    list.iter().try_for_each(|n| n.check(&trial.name))
}

impl Number {
    fn check(&self, trial: &str) -> Result<(), TrialFault> {
        let (low, high) = self.range;
        if self.value >= low && self.value <= high {
            return Ok(());
        }
        let (what, value, unit, trial) = (self.what, self.value, self.unit, trial.to_owned());
        let other = self.seems.iter().find(|(from, to, _)| value > *from && value <= *to);
        Err(match other {
            Some(&(_, _, seems)) => TrialFault::WrongUnit { what, value, unit, seems, trial },
            None => TrialFault::OutOfRange { what, value, unit, low, high, trial },
        })
    }
}
