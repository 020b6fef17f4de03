//! What a form or a program orders, as an act.

use fallrate_app::practice::{Act, RehearseError, keep_order};
use fallrate_app::quantities::{Duration, Mass, Quantity, Temperature};
use fallrate_app::{AppError, Asked, Units};
use serde::Deserialize;

use super::stage::{NoStage, Shared, lock};
use crate::keep::stamp;
use crate::look::Visit;
use crate::state::Site;

/// What a form of acts sends: a whole line, or what is needed to write one.
#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub(crate) struct Ordered {
    pub entry_id: String,
    line: String,
    what: String,
    value: String,
    tray: String,
    along: String,
}

/// The act that a form orders; `None` where it cannot be read.
pub(crate) fn line_of(o: &Ordered, units: Units) -> Option<Act> {
    fn base<Q: Quantity>(asked: Asked, text: &str, units: Units) -> Option<f64> {
        let typed = asked.read(text, units).ok()??;
        Q::parse(&typed.value).ok().map(Quantity::base)
    }
    let short = |text: &str| text.chars().filter(|c| !c.is_control()).take(60).collect::<String>();
    let tray = o.tray.trim().parse::<u32>().ok();
    let line = match o.what.as_str() {
        "vent" | "fan" => format!("{} {}", o.what, short(&o.value)),
        "set-point" => {
            format!("set-point {} degC", base::<Temperature>(Asked::Temperature, &o.value, units)?)
        }
        "timer" => format!("timer {} s", base::<Duration>(Asked::Duration, &o.value, units)?),
        "water" => format!("water {} kg", base::<Mass>(Asked::Mass, &o.value, units)?),
        "weigh" => format!("weigh {}", tray?),
        "core" => format!("core {} {}", tray?, short(&o.along)),
        "take-out" => format!("take-out {}", short(&o.value).replace(',', " ")),
        _ => short(&o.line),
    };
    line.parse().ok()
}

/// Orders an act and keeps it; hands back when the hand will be there, s from the start.
pub(crate) async fn order(
    v: &Visit,
    site: &Site,
    id: &str,
    shared: &Shared,
    (act, entry_id): (Act, &str),
) -> Result<f64, NoStage> {
    let (ordered_s, at_s, zone) = {
        let mut own = lock(shared);
        own.catch_up().map_err(NoStage::App)?;
        let now = own.run.now_s();
        let at_s = own.run.order(&act).map_err(NoStage::App)?;
        (now, at_s, own.run.asked.zone.clone())
    };
    let mut stamp = stamp(&super::begin::place(site, v).await, v, entry_id);
    stamp.zone = zone;
    let (key, own) = (id.to_owned(), act.clone());
    let kept = site.stage().desk()?.write(move |r| {
        keep_order(r, &key, &stamp, (ordered_s, &own))?;
        if own == Act::Unload {
            let end = fallrate_app::batches::Stamp { client_id: None, ..stamp };
            fallrate_app::batches::end_run(r, &key, &end, "unloaded")?;
        }
        Ok(())
    });
    if let Err(e) = kept.await {
        // Sent twice, or not on the disk: what the record tells is what happened.
        site.stage().forget(id);
        return Err(NoStage::App(e.into()));
    }
    Ok(at_s)
}

/// Why an act is refused, in the words of the page.
pub(crate) const fn why(e: &AppError) -> &'static str {
    match e {
        AppError::Rehearse(e) => match **e {
            RehearseError::TimerRuns { .. } => "rehearse-refused-timer",
            RehearseError::NoSuchTray { .. } => "rehearse-refused-tray",
            RehearseError::Plan(_) | RehearseError::OutOfRange { .. } => "rehearse-refused-setting",
            _ => "rehearse-refused",
        },
        _ => "rehearse-refused",
    }
}
