//! Statistics that more than one estimation needs: quantiles, tests of residuals, information criteria, exact intervals of
//! a share, and seeded draws.

mod binomial;
mod criteria;
mod draw;
mod quantile;
mod serial;

pub use binomial::{Share, share_interval};
pub use criteria::{Criteria, information_criteria};
pub use draw::Draws;
pub use quantile::{chi_squared_beyond, chi_squared_quantile, f_beyond, normal_quantile, student_quantile};
pub use serial::{LagOne, ResidualTests, RunsTest, lag_one, residual_tests, runs_test};

pub(crate) use criteria::rank_key;
pub(crate) use quantile::normal_beyond;
