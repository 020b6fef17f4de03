//! The forms, as they are fitted and as they are published.

use fallrate_foods::{FoodsError, Gab, Isotherm};
use fallrate_units::ZERO_CELSIUS_K;

use crate::Parameter;

/// Gas constant of the published temperature-dependent GAB sets, kJ/(mol K).
const R_KJ: f64 = 8.314e-3;
/// Halvings of the inverse of Peleg's form.
const HALVINGS: u32 = 60;

/// Forms of an isotherm. T0 is the mean temperature of the pairs, D = T - T0 in K, X in kg/kg dry basis.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum IsothermForm {
    /// GAB without temperature: Xm, C, K.
    Gab,
    /// GAB with `Xm = Xm0 exp(E/R (1/T - 1/T0))` and so C and K: Xm0, E_Xm, C0, E_C, K0, E_K.
    GabTemperature,
    /// `X = s (a/(1-a))^n`.
    Oswin,
    /// `X = (s + s' D) (a/(1-a))^(n + n' D)`.
    OswinLinear,
    /// `X = (s + s' D) (a/(1-a))^(1/p)`.
    ModifiedOswin,
    /// `X = s (-ln a)^(-1/p)`.
    Halsey,
    /// `X = s exp(g D) (-ln a)^(-1/p)`.
    ModifiedHalsey,
    /// `X = s (-ln(1-a))^(1/p)`.
    Henderson,
    /// `X = s (-ln(1-a) v/(v + D))^(1/p)`, v = T0 + c with the published c in K on the Celsius scale.
    ModifiedHenderson,
    /// `X = (f - ln(-ln a) - ln((v + D)/v))/p`, v as above: Chung and Pfost.
    ModifiedChungPfost,
    /// `X = k1 a^n1 + k2 a^n2`, n1 the smaller: no temperature, no published counterpart in product files.
    Peleg,
}

impl IsothermForm {
    /// All, in the order in which equal ranks are listed.
    pub const ALL: [Self; 11] = [
        Self::Gab,
        Self::GabTemperature,
        Self::Oswin,
        Self::OswinLinear,
        Self::ModifiedOswin,
        Self::Halsey,
        Self::ModifiedHalsey,
        Self::Henderson,
        Self::ModifiedHenderson,
        Self::ModifiedChungPfost,
        Self::Peleg,
    ];

    /// Whether it depends on temperature.
    #[must_use]
    pub const fn depends_on_temperature(self) -> bool {
        matches!(
            self,
            Self::GabTemperature
                | Self::OswinLinear
                | Self::ModifiedOswin
                | Self::ModifiedHalsey
                | Self::ModifiedHenderson
                | Self::ModifiedChungPfost
        )
    }

    /// Parameters of its shape at one temperature: as many different water activities are needed.
    pub(crate) const fn shape_parameters(self) -> usize {
        match self {
            Self::Gab | Self::GabTemperature => 3,
            Self::Peleg => 4,
            _ => 2,
        }
    }

    /// Parameters with bounds; `moisture` is that of the data near a water activity of 0.5, `coldest_k` how far the coldest
    /// pair lies below the reference temperature.
    pub(crate) fn parameters(self, moisture: f64, coldest_k: f64) -> Vec<Parameter> {
        let scale =
            |name: &str| Parameter::positive(name, "kg/kg", moisture, (1e-2 * moisture, 1e2 * moisture));
        let slope = |name: &str| {
            Parameter::bounded(name, "kg/(kg K)", -2e-3 * moisture, (-0.05 * moisture, 0.05 * moisture))
        };
        let number =
            |name: &str, start: f64, low: f64, high: f64| Parameter::positive(name, "-", start, (low, high));
        let energy =
            |name: &str, start: f64, most: f64| Parameter::bounded(name, "kJ/mol", start, (-most, most));
        let monolayer =
            Parameter::positive("Xm", "kg/kg", 0.6 * moisture, (5e-3 * moisture, 50.0 * moisture));
        let c = number("C", 10.0, 0.05, 1e4);
        let k = number("K", 0.9, 0.2, 1.3);
        let offset = Parameter::positive("T0 + c", "K", coldest_k + 80.0, (coldest_k + 1.0, 5000.0));
        match self {
            Self::Gab => vec![monolayer, c, k],
            Self::GabTemperature => vec![
                monolayer,
                energy("E_Xm", 1.0, 60.0),
                c,
                energy("E_C", 5.0, 150.0),
                k,
                energy("E_K", -0.5, 30.0),
            ],
            Self::Oswin => vec![scale("s"), number("n", 0.4, 0.02, 5.0)],
            Self::OswinLinear => vec![
                scale("s"),
                slope("s'"),
                number("n", 0.4, 0.02, 5.0),
                Parameter::bounded("n'", "1/K", 1e-3, (-0.05, 0.05)),
            ],
            Self::ModifiedOswin => vec![scale("s"), slope("s'"), number("p", 2.5, 0.2, 50.0)],
            Self::Halsey => vec![scale("s"), number("p", 1.6, 0.2, 50.0)],
            Self::ModifiedHalsey => vec![
                scale("s"),
                Parameter::bounded("g", "1/K", -5e-3, (-0.1, 0.1)),
                number("p", 1.6, 0.2, 50.0),
            ],
            Self::Henderson => vec![scale("s"), number("p", 1.5, 0.2, 50.0)],
            Self::ModifiedHenderson => {
                vec![scale("s"), number("p", 1.5, 0.2, 50.0), offset]
            }
            Self::ModifiedChungPfost => vec![
                Parameter::bounded("f", "-", 2.0, (-20.0, 30.0)),
                Parameter::positive("p", "1/(kg/kg)", 3.0 / moisture, (1e-2 / moisture, 1e3 / moisture)),
                offset,
            ],
            Self::Peleg => vec![
                scale("k1"),
                number("n1", 0.6, 0.01, 3.0),
                Parameter::positive("k2", "kg/kg", 2.0 * moisture, (1e-2 * moisture, 1e3 * moisture)),
                number("n2", 6.0, 0.5, 60.0),
            ],
        }
    }

    /// The published form at fitted values; none for Peleg's, or where the number of values is wrong.
    #[must_use]
    pub fn isotherm(self, p: &[f64], reference_c: f64) -> Option<Isotherm> {
        let t0 = reference_c;
        let inverse = 1.0 / (R_KJ * (t0 + ZERO_CELSIUS_K));
        // M in per cent where the published form has it so.
        let ln_percent = |s: f64| (100.0 * s).ln();
        Some(match (self, p) {
            (Self::Gab, &[monolayer_kg_per_kg, c, k]) => Isotherm::Gab(Gab { monolayer_kg_per_kg, c, k }),
            (Self::GabTemperature, &[xm, e_xm, c, e_c, k, e_k]) => {
                let at = |v: f64, e: f64| v * (-e * inverse).exp();
                Isotherm::GabT([at(xm, e_xm), e_xm, at(c, e_c), e_c, at(k, e_k), e_k])
            }
            (Self::Oswin, &[s, n]) => Isotherm::OswinLinear([s, 0.0, n, 0.0]),
            (Self::OswinLinear, &[s, ds, n, dn]) => Isotherm::OswinLinear([s - ds * t0, ds, n - dn * t0, dn]),
            (Self::ModifiedOswin, &[s, ds, power]) => {
                Isotherm::ModifiedOswin([100.0 * (s - ds * t0), 100.0 * ds, power])
            }
            (Self::Halsey, &[s, power]) => Isotherm::ModifiedHalsey([power * ln_percent(s), 0.0, power]),
            (Self::ModifiedHalsey, &[s, g, power]) => {
                Isotherm::ModifiedHalsey([power * (ln_percent(s) - g * t0), power * g, power])
            }
            // Without temperature: an offset so large that no temperature counts.
            (Self::Henderson, &[s, power]) => {
                const FAR: f64 = 1e9;
                Isotherm::ModifiedHenderson([(100.0 * s).powf(-power) / FAR, power, FAR])
            }
            (Self::ModifiedHenderson, &[s, power, v]) => {
                Isotherm::ModifiedHenderson([(100.0 * s).powf(-power) / v, power, v - t0])
            }
            (Self::ModifiedChungPfost, &[f, power, v]) => {
                Isotherm::ModifiedChungPfost([f.exp() * v, power / 100.0, v - t0])
            }
            _ => return None,
        })
    }

    /// Moisture (kg/kg dry basis) at a water activity and temperature; none where the form has no moisture there.
    #[must_use]
    pub fn moisture(self, p: &[f64], reference_c: f64, aw: f64, temperature_c: f64) -> Option<f64> {
        if let (Self::Peleg, &[k1, n1, k2, n2]) = (self, p) {
            return Some(k1 * aw.powf(n1) + k2 * aw.powf(n2));
        }
        let point = self.isotherm(p, reference_c)?.moisture(aw, temperature_c).ok()?;
        Some(point.moisture_dry_basis_kg_per_kg)
    }

    /// Water activity at a moisture and temperature; none where the form has none below 1.
    #[must_use]
    pub fn water_activity(
        self,
        p: &[f64],
        reference_c: f64,
        moisture: f64,
        temperature_c: f64,
    ) -> Option<f64> {
        if self != Self::Peleg {
            let found: Result<_, FoodsError> =
                self.isotherm(p, reference_c)?.activity(moisture, temperature_c);
            return found.ok().map(|a| a.aw).filter(|a| *a > 0.0 && *a < 1.0);
        }
        let above = |aw: f64| self.moisture(p, reference_c, aw, temperature_c).map(|x| x > moisture);
        let (mut low, mut high) = (0.0, 1.0);
        if !above(high)? {
            return None;
        }
        for _ in 0..HALVINGS {
            let middle = 0.5 * (low + high);
            if above(middle)? { high = middle } else { low = middle }
        }
        Some(0.5 * (low + high))
    }
}
