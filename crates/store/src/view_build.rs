//! From entries to what stands.

use fallrate_lethality::{ActionEntry, Answer, BatchFacts, CorrectiveAction, is_late_entry};
use fallrate_series::Instant;

use crate::resolve::{Resolved, final_target, resolve, target, words};
use crate::{
    ActionPart, ActionTaken, Amendment, Body, CRITERION, ClaimView, DeviationView, Digest, Entry, EntryBody,
    FactsChange, HistoryLine, Judged, Kept, RecordView, SignatureView, changes,
};

impl RecordView {
    /// The view of entries in order.
    #[must_use]
    pub fn of(entries: &[Entry]) -> Self {
        let r = resolve(entries);
        let mut view = Self::empty(entries);
        for at in 0..entries.len() {
            if r.root[at] == at && r.stands[at] {
                view.take(entries, &r, at);
            }
        }
        view.facts_changes = facts_changes(entries, &r);
        view.claim = claim(entries, &r, view.facts.as_ref().and_then(|f| f.value.product_met_heat));
        view.deviations = deviations(&view.verdicts, view.deviations);
        view.signatures = signatures(entries, &r);
        view.history = history(entries, &r);
        view.evidence_entries = evidence_entries(entries);
        view
    }

    fn empty(entries: &[Entry]) -> Self {
        Self {
            identity: None,
            claim: None,
            facts: None,
            facts_changes: Vec::new(),
            files: Vec::new(),
            readings: Vec::new(),
            notes: Vec::new(),
            interruptions: Vec::new(),
            suspect_answers: Vec::new(),
            tests: Vec::new(),
            deviations: Vec::new(),
            verdicts: Vec::new(),
            signatures: Vec::new(),
            printed: Vec::new(),
            unknown: Vec::new(),
            history: Vec::new(),
            evidence_entries: Vec::new(),
            head: entries.last().map_or(Digest::ZERO, |e| e.hash),
            last_n: entries.last().map_or(0, |e| e.n),
            last_content_at: (0..entries.len())
                .filter(|i| is_content(entries, *i))
                .map(|i| entries[i].at)
                .max(),
        }
    }

    fn take(&mut self, entries: &[Entry], r: &Resolved, at: usize) {
        let now = words(&entries[r.words_from[at]].body);
        match now {
            Body::Opened(i) => self.identity = Some(kept(entries, r, at, (**i).clone())),
            Body::Stated(f) => self.facts = Some(kept(entries, r, at, (**f).clone())),
            Body::FileKept(f) => self.files.push(kept(entries, r, at, (**f).clone())),
            Body::ReadingsEntered(v) => self.readings.push(kept(entries, r, at, v.clone())),
            Body::Noted(v) => self.notes.push(kept(entries, r, at, v.clone())),
            Body::Interrupted(v) => self.interruptions.push(kept(entries, r, at, v.clone())),
            Body::SuspectAnswered(v) => self.suspect_answers.push(kept(entries, r, at, v.clone())),
            Body::Tested(v) => self.tests.push(kept(entries, r, at, (**v).clone())),
            Body::ActionTaken(v) => add_action(&mut self.deviations, kept(entries, r, at, (**v).clone())),
            Body::Judged(v) => self.verdicts.push(kept(entries, r, at, (**v).clone())),
            Body::Printed(v) => self.printed.push(kept(entries, r, at, v.clone())),
            Body::Unknown(v) => self.unknown.push(kept(entries, r, at, v.clone())),
            Body::Claimed(_) | Body::Signed(_) | Body::Corrected(_) | Body::Withdrawn(_) => {}
        }
    }
}

fn kept<T>(entries: &[Entry], r: &Resolved, at: usize, value: T) -> Kept<T> {
    let e = &entries[at];
    let words_from = &entries[r.words_from[at]];
    let happened = words(&words_from.body).happened();
    Kept {
        entry: e.n,
        at: e.at,
        zone: e.zone.clone(),
        by: e.by.clone(),
        reason: e.reason.clone(),
        late: happened.is_some_and(|h| is_late_entry(h, e.at)),
        corrected_by: (r.words_from[at] != at).then_some(words_from.n),
        value,
    }
}

fn claim(entries: &[Entry], r: &Resolved, met_heat: Option<Instant>) -> Option<ClaimView> {
    let is_claim = |b: &Body| matches!(b, Body::Claimed(_));
    let mut roots = (0..entries.len()).filter(|at| r.root[*at] == *at && r.stands[*at]);
    let at = roots.rfind(|at| is_claim(&entries[*at].body))?;
    let Body::Claimed(value) = words(&entries[r.words_from[at]].body) else { return None };
    // Several claims made beforehand, and all but one withdrawn when the outcome is known, is a choice made late.
    let touched = (0..entries.len()).filter(|i| is_claim(&entries[final_target(entries, *i)].body));
    let claimed_at = touched.map(|i| entries[i].at).max()?;
    Some(ClaimView {
        kept: kept(entries, r, at, (**value).clone()),
        claimed_at,
        after_heat: met_heat.map(|h| claimed_at > h),
    })
}

fn facts_changes(entries: &[Entry], r: &Resolved) -> Vec<FactsChange> {
    let mut out = Vec::new();
    let mut before: Option<&BatchFacts> = None;
    for (at, e) in entries.iter().enumerate().filter(|(at, _)| r.root[*at] == *at && r.stands[*at]) {
        let Body::Stated(facts) = words(&entries[r.words_from[at]].body) else { continue };
        if let Some(before) = before {
            let changes = changes(before, &**facts);
            out.push(FactsChange { entry: e.n, at: e.at, by: e.by.clone(), changes });
        }
        before = Some(facts);
    }
    out
}

fn deviation<'a>(list: &'a mut Vec<DeviationView>, name: &str) -> Option<&'a mut DeviationView> {
    if !list.iter().any(|d| d.name == name) {
        list.push(DeviationView {
            name: name.to_owned(),
            found_by: Vec::new(),
            in_latest_verdict: false,
            action: CorrectiveAction::default(),
            entries: Vec::new(),
            quantity_held_kg: None,
            disposition: None,
        });
    }
    list.iter_mut().find(|d| d.name == name)
}

fn add_action(list: &mut Vec<DeviationView>, kept: Kept<ActionTaken>) {
    let Some(d) = deviation(list, &kept.value.deviation) else { return };
    let entry = ActionEntry {
        text: kept.value.text.clone(),
        by: kept.by.clone(),
        at: kept.value.happened.unwrap_or(kept.at),
    };
    let place = match kept.value.part {
        ActionPart::Cause => &mut d.action.cause,
        ActionPart::Control => &mut d.action.control,
        ActionPart::Prevention => &mut d.action.prevention,
        ActionPart::Disposition => &mut d.action.disposition,
    };
    *place = Some(entry);
    if kept.value.part == ActionPart::Disposition {
        d.quantity_held_kg = kept.value.quantity_held_kg;
        d.disposition = kept.value.disposition;
    }
    d.entries.push(kept);
}

fn deviations(verdicts: &[Kept<Judged>], mut list: Vec<DeviationView>) -> Vec<DeviationView> {
    for (i, v) in verdicts.iter().enumerate() {
        let latest = i + 1 == verdicts.len();
        // While a lot waits for a result there is nothing to correct yet.
        let criterion = v.value.answer() != Answer::Met && !v.value.waiting();
        let names = v.value.deviations().iter().map(String::as_str);
        for name in names.chain(criterion.then_some(CRITERION)) {
            if let Some(d) = deviation(&mut list, name) {
                d.found_by.push(v.entry);
                d.in_latest_verdict |= latest;
            }
        }
    }
    list.sort_by(|a, b| a.name.cmp(&b.name));
    list
}

fn signatures(entries: &[Entry], r: &Resolved) -> Vec<SignatureView> {
    let mut out = Vec::new();
    for (at, e) in entries.iter().enumerate().filter(|(at, _)| r.stands[*at]) {
        let Body::Signed(s) = &e.body else { continue };
        let (mut corrected_after, mut added_after) = (Vec::new(), Vec::new());
        for later in (at + 1..entries.len()).filter(|i| is_content(entries, *i)) {
            match target(entries, later) {
                Some(t) if t < at => corrected_after.push(entries[later].n),
                _ => added_after.push(entries[later].n),
            }
        }
        let covers = e.n.saturating_sub(1);
        out.push(SignatureView {
            kept: kept(entries, r, at, (**s).clone()),
            covers,
            corrected_after,
            added_after,
        });
    }
    out
}

fn history(entries: &[Entry], r: &Resolved) -> Vec<HistoryLine> {
    let mut out = Vec::new();
    for (at, e) in entries.iter().enumerate() {
        let Some(t) = target(entries, at) else { continue };
        let (how, changes) = match &e.body {
            Body::Corrected(c) => (Amendment::Corrected, changes(words(&entries[t].body), &*c.new)),
            _ if matches!(entries[t].body, Body::Corrected(_) | Body::Withdrawn(_)) => {
                (Amendment::Restored, Vec::new())
            }
            _ => (Amendment::Withdrawn, Vec::new()),
        };
        out.push(HistoryLine {
            entry: entries[t].n,
            by_entry: e.n,
            at: e.at,
            by: e.by.clone(),
            reason: e.reason.clone(),
            how,
            undone: !r.stands[at],
            changes,
        });
    }
    out
}

/// Whether an entry says something about the batch; the withdrawal of a signature does not.
fn is_content(entries: &[Entry], at: usize) -> bool {
    entries[final_target(entries, at)].body.is_content()
}

fn evidence_entries(entries: &[Entry]) -> Vec<u64> {
    let about = |at: usize| entries[final_target(entries, at)].body.is_evidence();
    entries.iter().enumerate().filter(|(at, _)| about(*at)).map(|(_, e)| e.n).collect()
}
