//! Composition by mass and the Choi-Okos component properties.

use crate::error::{FoodsError, between};

/// A quadratic in temperature, `c0 + c1 t + c2 t^2`, t in degC.
type Quadratic = [f64; 3];

fn quadratic(c: &Quadratic, t: f64) -> f64 {
    c[0] + t * (c[1] + t * c[2])
}

/// One component of a food with its Choi-Okos polynomials.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Component {
    /// Liquid water.
    Water,
    /// Protein.
    Protein,
    /// Fat.
    Fat,
    /// Carbohydrate without fibre.
    Carbohydrate,
    /// Fibre.
    Fibre,
    /// Ash.
    Ash,
}

/// All components, in the order of the arrays of [`Composition`].
pub const COMPONENTS: [Component; 6] = [
    Component::Water,
    Component::Protein,
    Component::Fat,
    Component::Carbohydrate,
    Component::Fibre,
    Component::Ash,
];

const DENSITY: [Quadratic; 6] = [
    [9.9718e2, 3.1439e-3, -3.7574e-3],
    [1.3299e3, -5.1840e-1, 0.0],
    [9.2559e2, -4.1757e-1, 0.0],
    [1.5991e3, -3.1046e-1, 0.0],
    [1.3115e3, -3.6589e-1, 0.0],
    [2.4238e3, -2.8063e-1, 0.0],
];
const CONDUCTIVITY: [Quadratic; 6] = [
    [5.7109e-1, 1.7625e-3, -6.7036e-6],
    [1.7881e-1, 1.1958e-3, -2.7178e-6],
    [1.8071e-1, -2.7604e-4, -1.7749e-7],
    [2.0141e-1, 1.3874e-3, -4.3312e-6],
    [1.8331e-1, 1.2497e-3, -3.1683e-6],
    [3.2962e-1, 1.4011e-3, -2.9069e-6],
];
const SPECIFIC_HEAT: [Quadratic; 6] = [
    [4.1762e3, -9.0864e-2, 5.4731e-3],
    [2.0082e3, 1.2089, -1.3129e-3],
    [1.9842e3, 1.4733, -4.8008e-3],
    [1.5488e3, 1.9625, -5.9399e-3],
    [1.8459e3, 1.8306, -4.6509e-3],
    [1.0926e3, 1.8896, -3.6817e-3],
];

impl Component {
    const fn index(self) -> usize {
        self as usize
    }
    /// Density in kg/m3 at a temperature in degC (-40 to 150; water 0 to 150).
    ///
    /// Source: Choi & Okos (1986) as tabulated in ASHRAE Handbook - Refrigeration, Thermal Properties of Foods,
    /// Tables 1-2, READ second hand. Known misprint avoided: water's specific heat begins with 4.1762, not 4.1289
    /// (4.1762 is within 0.2 % of IAPWS water at 20 to 80 degC); fat's linear conductivity term is -2.7604e-4.
    #[must_use]
    pub fn density_kg_per_m3(self, temperature_c: f64) -> f64 {
        quadratic(&DENSITY[self.index()], temperature_c)
    }
    /// Thermal conductivity in W/(m K). Range and source as for the density.
    #[must_use]
    pub fn conductivity_w_per_m_k(self, temperature_c: f64) -> f64 {
        quadratic(&CONDUCTIVITY[self.index()], temperature_c)
    }
    /// Specific heat in J/(kg K). Range and source as for the density.
    #[must_use]
    pub fn specific_heat_j_per_kg_k(self, temperature_c: f64) -> f64 {
        quadratic(&SPECIFIC_HEAT[self.index()], temperature_c)
    }
}

/// Mass shares of a food, summing to 1.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Composition {
    shares: [f64; 6],
}

impl Composition {
    /// Normalises shares (or per cents) to a sum of 1. Order: water, protein, fat, carbohydrate without fibre, fibre, ash.
    ///
    /// # Errors
    /// [`FoodsError::OutOfRange`] where a share is negative or all are 0.
    pub fn from_shares(shares: [f64; 6]) -> Result<Self, FoodsError> {
        for share in shares {
            between("mass share", share, "kg/kg", (-1e-12, f64::MAX), "0 or more")?;
        }
        let sum: f64 = shares.iter().sum();
        between("sum of the mass shares", sum, "kg/kg", (0.0, f64::MAX), "above 0")?;
        Ok(Self { shares: shares.map(|s| s / sum) })
    }
    /// Mass share of a component.
    #[must_use]
    pub fn share(&self, component: Component) -> f64 {
        self.shares[component.index()]
    }
    /// Moisture, kg water per kg dry solids (infinite for pure water).
    #[must_use]
    pub fn moisture_dry_basis_kg_per_kg(&self) -> f64 {
        self.shares[0] / (1.0 - self.shares[0])
    }
    /// The same solids at another dry-basis moisture.
    #[must_use]
    pub fn at_moisture(&self, moisture_dry_basis: f64) -> Self {
        let solids = 1.0 - self.shares[0];
        let scale = 1.0 / (solids * (1.0 + moisture_dry_basis));
        let mut shares = self.shares.map(|s| s * scale);
        shares[0] = moisture_dry_basis / (1.0 + moisture_dry_basis);
        Self { shares }
    }
    /// The food with `salt` and `sugar` added (kg per kg of this food) and `water` taken up or lost; salt counts as ash.
    ///
    /// # Errors
    /// [`FoodsError::OutOfRange`] where more water is lost than there is.
    pub fn with_added(&self, salt: f64, sugar: f64, water: f64) -> Result<Self, FoodsError> {
        let mut shares = self.shares;
        shares[0] += water;
        shares[3] += sugar;
        shares[5] += salt;
        Self::from_shares(shares)
    }
    fn sum(&self, f: impl Fn(Component) -> f64) -> f64 {
        COMPONENTS.iter().map(|&c| self.share(c) * f(c)).sum()
    }
    /// Density in kg/m3 without pores: `1 / sum(x_i / rho_i)`. A dried food with air in it is lighter.
    #[must_use]
    pub fn density_kg_per_m3(&self, temperature_c: f64) -> f64 {
        1.0 / self.sum(|c| 1.0 / c.density_kg_per_m3(temperature_c))
    }
    /// Specific heat in J/(kg K): `sum(x_i c_i)`.
    #[must_use]
    pub fn specific_heat_j_per_kg_k(&self, temperature_c: f64) -> f64 {
        self.sum(|c| c.specific_heat_j_per_kg_k(temperature_c))
    }
    fn volume_share(&self, c: Component, temperature_c: f64) -> f64 {
        self.share(c) / c.density_kg_per_m3(temperature_c) * self.density_kg_per_m3(temperature_c)
    }
    /// Conductivity in W/(m K) with the components side by side: `sum(phi_i k_i)`, phi the volume shares.
    #[must_use]
    pub fn conductivity_parallel_w_per_m_k(&self, temperature_c: f64) -> f64 {
        COMPONENTS
            .iter()
            .map(|&c| self.volume_share(c, temperature_c) * c.conductivity_w_per_m_k(temperature_c))
            .sum()
    }
    /// Conductivity in W/(m K) with the components one behind the other: `1 / sum(phi_i / k_i)`.
    #[must_use]
    pub fn conductivity_series_w_per_m_k(&self, temperature_c: f64) -> f64 {
        let resistance: f64 = COMPONENTS
            .iter()
            .map(|&c| self.volume_share(c, temperature_c) / c.conductivity_w_per_m_k(temperature_c))
            .sum();
        1.0 / resistance
    }
    /// Thermal diffusivity in m2/s with the parallel conductivity: `k / (rho c)`.
    ///
    /// ```
    /// use fallrate_foods::Composition;
    /// // Beef round at 20 degC.
    /// let beef = Composition::from_shares([73.09, 23.27, 3.44, 0.0, 0.0, 1.09]).unwrap();
    /// assert!((beef.density_kg_per_m3(20.0) - 1059.34).abs() < 0.01);
    /// assert!((beef.thermal_diffusivity_m2_per_s(20.0) - 1.3497e-7).abs() < 1e-11);
    /// ```
    #[must_use]
    pub fn thermal_diffusivity_m2_per_s(&self, temperature_c: f64) -> f64 {
        self.conductivity_parallel_w_per_m_k(temperature_c)
            / (self.density_kg_per_m3(temperature_c) * self.specific_heat_j_per_kg_k(temperature_c))
    }
    /// True density of the dry solids, kg/m3.
    #[must_use]
    pub fn solids_density_kg_per_m3(&self, temperature_c: f64) -> f64 {
        self.at_moisture(0.0).density_kg_per_m3(temperature_c)
    }
    /// Specific heat of the dry solids, J/(kg K).
    #[must_use]
    pub fn solids_specific_heat_j_per_kg_k(&self, temperature_c: f64) -> f64 {
        self.at_moisture(0.0).specific_heat_j_per_kg_k(temperature_c)
    }
    /// Conductivity of the dry solids without pores, parallel, W/(m K).
    #[must_use]
    pub fn solids_conductivity_w_per_m_k(&self, temperature_c: f64) -> f64 {
        self.at_moisture(0.0).conductivity_parallel_w_per_m_k(temperature_c)
    }
}
