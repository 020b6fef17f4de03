//! What the record says of itself: corrective actions, signatures, corrections, the chain.

use fallrate_report::{Block, Column, Field, Level, SignLine, Table};
use fallrate_store::{ActionPart, Amendment, Change, DeviationView, Disposition, SignatureMeaning};

use super::super::words;
use super::{Sheet, grouped};
use crate::words::say;

pub(crate) fn meaning(r: &crate::words::Reader, m: SignatureMeaning) -> String {
    r.text(match m {
        SignatureMeaning::Monitored => "sign-monitored",
        SignatureMeaning::Verified => "sign-verified",
        SignatureMeaning::Reviewed => "sign-reviewed",
        SignatureMeaning::Released => "sign-released",
        SignatureMeaning::Approved => "sign-approved",
    })
}

fn part(s: &Sheet<'_>, p: ActionPart) -> String {
    s.r.text(match p {
        ActionPart::Cause => "action-cause",
        ActionPart::Control => "action-control",
        ActionPart::Prevention => "action-prevention",
        ActionPart::Disposition => "action-disposition",
    })
}

fn disposition(s: &Sheet<'_>, d: Disposition) -> String {
    s.r.text(match d {
        Disposition::Release => "disposition-release",
        Disposition::Rework => "disposition-rework",
        Disposition::Divert => "disposition-divert",
        Disposition::Destroy => "disposition-destroy",
    })
}

/// For page one: each deviation with whether its corrective action is complete.
pub(super) fn actions_short(s: &Sheet<'_>) -> Vec<String> {
    let Some(v) = s.record else { return Vec::new() };
    v.deviations
        .iter()
        .map(|d| {
            let held = d.quantity_held_kg.map_or_else(|| "–".to_owned(), |kg| s.r.mass(kg, 1));
            match (d.missing_part(), d.disposition) {
                (None, Some(what)) => say!(
                    s.r,
                    "proof-action-complete",
                    name = name(s, d),
                    held = held,
                    disposition = disposition(s, what)
                ),
                (p, _) => say!(
                    s.r,
                    "proof-action-open",
                    name = name(s, d),
                    part = p.map_or_else(|| part(s, ActionPart::Disposition), |p| part(s, p))
                ),
            }
        })
        .collect()
}

fn name(s: &Sheet<'_>, d: &DeviationView) -> String {
    if d.name == fallrate_store::CRITERION { s.r.text("proof-criterion") } else { d.name.clone() }
}

pub(super) fn sign_lines(s: &Sheet<'_>) -> Vec<SignLine> {
    let Some(v) = s.record else { return Vec::new() };
    let line = |x: &fallrate_store::SignatureView| {
        let mut note: Vec<String> = Vec::new();
        note.extend(x.kept.value.training.clone().map(|t| say!(s.r, "sign-training", training = t)));
        note.extend(
            x.kept.value.same_person_reason.clone().map(|t| say!(s.r, "sign-same-person", reason = t)),
        );
        note.push(say!(s.r, "sign-covers", entries = x.covers.to_string()));
        SignLine {
            meaning: meaning(s.r, x.kept.value.meaning),
            name: x.kept.value.name.clone(),
            at: s.file.clock.day_and_minute(x.kept.at),
            note: Some(note.join(" ")),
        }
    };
    let mut lines: Vec<SignLine> = v.signatures.iter().map(line).collect();
    for m in [SignatureMeaning::Monitored, SignatureMeaning::Verified, SignatureMeaning::Reviewed] {
        if v.signature(m).is_none() {
            lines.push(SignLine { meaning: meaning(s.r, m), ..SignLine::default() });
        }
    }
    lines
}

pub(super) fn blocks(s: &Sheet<'_>) -> Vec<Block> {
    let Some(v) = s.record else { return Vec::new() };
    let mut out = Vec::new();
    for d in &v.deviations {
        out.extend(action(s, d));
    }
    out.push(Block::Heading { level: 1, text: s.r.text("proof-history") });
    let by_entry = Table {
        title: s.r.text("proof-changes"),
        header: ["proof-entry", "proof-when", "proof-by", "proof-what", "proof-changed", "proof-why"]
            .map(|k| Column::left(&s.r.text(k)))
            .to_vec(),
        rows: v
            .history
            .iter()
            .map(|h| {
                let how = s.r.text(match h.how {
                    Amendment::Corrected => "amended-corrected",
                    Amendment::Withdrawn => "amended-withdrawn",
                    Amendment::Restored => "amended-restored",
                });
                vec![
                    say!(s.r, "proof-entry-by", entry = h.entry.to_string(), by = h.by_entry.to_string()),
                    s.file.clock.day_and_minute(h.at),
                    h.by.clone(),
                    how,
                    changed(&h.changes),
                    h.reason.clone(),
                ]
            })
            .chain(v.facts_changes.iter().map(|f| {
                vec![
                    f.entry.to_string(),
                    s.file.clock.day_and_minute(f.at),
                    f.by.clone(),
                    s.r.text("amended-stated-anew"),
                    changed(&f.changes),
                    String::new(),
                ]
            }))
            .collect(),
        note: None,
    };
    if by_entry.rows.is_empty() {
        out.push(Block::Text(s.r.text("proof-no-changes")));
    } else {
        out.push(Block::Table(by_entry));
    }
    if let Some(n) = v.verdict_outdated_by() {
        out.push(s.notice(Level::Act, say!(s.r, "proof-verdict-outdated", entry = n.to_string())));
    }
    let verdicts = v.verdicts.iter().map(|k| {
        say!(
            s.r,
            "proof-verdict-line",
            entry = k.entry.to_string(),
            at = s.file.clock.day_and_minute(k.at),
            answer = words::answer(s.r, k.value.answer()),
            version = k.value.program_version().to_owned(),
            criteria = super::short(&k.value.criteria_sha256().to_string()),
            data = super::short(&k.value.data_sha256().to_string())
        )
    });
    out.push(Block::List(verdicts.collect()));
    if let (Some(keep), Some(due)) = (v.keep_until(), v.review_due()) {
        out.push(Block::Text(say!(s.r, "proof-keep", keep = keep.to_string(), due = due.to_string())));
    }
    out.push(Block::Small(say!(
        s.r,
        "proof-chain",
        entries = v.last_n.to_string(),
        head = grouped(&v.head.to_string())
    )));
    out
}

fn changed(changes: &[Change]) -> String {
    let shown = |v: &Option<String>| v.clone().unwrap_or_else(|| "–".to_owned());
    changes
        .iter()
        .map(|c| format!("{}: {} → {}", c.path, shown(&c.old), shown(&c.new)))
        .collect::<Vec<_>>()
        .join("; ")
}

/// A corrective action with its four parts; what is not filled in is a blank to write on.
fn action(s: &Sheet<'_>, d: &DeviationView) -> Vec<Block> {
    let title = say!(s.r, "action-title", name = name(s, d));
    let parts = [
        (ActionPart::Cause, &d.action.cause),
        (ActionPart::Control, &d.action.control),
        (ActionPart::Prevention, &d.action.prevention),
        (ActionPart::Disposition, &d.action.disposition),
    ];
    let fields = parts.map(|(p, entry)| Field {
        label: part(s, p),
        text: entry.as_ref().map_or_else(String::new, |e| {
            say!(
                s.r,
                "action-entry",
                text = e.text.clone(),
                by = e.by.clone(),
                at = s.file.clock.day_and_minute(e.at)
            )
        }),
        blank_lines: if entry.is_some() { 0 } else { 2 },
    });
    let held = d.quantity_held_kg.map_or_else(String::new, |kg| s.r.mass(kg, 1));
    let decision = d.disposition.map_or_else(String::new, |x| disposition(s, x));
    let fact = |key: &str, value: String| fallrate_report::Fact { label: s.r.text(key), value, note: None };
    vec![
        Block::PageBreak,
        Block::Heading { level: 1, text: title },
        Block::Text(s.r.text("action-rule")),
        Block::Facts(vec![
            fact("proof-lot-word", s.file.identity.lot.clone()),
            fact("action-held", held),
            fact("action-decision", decision),
        ]),
        Block::Fields(fields.to_vec()),
        Block::Lines(vec![SignLine { meaning: s.r.text("sign-verified"), ..SignLine::default() }]),
    ]
}
