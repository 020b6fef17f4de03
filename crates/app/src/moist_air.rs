//! Moist air at hand.

use fallrate_air::{
    HumidityTarget, State, pressure_from_altitude, relative_humidity_for_wet_bulb, water_to_add,
    wet_bulb_for_relative_humidity,
};
use fallrate_report::{FigureGroup, KeyFigure, PlanPage};
use fallrate_units::{Altitude, HumidityRatio, Pressure, RelativeHumidity, Temperature, Volume};

use crate::error::AppError;
use crate::words::{Reader, Units, fixed, say};

/// A question about moist air: two known quantities, where, and what is wanted.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct AirQuestion {
    /// Dry bulb.
    pub dry_bulb: Option<Temperature>,
    /// Wet bulb.
    pub wet_bulb: Option<Temperature>,
    /// Dew point.
    pub dew_point: Option<Temperature>,
    /// Relative humidity.
    pub relative_humidity: Option<RelativeHumidity>,
    /// Humidity ratio.
    pub humidity_ratio: Option<HumidityRatio>,
    /// Height above sea level.
    pub altitude: Option<Altitude>,
    /// Barometer, in place of the altitude.
    pub pressure: Option<Pressure>,
    /// Wet bulb wanted at this dry bulb.
    pub want_wet_bulb: Option<Temperature>,
    /// Relative humidity wanted at this dry bulb.
    pub want_relative_humidity: Option<RelativeHumidity>,
    /// Volume of air the water goes into.
    pub volume: Option<Volume>,
}

const TWO: &str = "exactly two of --dry-bulb, --wet-bulb, --dew-point, --rh, --humidity-ratio";

impl AirQuestion {
    fn pressure(&self) -> Result<Pressure, AppError> {
        match (self.pressure, self.altitude) {
            (Some(_), Some(_)) => Err(AppError::AirQuestion {
                given: "both pressure and altitude".to_owned(),
                allowed: "one of the two".to_owned(),
            }),
            (Some(p), None) => Ok(p),
            (None, altitude) => Ok(pressure_from_altitude(altitude.unwrap_or_default())?),
        }
    }

    fn state(&self, p: Pressure) -> Result<State, AppError> {
        let known = [
            self.dry_bulb.is_some(),
            self.wet_bulb.is_some(),
            self.dew_point.is_some(),
            self.relative_humidity.is_some(),
            self.humidity_ratio.is_some(),
        ];
        let count = known.iter().filter(|k| **k).count();
        if count != 2 {
            let given = format!("{count} known quantities");
            return Err(AppError::AirQuestion { given, allowed: TWO.to_owned() });
        }
        self.state_of_two(p)
    }

    fn state_of_two(&self, p: Pressure) -> Result<State, AppError> {
        Ok(
            match (self.dry_bulb, self.wet_bulb, self.dew_point, self.relative_humidity, self.humidity_ratio)
            {
                (Some(t), Some(wb), ..) => State::from_temperature_and_wet_bulb(t, wb, p),
                (Some(t), _, Some(dew), ..) => State::from_temperature_and_dew_point(t, dew, p),
                (Some(t), _, _, Some(rh), _) => State::from_temperature_and_relative_humidity(t, rh, p),
                (Some(t), _, _, _, Some(w)) => State::from_temperature_and_humidity_ratio(t, w, p),
                (_, Some(wb), Some(dew), ..) => State::from_wet_bulb_and_dew_point(wb, dew, p),
                (_, Some(wb), _, Some(rh), _) => State::from_wet_bulb_and_relative_humidity(wb, rh, p),
                (_, Some(wb), _, _, Some(w)) => State::from_wet_bulb_and_humidity_ratio(wb, w, p),
                (_, _, Some(dew), Some(rh), _) => State::from_dew_point_and_relative_humidity(dew, rh, p),
                (_, _, _, Some(rh), Some(w)) => State::from_humidity_ratio_and_relative_humidity(w, rh, p),
                // A dew point and a humidity ratio say the same: they fix no temperature.
                _ => return Err(same()),
            }?,
        )
    }
}

fn same() -> AppError {
    AppError::AirQuestion {
        given: "dew point and humidity ratio, which say the same".to_owned(),
        allowed: TWO.to_owned(),
    }
}

/// The answer as a page.
///
/// # Errors
/// [`AppError::Air`], [`AppError::AirQuestion`].
pub fn air_page(q: &AirQuestion, r: &Reader) -> Result<PlanPage, AppError> {
    if q.volume.is_some() && q.want_wet_bulb.is_none() && q.want_relative_humidity.is_none() {
        return Err(AppError::AirQuestion {
            given: "a volume without a target".to_owned(),
            allowed: "--want-wet-bulb or --want-rh beside --volume".to_owned(),
        });
    }
    let p = q.pressure()?;
    let state = q.state(p)?;
    let mut figures =
        vec![FigureGroup { title: r.text("title-air"), summary: None, figures: state_figures(&state, r) }];
    figures.extend(wanted(q, &state, r)?);
    Ok(PlanPage {
        language: r.words.language().tag().to_owned(),
        subject: say!(r, "air-subject", pressure = format!("{:.2} kPa", p.kilopascals())),
        headline: say!(
            r,
            "air-headline",
            dry = r.temperature(state.temperature().celsius()),
            rh = percent(state.relative_humidity()),
            wet = r.temperature(state.wet_bulb().celsius())
        ),
        figures,
        footer: vec![r.text("air-footer")],
        ..PlanPage::default()
    })
}

fn percent(rh: RelativeHumidity) -> String {
    format!("{} %", fixed(rh.percent(), 1))
}

fn state_figures(s: &State, r: &Reader) -> Vec<KeyFigure> {
    let figure = |key: &str, value: String, unit: &str| KeyFigure {
        label: r.text(key),
        value,
        unit: unit.to_owned(),
        note: None,
    };
    let t = |c: f64| fixed(r.temperature_number(c), 1);
    let unit = r.temperature_unit();
    let w = s.humidity_ratio();
    let (ratio, ratio_unit) = match r.units {
        Units::Si => (fixed(w.g_per_kg(), 2), "g/kg"),
        Units::Us => (fixed(w.grains_per_lb(), 1), "gr/lb"),
    };
    vec![
        figure("air-dry-bulb", t(s.temperature().celsius()), unit),
        figure("air-wet-bulb", t(s.wet_bulb().celsius()), unit),
        figure("air-dew-point", s.dew_point().map_or_else(|| r.text("air-none"), |d| t(d.celsius())), unit),
        figure("air-rh", fixed(s.relative_humidity().percent(), 1), "%"),
        figure("air-ratio", ratio, ratio_unit),
        figure("air-vapour-pressure", fixed(s.vapour_pressure().kilopascals(), 3), "kPa"),
        figure("air-enthalpy", fixed(s.enthalpy_j_per_kg_dry_air() / 1000.0, 1), "kJ/kg"),
        figure("air-volume", fixed(s.specific_volume_m3_per_kg_dry_air(), 3), "m³/kg"),
        figure("air-density", fixed(s.density().kg_per_m3(), 3), "kg/m³"),
    ]
}

/// The humidity a wanted wet bulb needs (or the wet bulb of a wanted humidity), and the water for it.
fn wanted(q: &AirQuestion, s: &State, r: &Reader) -> Result<Option<FigureGroup>, AppError> {
    let (target, label, value, unit) = match (q.want_wet_bulb, q.want_relative_humidity) {
        (None, None) => return Ok(None),
        (Some(_), Some(_)) => {
            return Err(AppError::AirQuestion {
                given: "both --want-wet-bulb and --want-rh".to_owned(),
                allowed: "one of the two".to_owned(),
            });
        }
        (Some(wb), None) => {
            let rh = relative_humidity_for_wet_bulb(s.temperature(), wb, s.pressure())?;
            let label = say!(r, "air-needs-rh", wet = r.temperature(wb.celsius()));
            (HumidityTarget::WetBulb(wb), label, fixed(rh.percent(), 1), "%")
        }
        (None, Some(rh)) => {
            let wb = wet_bulb_for_relative_humidity(s.temperature(), rh, s.pressure())?;
            let label = say!(r, "air-gives-wet-bulb", rh = percent(rh));
            let value = fixed(r.temperature_number(wb.celsius()), 1);
            (HumidityTarget::RelativeHumidity(rh), label, value, r.temperature_unit())
        }
    };
    let mut figures = vec![KeyFigure { label, value, unit: unit.to_owned(), note: None }];
    figures.extend(q.volume.map(|volume| water(s, target, volume, r)).transpose()?);
    Ok(Some(FigureGroup { title: r.text("title-air-wanted"), summary: None, figures }))
}

fn water(s: &State, target: HumidityTarget, volume: Volume, r: &Reader) -> Result<KeyFigure, AppError> {
    let kg = water_to_add(s, target, s.dry_air_mass_in(volume))?.kilograms();
    let key = if kg < 0.0 { "air-water-leaves" } else { "air-water" };
    Ok(KeyFigure {
        label: r.text(key),
        value: r.mass_short(kg.abs(), 3),
        unit: r.mass_unit().to_owned(),
        note: Some(say!(r, "air-water-note", volume = format!("{} m³", fixed(volume.cubic_metres(), 2)))),
    })
}
