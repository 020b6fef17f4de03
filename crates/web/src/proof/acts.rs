//! Judging, tests, interruptions, suspect readings, corrective actions.

use axum::Form;
use axum::extract::{Path, State};
use axum::response::Response;
use fallrate_app::AppError;
use fallrate_app::batches::{Records, Stamp};
use fallrate_app::proof::desk::{
    ActionEntry, InterruptionEntry, SuspectEntry, TestEntry, enter_action, enter_interruption, enter_suspect,
    enter_test, judge_and_enter,
};

use super::sent::{Sent, back_to, ready};
use crate::look::Visit;
use crate::state::Site;

type Fields = Form<Vec<(String, String)>>;

async fn done<T: Send + 'static>(
    v: &Visit,
    site: &Site,
    id: &str,
    sent: &Sent,
    work: impl FnOnce(&mut dyn Records, &str, &Stamp) -> Result<Option<T>, AppError> + Send + 'static,
) -> Response {
    let (_, stamp) = match ready(v, site, sent).await {
        Ok(ready) => ready,
        Err(answer) => return answer,
    };
    let key = id.to_owned();
    back_to(v, id, site.desk().write_app(move |r| work(r, &key, &stamp)).await)
}

pub(super) async fn judge(
    v: Visit,
    State(site): State<Site>,
    Path(id): Path<String>,
    Form(sent): Fields,
) -> Response {
    done(&v, &site, &id, &Sent(sent), judge_and_enter).await
}

pub(super) async fn test(
    v: Visit,
    State(site): State<Site>,
    Path(id): Path<String>,
    Form(sent): Fields,
) -> Response {
    let sent = Sent(sent);
    let entry = TestEntry {
        what: sent.get("what").to_owned(),
        value: sent.get("value").to_owned(),
        tolerance: sent.get("tolerance").to_owned(),
        sample: sent.get("sample").to_owned(),
        instrument: sent.get("instrument").to_owned(),
        calibrated_on: sent.get("calibrated_on").to_owned(),
        at: sent.get("at").to_owned(),
    };
    done(&v, &site, &id, &sent, move |r, id, s| enter_test(r, id, s, &entry)).await
}

pub(super) async fn interruption(
    v: Visit,
    State(site): State<Site>,
    Path(id): Path<String>,
    Form(sent): Fields,
) -> Response {
    let sent = Sent(sent);
    let entry = InterruptionEntry {
        kind: sent.get("kind").to_owned(),
        from: sent.get("from").to_owned(),
        until: sent.get("until").to_owned(),
        note: sent.get("note").to_owned(),
    };
    done(&v, &site, &id, &sent, move |r, id, s| enter_interruption(r, id, s, &entry)).await
}

pub(super) async fn suspect(
    v: Visit,
    State(site): State<Site>,
    Path(id): Path<String>,
    Form(sent): Fields,
) -> Response {
    let sent = Sent(sent);
    let entry = SuspectEntry {
        channel: sent.get("channel").to_owned(),
        from_ns: sent.get("from_ns").parse().unwrap_or(0),
        to_ns: sent.get("to_ns").parse().unwrap_or(0),
        counts: sent.get("counts") == "yes",
        reason: sent.get("reason").to_owned(),
    };
    done(&v, &site, &id, &sent, move |r, id, s| enter_suspect(r, id, s, &entry)).await
}

pub(super) async fn action(
    v: Visit,
    State(site): State<Site>,
    Path(id): Path<String>,
    Form(sent): Fields,
) -> Response {
    let sent = Sent(sent);
    let entry = ActionEntry {
        deviation: sent.get("deviation").to_owned(),
        part: sent.get("part").to_owned(),
        text: sent.get("text").to_owned(),
        held: sent.get("held").to_owned(),
        decision: sent.get("decision").to_owned(),
    };
    let units = v.units;
    done(&v, &site, &id, &sent, move |r, id, s| enter_action(r, id, s, &entry, units)).await
}
