//! Everything a page shows of a batch: its record, its plan, the batch as followed, its interruptions judged.

use std::sync::Arc;
use std::time::Duration;

use fallrate_app::batches::{ActLine, Board, Instant, Run, StoreError, board};
use fallrate_app::underway::{Floor, StopJudged, floor, judge_stops};
use fallrate_app::{AppError, Planned};

use crate::follower::Seen;
use crate::keep::now;
use crate::look::Visit;
use crate::plan::DRAWS;
use crate::state::Site;

/// A page waits so long for the answer to a new reading; then it says that it is being worked out.
pub(crate) const WAIT: Duration = Duration::from_millis(800);
/// A page that shows many batches waits for none of them.
pub(crate) const NO_WAIT: Duration = Duration::ZERO;

/// A batch as a page shows it.
pub(crate) struct Sight {
    pub run: Run,
    /// Its plan, where this version can compute it.
    pub planned: Result<Arc<Planned>, AppError>,
    pub seen: Seen,
    pub stops: Vec<StopJudged>,
    pub board: Option<Board>,
    pub floor: Floor,
    pub at: Instant,
}

impl Sight {
    /// Looks at a batch; waits so long for what is being worked out.
    pub(crate) async fn of(v: &Visit, site: &Site, run: Run, wait: Duration) -> Result<Self, StoreError> {
        let planned = site.planner().plan(&run.plan_toml, DRAWS).await;
        let seen = match &planned {
            Ok(p) => site.follower().seen(&run, p, &v.reader, wait).await,
            Err(_) => Seen::default(),
        };
        let at = now();
        let kill_step = planned.as_ref().ok().map(|p| p.case.product.kill_step);
        let (run, stops) =
            site.desk().read(move |r| judge_stops(r, &run, kill_step, at).map(|stops| (run, stops))).await?;
        let followed = seen.followed.as_deref().filter(|_| is_under_way(&run));
        let board = planned.as_ref().ok().map(|p| board(&run, p, followed, site.library(), &v.reader, at));
        let next = board.as_ref().and_then(Board::next).map(|a| a.at);
        let floor = floor(&run, followed, &stops, next, (&v.reader, at));
        Ok(Self { run, planned, seen, stops, board, floor, at })
    }

    /// The first act that is not done.
    pub(crate) fn next(&self) -> Option<&ActLine> {
        self.board.as_ref().and_then(Board::next).filter(|_| self.run.ended.is_none())
    }
}

/// Begun and not ended.
fn is_under_way(run: &Run) -> bool {
    run.started_at().is_some() && run.ended.is_none()
}
