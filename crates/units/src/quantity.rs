//! The quantity newtypes.

use crate::{Quantity, Unit, UnitSystem};

macro_rules! quantity {
    ($(#[$doc:meta])* $name:ident, $label:literal, base $base:ident,
     [$( $(#[$udoc:meta])* $ctor:ident / $get:ident : $factor:expr, $offset:expr, [$($sym:literal),+] );+ $(;)?],
     si $si:literal, us $us:literal) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, PartialOrd, Default, serde::Serialize, serde::Deserialize)]
        #[serde(transparent)]
        pub struct $name(f64);

        impl $name {
            $(
                $(#[$udoc])*
                #[doc = concat!("From a number in ", stringify!($get), ".")]
                #[must_use]
                #[allow(clippy::cast_lossless)]
                pub const fn $ctor(value: f64) -> Self { Self(value * $factor + $offset) }
                #[doc = concat!("The number in ", stringify!($get), ".")]
                #[must_use]
                pub const fn $get(self) -> f64 { (self.0 - $offset) / $factor }
            )+
        }

        impl Quantity for $name {
            const NAME: &'static str = $label;
            fn from_base(value: f64) -> Self { Self(value) }
            fn base(self) -> f64 { self.0 }
            fn unit_table() -> &'static [Unit] {
                const TABLE: &[Unit] = &[$(Unit { symbols: &[$($sym),+], factor: $factor, offset: $offset }),+];
                TABLE
            }
            fn display_unit(system: UnitSystem) -> &'static Unit {
                let wanted = match system { UnitSystem::Si => $si, UnitSystem::Us => $us };
                let table = Self::unit_table();
                table.iter().find(|u| u.symbols[0] == wanted).unwrap_or(&table[0])
            }
        }
    };
}

quantity!(
    /// A temperature on a scale (not a difference). Base unit: degC.
    Temperature, "temperature", base celsius,
    [from_celsius / celsius: 1.0, 0.0, ["degC", "°C", "C", "degrees C"];
     from_fahrenheit / fahrenheit: 5.0 / 9.0, -160.0 / 9.0, ["degF", "°F", "F", "degrees F"];
     from_kelvin / kelvin: 1.0, -273.15, ["K"]],
    si "degC", us "degF");
quantity!(
    /// A difference of two temperatures. Base unit: K.
    TemperatureDifference, "temperature difference", base kelvin,
    [from_kelvin / kelvin: 1.0, 0.0, ["K", "degC", "°C", "C", "C degrees"];
     from_fahrenheit_degrees / fahrenheit_degrees: 5.0 / 9.0, 0.0, ["degF", "°F", "F", "F degrees"]],
    si "K", us "degF");
quantity!(
    /// Relative humidity: vapour pressure over saturation pressure at the dry bulb. Base unit: fraction.
    RelativeHumidity, "relative humidity", base fraction,
    [from_fraction / fraction: 1.0, 0.0, ["fraction", "-"]; from_percent / percent: 0.01, 0.0, ["%", "% RH", "percent", "pct"]],
    si "%", us "%");
quantity!(
    /// Water activity of a food. Base unit: fraction.
    WaterActivity, "water activity", base fraction,
    [from_fraction / fraction: 1.0, 0.0, ["aw", "a_w", "fraction", "-"]],
    si "aw", us "aw");
quantity!(
    /// Humidity ratio: kg water vapour per kg dry air. Base unit: kg/kg.
    HumidityRatio, "humidity ratio", base kg_per_kg,
    [from_kg_per_kg / kg_per_kg: 1.0, 0.0, ["kg/kg"]; from_g_per_kg / g_per_kg: 0.001, 0.0, ["g/kg"];
     from_grains_per_lb / grains_per_lb: 1.0 / 7000.0, 0.0, ["gr/lb"]],
    si "g/kg", us "gr/lb");
quantity!(
    /// A length. Base unit: m.
    Length, "length", base metres,
    [from_metres / metres: 1.0, 0.0, ["m"]; from_millimetres / millimetres: 0.001, 0.0, ["mm"];
     from_centimetres / centimetres: 0.01, 0.0, ["cm"];
     from_inches / inches: 0.0254, 0.0, ["in", "inch", "inches", "\""]; from_feet / feet: 0.3048, 0.0, ["ft", "feet", "foot"]],
    si "mm", us "in");
quantity!(
    /// Height above sea level. Base unit: m.
    Altitude, "altitude", base metres,
    [from_metres / metres: 1.0, 0.0, ["m"]; from_feet / feet: 0.3048, 0.0, ["ft", "feet"]],
    si "m", us "ft");
quantity!(
    /// An area. Base unit: m2.
    Area, "area", base square_metres,
    [from_square_metres / square_metres: 1.0, 0.0, ["m2", "m²"]; from_square_feet / square_feet: 0.092_903_04, 0.0, ["ft2", "ft²", "sq ft"]],
    si "m2", us "ft2");
quantity!(
    /// A volume. Base unit: m3.
    Volume, "volume", base cubic_metres,
    [from_cubic_metres / cubic_metres: 1.0, 0.0, ["m3", "m³"]; from_litres / litres: 0.001, 0.0, ["l", "L", "litre"];
     from_cubic_feet / cubic_feet: 0.028_316_846_592, 0.0, ["ft3", "cu ft"]],
    si "m3", us "ft3");
quantity!(
    /// A mass. Base unit: kg.
    Mass, "mass", base kilograms,
    [from_kilograms / kilograms: 1.0, 0.0, ["kg"]; from_grams / grams: 0.001, 0.0, ["g"];
     from_pounds / pounds: 0.453_592_37, 0.0, ["lb", "lbs", "pound", "pounds"]; from_ounces / ounces: 0.028_349_523_125, 0.0, ["oz"]],
    si "kg", us "lb");
quantity!(
    /// Mass per area (tray load). Base unit: kg/m2.
    MassPerArea, "mass per area", base kg_per_m2,
    [from_kg_per_m2 / kg_per_m2: 1.0, 0.0, ["kg/m2", "kg/m²"]; from_lb_per_ft2 / lb_per_ft2: 4.882_427_636_383_05, 0.0, ["lb/ft2", "lb/sq ft"]],
    si "kg/m2", us "lb/ft2");
quantity!(
    /// Density. Base unit: kg/m3.
    Density, "density", base kg_per_m3,
    [from_kg_per_m3 / kg_per_m3: 1.0, 0.0, ["kg/m3", "kg/m³"]; from_lb_per_ft3 / lb_per_ft3: 16.018_463_373_960_14, 0.0, ["lb/ft3"]],
    si "kg/m3", us "lb/ft3");
quantity!(
    /// Absolute pressure. Base unit: Pa.
    Pressure, "pressure", base pascals,
    [from_pascals / pascals: 1.0, 0.0, ["Pa"]; from_kilopascals / kilopascals: 1000.0, 0.0, ["kPa"];
     from_hectopascals / hectopascals: 100.0, 0.0, ["hPa", "mbar"]; from_psi / psi: 6_894.757_293_168, 0.0, ["psi", "psia"];
     from_inches_of_mercury / inches_of_mercury: 3_386.389, 0.0, ["inHg"]],
    si "kPa", us "psi");
quantity!(
    /// Air speed. Base unit: m/s.
    AirSpeed, "air speed", base m_per_s,
    [from_m_per_s / m_per_s: 1.0, 0.0, ["m/s"]; from_ft_per_min / ft_per_min: 0.005_08, 0.0, ["ft/min", "fpm"]],
    si "m/s", us "ft/min");
quantity!(
    /// Volume flow of air. Base unit: m3/s.
    AirFlow, "air flow", base m3_per_s,
    [from_m3_per_s / m3_per_s: 1.0, 0.0, ["m3/s"]; from_m3_per_h / m3_per_h: 1.0 / 3600.0, 0.0, ["m3/h"];
     from_ft3_per_min / ft3_per_min: 0.000_471_947_443_2, 0.0, ["ft3/min", "cfm"]],
    si "m3/h", us "ft3/min");
quantity!(
    /// Mass flow of dry air. Base unit: kg/s.
    DryAirFlow, "dry-air flow", base kg_per_s,
    [from_kg_per_s / kg_per_s: 1.0, 0.0, ["kg/s"]; from_kg_per_h / kg_per_h: 1.0 / 3600.0, 0.0, ["kg/h"];
     from_lb_per_h / lb_per_h: 0.453_592_37 / 3600.0, 0.0, ["lb/h"]],
    si "kg/h", us "lb/h");
quantity!(
    /// Power. Base unit: W.
    Power, "power", base watts,
    [from_watts / watts: 1.0, 0.0, ["W"]; from_kilowatts / kilowatts: 1000.0, 0.0, ["kW"]; from_btu_per_h / btu_per_h: 0.293_071_07, 0.0, ["BTU/h"]],
    si "kW", us "kW");
quantity!(
    /// Energy. Base unit: J.
    Energy, "energy", base joules,
    [from_joules / joules: 1.0, 0.0, ["J"]; from_kilojoules / kilojoules: 1000.0, 0.0, ["kJ"];
     from_megajoules / megajoules: 1e6, 0.0, ["MJ"]; from_kilowatt_hours / kilowatt_hours: 3.6e6, 0.0, ["kWh"]],
    si "kWh", us "kWh");
quantity!(
    /// Heat capacity of a body. Base unit: J/K.
    HeatCapacity, "heat capacity", base j_per_k,
    [from_j_per_k / j_per_k: 1.0, 0.0, ["J/K"]; from_kj_per_k / kj_per_k: 1000.0, 0.0, ["kJ/K"]],
    si "kJ/K", us "kJ/K");
quantity!(
    /// Conductance of heat (UA). Base unit: W/K.
    HeatConductance, "heat conductance", base w_per_k,
    [from_w_per_k / w_per_k: 1.0, 0.0, ["W/K"]],
    si "W/K", us "W/K");
quantity!(
    /// Heat transfer coefficient. Base unit: W/(m2 K).
    HeatTransfer, "heat transfer coefficient", base w_per_m2_k,
    [from_w_per_m2_k / w_per_m2_k: 1.0, 0.0, ["W/m2K", "W/(m2 K)", "W/m2 K"]],
    si "W/(m2 K)", us "W/(m2 K)");
quantity!(
    /// Specific heat. Base unit: J/(kg K).
    SpecificHeat, "specific heat", base j_per_kg_k,
    [from_j_per_kg_k / j_per_kg_k: 1.0, 0.0, ["J/kgK", "J/(kg K)", "J/kg K"]; from_kj_per_kg_k / kj_per_kg_k: 1000.0, 0.0, ["kJ/kgK", "kJ/(kg K)", "kJ/kg K"]],
    si "J/(kg K)", us "J/(kg K)");
quantity!(
    /// Thermal conductivity. Base unit: W/(m K).
    ThermalConductivity, "thermal conductivity", base w_per_m_k,
    [from_w_per_m_k / w_per_m_k: 1.0, 0.0, ["W/mK", "W/(m K)", "W/m K"]],
    si "W/(m K)", us "W/(m K)");
quantity!(
    /// Diffusivity. Base unit: m2/s.
    Diffusivity, "diffusivity", base m2_per_s,
    [from_m2_per_s / m2_per_s: 1.0, 0.0, ["m2/s", "m²/s"]],
    si "m2/s", us "m2/s");
quantity!(
    /// Molar energy (activation energy, isosteric heat). Base unit: J/mol.
    MolarEnergy, "molar energy", base j_per_mol,
    [from_j_per_mol / j_per_mol: 1.0, 0.0, ["J/mol"]; from_kj_per_mol / kj_per_mol: 1000.0, 0.0, ["kJ/mol"]],
    si "kJ/mol", us "kJ/mol");
quantity!(
    /// A share of a whole. Base unit: fraction.
    Fraction, "share", base fraction,
    [from_fraction / fraction: 1.0, 0.0, ["fraction", "-"]; from_percent / percent: 0.01, 0.0, ["%", "percent", "pct"]],
    si "%", us "%");
quantity!(
    /// Decimal reductions of a population (log10). Base unit: log10.
    LogReduction, "log reduction", base log10,
    [from_log10 / log10: 1.0, 0.0, ["log", "log10"]],
    si "log", us "log");
