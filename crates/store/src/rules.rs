//! The rules of a batch record: what may be entered when.

use fallrate_lethality::Claim;

use crate::resolve::{Resolved, index_of, resolve, words};
use crate::{
    ActionPart, ActionTaken, Body, Claimed, Corrected, Entry, EntryBody, FileKept, Identity, JudgedFrom,
    RecordRealm, RecordView, Rule, SignatureMeaning, Signed, is_zone,
};

pub(crate) fn text(text: &str, what: &'static str, allowed: &'static str) -> Result<(), Rule> {
    if text.trim().is_empty() { Err(Rule::MissingText { what, allowed }) } else { Ok(()) }
}

pub(crate) fn number(
    value: f64,
    (low, high): (f64, f64),
    what: &'static str,
    unit: &'static str,
    allowed: &'static str,
) -> Result<(), Rule> {
    if value >= low && value <= high { Ok(()) } else { Err(Rule::OutOfRange { what, value, unit, allowed }) }
}

/// The rules for entries of every stream.
pub(crate) fn check_envelope<B: EntryBody>(e: &Entry<B>) -> Result<(), Rule> {
    text(&e.by, "person", "who makes the entry")?;
    if is_zone(&e.zone) { Ok(()) } else { Err(Rule::Zone { zone: e.zone.clone() }) }
}

/// The rules for entries of a batch record.
pub(crate) fn check(body: &Body, this: &Entry, before: &[Entry]) -> Result<(), Rule> {
    match (this.n, body) {
        (1, Body::Opened(i)) => return identity(i),
        (1, Body::Unknown(_)) => return Ok(()),
        (1, _) => return Err(Rule::NotOpened),
        (_, Body::Opened(_)) => return Err(Rule::OpenedTwice),
        _ => {}
    }
    match body {
        Body::Judged(j) => {
            readable(before)?;
            verdict_of_realm(j.from(), before)
        }
        Body::Signed(s) => signed(s, this, before),
        Body::Corrected(c) => corrected(c, this, before),
        Body::Withdrawn(w) => withdrawn(w.entry, this, before),
        other => plain(other, None, before),
    }
}

/// Rules of an entry's own words. `corrects`: the entry it would stand in place of.
fn plain(body: &Body, corrects: Option<&Entry>, before: &[Entry]) -> Result<(), Rule> {
    match body {
        Body::Opened(i) => identity(i),
        Body::Claimed(c) => claimed(c),
        Body::FileKept(f) => file_kept(f, corrects, before),
        Body::ReadingsEntered(r) => text(&r.text, "readings", "the hand-entry form"),
        Body::Noted(n) => text(&n.text, "note", "what is noted"),
        Body::Interrupted(i) => match i.until.map(|u| i.from.seconds_since(u)).filter(|s| *s > 0.0) {
            Some(by_s) => Err(Rule::Reversed { by_s }),
            None => Ok(()),
        },
        Body::SuspectAnswered(a) => {
            text(&a.channel, "channel", "the channel's name")?;
            text(&a.reason, "reason", "why the readings count or not")
        }
        Body::Tested(t) => {
            text(&t.sample, "sample", "which pieces, from where")?;
            text(&t.instrument, "instrument", "the instrument or the laboratory")?;
            number(t.value, t.what.range(), "result", "", "a value that can be")?;
            t.tolerance.map_or(Ok(()), |v| number(v, (0.0, f64::MAX), "tolerance", "", "0 or more"))
        }
        Body::ActionTaken(a) => action(a),
        Body::Printed(p) => text(&p.language, "language", "two letters"),
        _ => Ok(()),
    }
}

fn identity(i: &Identity) -> Result<(), Rule> {
    text(&i.establishment, "establishment", "its name")?;
    text(&i.place, "place of the establishment", "town or address")?;
    text(&i.product, "product", "its name")?;
    text(&i.lot, "lot", "its code")?;
    text(&i.cabinet, "cabinet", "its name")?;
    text(&i.program_version, "version of the program", "as the program says")?;
    number(i.quantity_kg, (f64::MIN_POSITIVE, 1e6), "quantity", "kg", "above 0 kg")
}

fn claimed(c: &Claimed) -> Result<(), Rule> {
    let Claim { document, claimed_at, .. } = &c.claim;
    if claimed_at.is_some() {
        return Err(Rule::ClaimTimeGiven);
    }
    let something =
        document.is_some() || c.authority.is_some() || c.schedule.is_some() || !c.limits.is_empty();
    let reason = c.no_criterion.as_ref().is_some_and(|r| !r.trim().is_empty());
    if something || reason { Ok(()) } else { Err(Rule::NothingClaimed) }
}

/// Whether a name can stand for a file beside a record.
#[must_use]
pub fn is_file_name(name: &str) -> bool {
    let plain = !name.chars().any(|c| c.is_control() || "/\\:*?\"<>|".contains(c));
    let kept_for_us = name.eq_ignore_ascii_case(crate::RECORD_FILE);
    plain && !kept_for_us && (1..=200).contains(&name.len()) && name.trim() == name && !name.starts_with('.')
}

fn file_kept(f: &FileKept, corrects: Option<&Entry>, before: &[Entry]) -> Result<(), Rule> {
    if !is_file_name(&f.name) {
        return Err(Rule::FileName { name: f.name.clone() });
    }
    number(f.offset_s, (-4e9, 4e9), "clock offset", "s", "a finite number")?;
    let uncertainty = |u: f64| number(u, (0.0, 4e9), "uncertainty of the clock", "s", "0 s or more");
    f.offset_uncertainty_s.map_or(Ok(()), uncertainty)?;
    if let Some(old) = corrects {
        return match words(&old.body) {
            Body::FileKept(o) if (&o.name, o.sha256, o.bytes) != (&f.name, f.sha256, f.bytes) => {
                Err(Rule::FileChanged { entry: old.n })
            }
            _ => Ok(()),
        };
    }
    // Names that differ only in capitals would collide on some disks.
    let same =
        |e: &&Entry| matches!(&e.body, Body::FileKept(o) if o.name.to_lowercase() == f.name.to_lowercase());
    match before.iter().find(same).map(|e| &e.body) {
        Some(Body::FileKept(o)) if (&o.name, o.sha256) != (&f.name, f.sha256) => {
            Err(Rule::FileNameTaken { name: f.name.clone(), sha256: o.sha256 })
        }
        _ => Ok(()),
    }
}

fn action(a: &ActionTaken) -> Result<(), Rule> {
    text(&a.deviation, "deviation", "the name of the limit that was missed")?;
    text(&a.text, "corrective action", "what was found or done")?;
    let both = a.quantity_held_kg.is_some() && a.disposition.is_some();
    let none = a.disposition.is_none();
    let fits = if a.part == ActionPart::Disposition { both } else { none };
    if !fits {
        return Err(Rule::DispositionParts { part: a.part });
    }
    a.quantity_held_kg.map_or(Ok(()), |kg| number(kg, (0.0, 1e6), "quantity held", "kg", "0 kg or more"))
}

/// The realm a record was opened with.
pub(crate) fn realm_of(entries: &[Entry]) -> Option<RecordRealm> {
    match &entries.first()?.body {
        Body::Opened(i) => Some(i.realm),
        _ => None,
    }
}

fn verdict_of_realm(found: JudgedFrom, before: &[Entry]) -> Result<(), Rule> {
    let Some(realm) = realm_of(before) else { return Err(Rule::NotOpened) };
    let allowed = JudgedFrom::of_realm(realm);
    if found == allowed { Ok(()) } else { Err(Rule::VerdictOfAnotherRealm { realm, found, allowed }) }
}

fn readable(before: &[Entry]) -> Result<(), Rule> {
    match before.iter().find(|e| e.body.as_unknown().is_some()) {
        Some(e) => Err(Rule::Unreadable { entry: e.n }),
        None => Ok(()),
    }
}

/// The kind word of what can be corrected or withdrawn, or of what stays as it is.
pub(crate) const fn kind_word(body: &Body) -> &'static str {
    match body {
        Body::Opened(_) => "opened",
        Body::Claimed(_) => "claimed",
        Body::Stated(_) => "stated",
        Body::FileKept(_) => "file_kept",
        Body::ReadingsEntered(_) => "readings_entered",
        Body::Noted(_) => "noted",
        Body::Interrupted(_) => "interrupted",
        Body::SuspectAnswered(_) => "suspect_answered",
        Body::Tested(_) => "tested",
        Body::ActionTaken(_) => "action_taken",
        Body::Judged(_) => "judged",
        Body::Signed(_) => "signed",
        Body::Corrected(_) => "corrected",
        Body::Withdrawn(_) => "withdrawn",
        Body::Printed(_) => "printed",
        Body::Unknown(_) => "unknown",
    }
}

fn standing(entry: u64, r: &Resolved, before: &[Entry]) -> Result<usize, Rule> {
    let at = index_of(before, entry).ok_or(Rule::NoSuchEntry { entry, entries: before.len() as u64 })?;
    if r.stands[at] && r.stands[r.root[at]] { Ok(at) } else { Err(Rule::IsWithdrawn { entry }) }
}

fn corrected(c: &Corrected, this: &Entry, before: &[Entry]) -> Result<(), Rule> {
    text(&this.reason, "reason", "why the entry is corrected")?;
    let r = resolve(before);
    let at = standing(c.entry, &r, before)?;
    let root = &before[r.root[at]];
    match &root.body {
        Body::Judged(_) | Body::Signed(_) | Body::Printed(_) | Body::Withdrawn(_) | Body::Unknown(_) => {
            return Err(Rule::Stays { entry: c.entry, kind: kind_word(&root.body) });
        }
        _ => {}
    }
    let (found, allowed) = (kind_word(&c.new), kind_word(&root.body));
    if found != allowed {
        return Err(Rule::OtherKind { entry: c.entry, found, allowed });
    }
    if let (Body::Opened(new), Some(from)) = (&*c.new, realm_of(before))
        && new.realm != from
    {
        return Err(Rule::RealmChanged { from, to: new.realm });
    }
    plain(&c.new, Some(root), before)
}

fn withdrawn(entry: u64, this: &Entry, before: &[Entry]) -> Result<(), Rule> {
    text(&this.reason, "reason", "why the entry is withdrawn")?;
    let at = standing(entry, &resolve(before), before)?;
    match &before[at].body {
        body @ (Body::Opened(_) | Body::Judged(_) | Body::Printed(_) | Body::Unknown(_)) => {
            Err(Rule::Stays { entry, kind: kind_word(body) })
        }
        _ => Ok(()),
    }
}

/// Whether two names are the same person's: capitals and blanks do not matter.
pub(crate) fn same_person(a: &str, b: &str) -> bool {
    let plain = |s: &str| s.split_whitespace().collect::<Vec<_>>().join(" ").to_lowercase();
    plain(a) == plain(b)
}

fn signed(s: &Signed, this: &Entry, before: &[Entry]) -> Result<(), Rule> {
    let head = this.previous;
    if s.head != head {
        return Err(Rule::SignedAnotherHead { signed: s.head, head });
    }
    if !same_person(&s.name, &this.by) {
        return Err(Rule::SignedForAnother { name: s.name.clone(), by: this.by.clone() });
    }
    if s.meaning == SignatureMeaning::Reviewed {
        readable(before)?;
        let reason = s.same_person_reason.as_ref().is_some_and(|r| !r.trim().is_empty());
        // Judging is the program's work; whoever starts it makes no record.
        let made = |e: &&Entry| {
            e.body.is_content() && !matches!(e.body, Body::Judged(_)) && same_person(&e.by, &s.name)
        };
        if let Some(e) = before.iter().find(made).filter(|_| !reason) {
            return Err(Rule::SamePerson { name: s.name.clone(), entry: e.n });
        }
    }
    if s.meaning == SignatureMeaning::Released {
        readable(before)?;
        return RecordView::of(before).may_release();
    }
    Ok(())
}
