//! A product: everything known about one food in one form, with sources.

mod build;
mod check;
mod parse;
mod sources;

use crate::composition::Composition;
use crate::diffusivity::MoistureTerm;
use crate::isotherm::{Isotherm, IsothermRange};
use fallrate_datafile::{Cited, Mark};
use fallrate_units::{
    Density, Diffusivity, Fraction, Length, MassPerArea, MoistureWetBasis, MolarEnergy, Temperature,
    WaterActivity,
};

pub use build::{Preparation, Prepared};
pub use sources::{Caution, Cautions, Source, Sources};

/// A text in the two languages of the program.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct BilingualText {
    /// English.
    pub en: String,
    /// Spanish.
    pub es: String,
}

macro_rules! words {
    ($(#[$doc:meta])* $name:ident { $($(#[$vdoc:meta])* $variant:ident = $word:literal),+ $(,)? }) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
        pub enum $name { $($(#[$vdoc])* $variant),+ }
        impl $name {
            /// The words of product files, in order.
            pub const WORDS: &'static [&'static str] = &[$($word),+];
            pub(crate) const ALL: &'static [Self] = &[$(Self::$variant),+];
            /// The word of product files.
            #[must_use]
            pub const fn word(self) -> &'static str {
                match self { $(Self::$variant => $word),+ }
            }
        }
    };
}

words!(
    /// Group of products.
    Group {
        /// Sliced whole-muscle meat.
        WholeMuscleMeat = "whole-muscle meat",
        /// Chopped and formed meat.
        FormedMeat = "formed meat",
        /// Poultry.
        Poultry = "poultry",
        /// Fish.
        Fish = "fish",
        /// Fruit.
        Fruit = "fruit",
        /// Vegetable.
        Vegetable = "vegetable",
        /// Leaf or herb.
        Leaf = "leaf or herb",
        /// Purée dried as a sheet.
        Puree = "puree",
        /// Pet treat.
        PetTreat = "pet treat",
        /// Anything else.
        Other = "other",
    }
);
words!(
    /// Whether the product needs a step that kills pathogens.
    KillStep {
        /// It must have one.
        Required = "required",
        /// It is wise.
        Advised = "advised",
        /// None is usual.
        None = "none",
    }
);
words!(
    /// The species by which published time-temperature tables are entered.
    ProofSpecies {
        /// Beef.
        Beef = "beef",
        /// Turkey.
        Turkey = "turkey",
        /// Chicken.
        Chicken = "chicken",
        /// Pork.
        Pork = "pork",
        /// Deer and other game.
        Game = "game",
        /// Fish.
        Fish = "fish",
    }
);
words!(
    /// Shape of a piece.
    Shape {
        /// Flat piece: the size is its thickness.
        Slab = "slab",
        /// Round stick: the size is its diameter.
        Cylinder = "cylinder",
        /// Round piece: the size is its diameter.
        Sphere = "sphere",
    }
);
words!(
    /// Package in which the target holds.
    Pack {
        /// Air in the pack.
        Air = "air",
        /// Oxygen removed (vacuum, gas or scavenger).
        OxygenFree = "oxygen-free",
        /// Kept cold.
        Refrigerated = "refrigerated",
    }
);

/// Size and shape of a piece.
#[derive(Clone, Debug, PartialEq)]
pub struct Geometry {
    /// Shape.
    pub shape: Shape,
    /// Thickness (slab) or diameter, fresh.
    pub size: Cited<Length>,
    /// Standard deviation of the size over the pieces of a load, as a share of it.
    pub size_spread: Cited<Fraction>,
}

/// How the net isosteric heat is given.
#[derive(Clone, Debug, PartialEq)]
pub enum NetHeatData {
    /// None.
    None,
    /// `s0 exp(-X/X_s)`.
    Exponential {
        /// s0, J/kg water.
        at_zero_j_per_kg: Cited<f64>,
        /// X_s, kg/kg dry basis.
        decay_kg_per_kg: f64,
    },
    /// By Clausius-Clapeyron from the isotherm's own temperature dependence.
    FromIsotherm,
}

/// Sorption as the file states it.
#[derive(Clone, Debug, PartialEq)]
pub struct SorptionData {
    /// Form and parameters.
    pub isotherm: Isotherm,
    /// Range they were fitted in.
    pub range: IsothermRange,
    /// Temperature at which the drying model takes the isotherm.
    pub reference_temperature: Temperature,
    /// Uncertainty as a factor on the moisture at a water activity (1 within low and high); source and mark are those of
    /// the isotherm.
    pub moisture_factor: Cited<f64>,
    /// Water activity where the dilute tail begins.
    pub tail_from_aw: f64,
    /// Net isosteric heat.
    pub net_heat: NetHeatData,
}

/// Diffusivity as the file states it.
#[derive(Clone, Debug, PartialEq)]
pub struct DiffusivityData {
    /// At 60 degC and the term's reference moisture.
    pub at_60c: Cited<Diffusivity>,
    /// Activation energy.
    pub activation_energy: Cited<MolarEnergy>,
    /// Moisture term; `None` where the diffusivity holds for the fresh size ([`MoistureTerm::FreshSize`], whose numbers come
    /// from the prepared food).
    pub moisture_term: Option<MoistureTerm>,
    /// Citation of the moisture term's parameter (B or a); absent without a term.
    pub moisture_parameter: Option<Cited<f64>>,
}

/// Salt and sugar usually added, as shares of the raw mass.
#[derive(Clone, Debug, PartialEq)]
pub struct SolutesData {
    /// Salt.
    pub salt: Cited<Fraction>,
    /// Sugar.
    pub sugar: Cited<Fraction>,
    /// Water taken up with them (negative: lost).
    pub water: Cited<Fraction>,
}

/// Volume and shrinkage as the file states them.
#[derive(Clone, Debug, PartialEq)]
pub struct VolumeData {
    /// Dry solids with the air the fresh tissue holds.
    pub solids_density: Cited<Density>,
    /// b: share of the lost water's volume by which the piece shrinks.
    pub shrinkage_share: Cited<Fraction>,
    /// s: 0 thickness only to 2/3 all directions alike.
    pub lateral_exponent: Cited<f64>,
}

/// When a light piece leaves the tray: `Cf rho u^2/2 > g (mass per area)`.
#[derive(Clone, Debug, PartialEq)]
pub struct LiftOff {
    /// Force coefficient Cf on the piece's area.
    pub force_coefficient: Cited<f64>,
    /// Mass of a fresh piece per its own area.
    pub fresh_mass_per_area: Cited<MassPerArea>,
}

/// Usual conditions.
#[derive(Clone, Debug, PartialEq)]
pub struct Recommended {
    /// Air temperature: usual, low, high.
    pub air_temperature: Cited<Temperature>,
    /// The product is not to be warmer than this while it has moisture to lose (quality, not safety).
    pub product_temperature_max: Cited<Temperature>,
    /// Wet bulb to keep in the first stage, where there is advice.
    pub first_stage_wet_bulb: Option<Cited<Temperature>>,
    /// Fan.
    pub fan: BilingualText,
}

/// What dry means.
#[derive(Clone, Debug, PartialEq)]
pub struct Target {
    /// Usual final moisture.
    pub moisture: Cited<MoistureWetBasis>,
    /// Highest water activity, where there is a limit.
    pub aw_max: Option<Cited<WaterActivity>>,
    /// Pack in which it holds.
    pub pack: Pack,
}

/// Temperatures between which pathogens grow on the wet product, and the water activity below which they do not.
#[derive(Clone, Debug, PartialEq)]
pub struct GrowthRange {
    /// Lowest temperature.
    pub temperature_low: Temperature,
    /// Highest temperature.
    pub temperature_high: Temperature,
    /// No growth below this water activity.
    pub aw_limit: Cited<WaterActivity>,
}

/// Raw composition with its citation.
#[derive(Clone, Debug, PartialEq)]
pub struct CompositionData {
    /// Normalised to 1.
    pub composition: Composition,
    /// Sum of the components as printed, %.
    pub printed_sum_percent: f64,
    /// Source key.
    pub source: String,
    /// Mark.
    pub mark: Mark,
    /// Note.
    pub note: Option<String>,
}

/// One product.
#[derive(Clone, Debug, PartialEq)]
pub struct Product {
    /// Key: the name of its file without the ending.
    pub key: String,
    /// Name.
    pub name: BilingualText,
    /// Group.
    pub group: Group,
    /// Raw meat, poultry or fish.
    pub raw_meat: bool,
    /// Food for animals.
    pub pet_food: bool,
    /// Sticks to bare trays.
    pub sticky: bool,
    /// Kill step.
    pub kill_step: KillStep,
    /// Species for proof.
    pub proof_species: Option<ProofSpecies>,
    /// Size and shape.
    pub geometry: Geometry,
    /// Moisture when raw.
    pub initial_moisture: Cited<MoistureWetBasis>,
    /// Standard deviation of the raw moisture between lots, in points of wet basis.
    pub initial_moisture_spread: Cited<MoistureWetBasis>,
    /// Composition when raw.
    pub composition: CompositionData,
    /// Volume.
    pub volume: VolumeData,
    /// Sorption.
    pub sorption: SorptionData,
    /// Salt and sugar.
    pub solutes: SolutesData,
    /// Diffusivity.
    pub diffusivity: DiffusivityData,
    /// Load of raw product per tray area.
    pub tray_load: Cited<MassPerArea>,
    /// Lift-off, for light pieces.
    pub lift_off: Option<LiftOff>,
    /// Usual conditions.
    pub recommended: Recommended,
    /// What dry means.
    pub target: Target,
    /// Growth range, for food that carries pathogens.
    pub growth: Option<GrowthRange>,
    /// Keys of the cautions that fit.
    pub cautions: Vec<String>,
}
