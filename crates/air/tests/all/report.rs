//! One outside check: what was compared, how far off at worst, what is allowed.

pub struct Check {
    pub name: &'static str,
    pub source: &'static str,
    pub basis: &'static str,
    pub unit: &'static str,
    pub allowed: f64,
    pub count: usize,
    pub worst: f64,
}

impl Check {
    pub fn new(
        name: &'static str,
        source: &'static str,
        basis: &'static str,
        unit: &'static str,
        allowed: f64,
    ) -> Self {
        Self { name, source, basis, unit, allowed, count: 0, worst: 0.0 }
    }
    /// Adds one comparison; an error that is not a number fails the check.
    pub fn add(&mut self, error: f64) {
        self.count += 1;
        self.worst = if error.is_nan() { f64::INFINITY } else { self.worst.max(error.abs()) };
    }
    /// Prints the line and asserts the number of figures and the worst error.
    pub fn assert(&self, count: usize) {
        println!(
            "VALIDATION|air|{}|{}|{}|{:.3e}|{}|{}|{}",
            self.name, self.source, self.count, self.worst, self.unit, self.allowed, self.basis
        );
        assert_eq!(self.count, count, "{}: figures compared", self.name);
        assert!(
            self.worst <= self.allowed,
            "{}: worst error {} {}; allowed {}",
            self.name,
            self.worst,
            self.unit,
            self.allowed
        );
    }
}

/// Error in % of the expected value.
pub fn percent_off(found: f64, expected: f64) -> f64 {
    (found / expected - 1.0) * 100.0
}
