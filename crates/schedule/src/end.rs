//! What ends a stage.

/// Which piece of the load a condition looks at.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Piece {
    /// The mass-weighted mean of the whole load.
    Mean,
    /// The piece that lags: the wettest, or for temperature the coldest core.
    Slowest,
    /// The piece that leads: the driest, or for temperature the warmest core.
    Fastest,
}

/// What ends a stage. Located as a root of the solution, never stepped past.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum EndCondition {
    /// Time since the stage began, s.
    Elapsed {
        /// s
        seconds: f64,
    },
    /// The core of the coldest piece has risen by this much since the start of the run.
    CoreRise {
        /// K
        kelvin: f64,
    },
    /// The core of the coldest piece reaches this temperature and stays there for the hold.
    CoreReaches {
        /// degC
        celsius: f64,
        /// s; 0 for an instant
        hold_s: f64,
    },
    /// Moisture falls to this, dry basis.
    Moisture {
        /// Piece looked at.
        piece: Piece,
        /// kg/kg dry basis
        dry_basis: f64,
    },
    /// Water activity of the equalised piece at 25 degC (as a laboratory would read it) falls to this.
    WaterActivity {
        /// Piece looked at.
        piece: Piece,
        /// fraction
        aw: f64,
    },
    /// Weight of the whole load (without trays) falls to this.
    LoadWeight {
        /// kg
        kilograms: f64,
    },
    /// Relative humidity of the chamber falls to this.
    ChamberRhBelow {
        /// fraction
        fraction: f64,
    },
    /// Relative humidity of the chamber rises to this.
    ChamberRhAbove {
        /// fraction
        fraction: f64,
    },
}
