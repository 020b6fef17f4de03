//! Whether a lot may ship, by its record (RECORD-H12).

use fallrate_lethality::{Answer, PreShipment};

use crate::{ActionPart, Disposition, RecordView, Rule, SignatureMeaning};

impl RecordView {
    /// Why the claim says that there is nothing to judge.
    fn nothing_to_judge(&self) -> bool {
        self.claim.as_ref().is_some_and(|c| {
            let v = &c.kept.value;
            let nothing = v.claim.document.is_none() && v.authority.is_none() && v.schedule.is_none();
            let reason = v.no_criterion.as_ref().is_some_and(|r| !r.trim().is_empty());
            nothing && v.limits.is_empty() && reason
        })
    }

    fn verdict_fits(&self) -> Result<(), Rule> {
        let Some(verdict) = self.verdict() else {
            return if self.nothing_to_judge() { Ok(()) } else { Err(Rule::NoVerdict) };
        };
        if let Some(entry) = self.verdict_outdated_by() {
            return Err(Rule::VerdictOutdated { verdict: verdict.entry, entry });
        }
        if verdict.value.waiting() { Err(Rule::Waiting) } else { Ok(()) }
    }

    /// Every deviation that the latest verdict finds, and every one that somebody began to act on, needs all four
    /// parts and a disposition that lets the product go.
    fn actions_closed(&self) -> Result<(), Rule> {
        let answer = self.answer().unwrap_or(Answer::CannotBeJudged);
        for d in self.deviations.iter().filter(|d| d.in_latest_verdict || !d.entries.is_empty()) {
            let deviation = d.name.clone();
            if let Some(part) = d.missing_part() {
                return Err(Rule::ActionOpen { deviation, part, answer });
            }
            match d.disposition {
                Some(Disposition::Release) => {}
                Some(found) => return Err(Rule::DispositionForbids { deviation, found }),
                None => return Err(Rule::ActionOpen { deviation, part: ActionPart::Disposition, answer }),
            }
        }
        Ok(())
    }

    /// What a pre-shipment review finds. Limits count as met where the verdict is met and no limit was missed, or
    /// where the corrective action of every limit missed ends in a disposition that lets the product go.
    #[must_use]
    pub fn pre_shipment(&self) -> PreShipment {
        let closed = self.actions_closed().is_ok();
        let fits = self.verdict_fits().is_ok();
        PreShipment {
            lot_complete: fits && self.identity.is_some() && self.unknown.is_empty(),
            limits_met: fits && closed,
            corrective_closed: closed,
        }
    }

    /// Whether the lot may be released now: reviewed, with nothing entered since, judged on what is recorded, and met
    /// or with every corrective action closed.
    ///
    /// # Errors
    /// The first rule that stands against it.
    pub fn may_release(&self) -> Result<(), Rule> {
        if let Some(u) = self.unknown.first() {
            return Err(Rule::Unreadable { entry: u.entry });
        }
        self.verdict_fits()?;
        self.actions_closed()?;
        let Some(review) = self.signature(SignatureMeaning::Reviewed) else { return Err(Rule::NotReviewed) };
        match review.corrected_after.iter().chain(&review.added_after).min() {
            Some(entry) => Err(Rule::EnteredAfterReview { entry: *entry }),
            None => Ok(()),
        }
    }
}
