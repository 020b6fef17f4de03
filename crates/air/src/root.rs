//! One root finder: Newton kept inside a shrinking bracket.

/// Absolute step in K at which the search stops.
const STEP: f64 = 1e-11;
/// Steps after which bisection alone would have narrowed any bracket used here to rounding.
const MOST_STEPS: usize = 100;

/// Root of a decreasing function between `low` and `high`, from its value and slope.
///
/// The caller guarantees `f(low) >= 0 >= f(high)`. A Newton step that leaves the bracket is replaced by its middle, and
/// so is every step after the 20th, so the search always ends.
#[inline]
pub(crate) fn bracketed_newton(
    mut low: f64,
    mut high: f64,
    start: f64,
    f: impl Fn(f64) -> (f64, f64),
) -> f64 {
    let mut x = start.clamp(low, high);
    for step in 0..MOST_STEPS {
        let (value, slope) = f(x);
        if value > 0.0 {
            low = x;
        } else if value < 0.0 {
            high = x;
        } else {
            return x;
        }
        let newton = x - value / slope;
        let next = if step < 20 && newton > low && newton < high { newton } else { 0.5 * (low + high) };
        let moved = (next - x).abs();
        x = next;
        if moved <= STEP {
            break;
        }
    }
    x
}
