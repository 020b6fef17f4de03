//! What is measured in a product trial.

use fallrate_foods::{Preparation, Product};
use fallrate_simulate::{Batch, StageInput};

/// One weighing of a tray with its load.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Weighing {
    /// s from the start, 0 or more.
    pub elapsed_s: f64,
    /// Tray, liner and product, kg.
    pub gross_kg: f64,
}

/// The weighings of one tray. The first of them is best the fresh load at 0 s.
#[derive(Clone, Debug, PartialEq)]
pub struct TrayRecord {
    /// Name or number.
    pub name: String,
    /// Tray group of the cabinet, from 0; 0 in a tunnel.
    pub group: usize,
    /// First and last position along the air that the weighed pieces take, from 0; none: the whole tray.
    pub positions: Option<(usize, usize)>,
    /// Empty tray with its liner, kg.
    pub tare_kg: f64,
    /// In the order of time.
    pub weighings: Vec<Weighing>,
}

/// One reading of a core probe.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CoreReading {
    /// s from the start, 0 or more.
    pub elapsed_s: f64,
    /// degC
    pub temperature_c: f64,
}

/// The readings of one core probe.
#[derive(Clone, Debug, PartialEq)]
pub struct CoreRecord {
    /// Name or number.
    pub name: String,
    /// Tray group, from 0.
    pub group: usize,
    /// Position along the air, from 0; none: the mean of the tray.
    pub position: Option<usize>,
    /// In the order of time.
    pub readings: Vec<CoreReading>,
}

/// One reading of the air that enters the trays.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AirReading {
    /// s from the start.
    pub elapsed_s: f64,
    /// degC
    pub temperature_c: f64,
    /// Fraction.
    pub relative_humidity: f64,
}

/// Where the air of a trial comes from.
#[derive(Clone, Debug, PartialEq)]
pub enum TrialAir {
    /// Held, as in a laboratory tunnel.
    Held {
        /// degC
        temperature_c: f64,
        /// Fraction.
        relative_humidity: f64,
    },
    /// As recorded at the entrance of the trays: then heater, vent and leakage of the cabinet do not count.
    Recorded(Vec<AirReading>),
    /// Computed by the cabinet model from its stages.
    Computed,
}

/// Where the pieces lay.
#[derive(Clone, Debug)]
pub enum Apparatus {
    /// One thin layer in air that it does not change.
    Tunnel {
        /// Heat transfer coefficient at each open face, W/(m2 K), as far as it is known.
        heat_transfer_w_per_m2_k: f64,
        /// h_m = h/(rho c_p x this).
        lewis_factor: f64,
        /// Both faces open, or the upper one only.
        both_faces: bool,
    },
    /// A cabinet. Its load is taken as described here, its material from the product and the trial.
    Cabinet {
        /// Load, exchange, chamber and room; the material is replaced.
        batch: Box<Batch>,
        /// Stages: what the air is computed from, and when the fan ran where the air is recorded (the first one's fan).
        stages: Vec<StageInput>,
    },
}

/// A product trial.
#[derive(Clone, Debug)]
pub struct Trial {
    /// Name.
    pub name: String,
    /// Where.
    pub apparatus: Apparatus,
    /// Air.
    pub air: TrialAir,
    /// Pa
    pub pressure_pa: f64,
    /// What was done to the raw food. Its raw moisture is the stated one.
    pub preparation: Preparation,
    /// Standard deviation of the stated raw moisture, kg/kg wet basis, above 0: of a drying oven about 0.005, of a table of
    /// foods the spread between lots.
    pub moisture_error_wet_basis: f64,
    /// Thickness of a slab, diameter of a round piece, fresh, mean of the pieces weighed, m.
    pub size_m: f64,
    /// Standard deviation of that mean as a share of it, above 0.
    pub size_error: f64,
    /// Product when loaded, degC.
    pub temperature_initial_c: f64,
    /// Trays.
    pub trays: Vec<TrayRecord>,
    /// Standard deviation of one weighing, above 0, kg: scale, drips, handling.
    pub scale_error_kg: f64,
    /// Core probes, if any.
    pub cores: Vec<CoreRecord>,
    /// Standard deviation of a core reading with the place of its tip, K, above 0.
    pub core_error_k: f64,
}

impl Trial {
    /// A trial of a product as usually prepared and of its usual size in a tunnel, without any weighing.
    #[must_use]
    pub fn in_tunnel(
        name: &str,
        product: &Product,
        (temperature_c, relative_humidity): (f64, f64),
        heat_transfer_w_per_m2_k: f64,
    ) -> Self {
        Self {
            name: name.to_owned(),
            apparatus: Apparatus::Tunnel {
                heat_transfer_w_per_m2_k,
                lewis_factor: LEWIS_FACTOR,
                both_faces: true,
            },
            air: TrialAir::Held { temperature_c, relative_humidity },
            pressure_pa: fallrate_units::STANDARD_PRESSURE_PA,
            preparation: product.usual_preparation(),
            moisture_error_wet_basis: product.initial_moisture_spread.value.kg_per_kg(),
            size_m: product.geometry.size.value.metres(),
            size_error: 0.03,
            temperature_initial_c: 20.0,
            trays: Vec::new(),
            scale_error_kg: 0.002,
            cores: Vec::new(),
            core_error_k: 1.0,
        }
    }

    /// Weighings of all trays.
    #[must_use]
    pub fn weighings(&self) -> usize {
        self.trays.iter().map(|t| t.weighings.len()).sum()
    }
}

/// Le^(2/3) of water vapour in air with Le = 0.87 (common value of drying texts, from memory).
const LEWIS_FACTOR: f64 = 0.9113;
