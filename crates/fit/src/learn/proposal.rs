//! A proposal: what the library says, what it would say, and why.

use serde::{Deserialize, Serialize};

use crate::FitError;
use crate::learn::batch::check_batches;
use crate::learn::hierarchy::join;
use crate::learn::{BatchEstimate, GroupKind, HierarchyOptions, LibraryValue, QuantityKey};

/// A batch whose weight is below these is discounted, or set aside.
const DISCOUNTED: f64 = 0.7;
const SET_ASIDE: f64 = 0.3;
/// A mean that moves by more than this many standard deviations of the first belief contradicts it.
const CONTRADICTS: f64 = 2.5;
/// A group whose effect is this many of its standard deviations from 0 differs.
const DIFFERS: f64 = 2.0;
/// Fewer batches than this do not tell how much batches differ.
const FEW: usize = 4;

/// How a batch counts.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum Standing {
    /// Like the others.
    Counted,
    /// Off the others: it counts less.
    Discounted,
    /// Far off the others: it hardly counts. Look what happened.
    SetAside,
}

/// One batch in a proposal.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct BatchEvidence {
    /// What it said.
    pub estimate: BatchEstimate,
    /// 1 for a batch in the middle, towards 0 for one far off.
    pub weight: f64,
    /// How it counts.
    pub standing: Standing,
    /// Its distance from what its groups are expected to give, over its own error and the spread between batches.
    pub distance: f64,
}

/// What a season, a lot or a position adds.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct GroupEffect {
    /// Kind.
    pub kind: GroupKind,
    /// Name.
    pub name: String,
    /// In the fitted coordinate: of a factor, its natural logarithm.
    pub effect: f64,
    /// Standard deviation.
    pub deviation: f64,
}

/// What to look at before approving.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub enum ProposalWarning {
    /// Few batches: the spread between them is mostly belief.
    FewBatches {
        /// Batches.
        batches: usize,
    },
    /// The batches contradict the first belief.
    AgainstBelief {
        /// Distance over the belief's standard deviation.
        deviations: f64,
    },
    /// A batch was set aside.
    SetAside {
        /// Batch.
        batch: String,
        /// Distance over its error and the spread.
        distance: f64,
    },
    /// A group differs from the others: the mean stands for none of them.
    GroupDiffers {
        /// Kind.
        kind: GroupKind,
        /// Name.
        name: String,
        /// Effect over its standard deviation.
        deviations: f64,
    },
    /// The mean is told less well than the library says now: the batches disagree.
    LessSure,
}

/// A proposed change of one library value. Nothing changes until a person approves it in a [`crate::learn::Ledger`].
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Proposal {
    /// What is to change.
    pub key: QuantityKey,
    /// What the library says now.
    pub old: LibraryValue,
    /// What it would say.
    pub new: LibraryValue,
    /// Every batch, as given.
    pub evidence: Vec<BatchEvidence>,
    /// What groups add, where batches of at least two of a kind are there.
    pub effects: Vec<GroupEffect>,
    /// Warnings.
    pub warnings: Vec<ProposalWarning>,
}

impl Proposal {
    /// How far the mean moves, over the standard deviation that the library gives it now.
    #[must_use]
    pub fn moves_by_deviations(&self) -> f64 {
        (self.new.coordinate(self.new.value) - self.old.coordinate(self.old.value)) / self.old.deviation
    }
}

/// Makes a proposal for a quantity from the first belief and all closed batches. `now` is what the library says at present.
///
/// ```
/// use fallrate_fit::Scale;
/// use fallrate_fit::learn::{BatchEstimate, HierarchyOptions, LibraryValue, QuantityKey, Standing, propose};
/// let key = QuantityKey { product: Some("apple".into()), cabinet: None, quantity: "diffusivity at 60 degC".into() };
/// let belief = LibraryValue::belief(5e-10, 0.5, 0.15, Scale::Logarithm);
/// let batch = |name: &str, value: f64| BatchEstimate { batch: name.into(), value, deviation: 0.06, groups: vec![] };
/// let batches = [("1", 7.1e-10), ("2", 6.8e-10), ("3", 7.3e-10), ("4", 7.0e-10), ("5", 2.0e-10)];
/// let batches = batches.map(|(n, v)| batch(n, v));
/// let proposal = propose(&key, &belief, &belief, &batches, &HierarchyOptions::default())?;
/// // The fifth batch is set aside and hardly moves the mean of the other four.
/// assert_eq!(proposal.evidence[4].standing, Standing::SetAside);
/// assert!((proposal.new.value / 7.0e-10 - 1.0).abs() < 0.05);
/// # Ok::<(), fallrate_fit::FitError>(())
/// ```
///
/// # Errors
/// [`crate::learn::LearnFault`].
pub fn propose(
    key: &QuantityKey,
    belief: &LibraryValue,
    now: &LibraryValue,
    batches: &[BatchEstimate],
    options: &HierarchyOptions,
) -> Result<Proposal, FitError> {
    let of = key.text();
    belief.check(&of)?;
    now.check(&of)?;
    check_batches(belief, batches)?;
    let joined = join(&of, belief, batches, options)?;
    let count = {
        let mut names: Vec<&str> = batches.iter().map(|b| b.batch.as_str()).collect();
        names.sort_unstable();
        names.dedup();
        names.len()
    };
    let new = LibraryValue {
        value: belief.value_of(joined.mean),
        deviation: joined.deviation,
        spread: joined.spread,
        logarithm: belief.logarithm,
        batches: count,
    };
    let effects: Vec<GroupEffect> = joined
        .effects
        .into_iter()
        .map(|(kind, name, effect, deviation)| GroupEffect { kind, name, effect, deviation })
        .collect();
    let evidence: Vec<BatchEvidence> = batches
        .iter()
        .zip(&joined.weights)
        .map(|(b, &weight)| {
            let added = |e: &&GroupEffect| b.group(e.kind) == Some(e.name.as_str());
            let expected = joined.mean + effects.iter().filter(added).map(|e| e.effect).sum::<f64>();
            let standing = match weight {
                w if w < SET_ASIDE => Standing::SetAside,
                w if w < DISCOUNTED => Standing::Discounted,
                _ => Standing::Counted,
            };
            let distance = (belief.coordinate(b.value) - expected) / b.deviation.hypot(joined.spread);
            BatchEvidence { estimate: b.clone(), weight, standing, distance }
        })
        .collect();
    let warnings = warnings(belief, now, &new, &evidence, &effects);
    Ok(Proposal { key: key.clone(), old: now.clone(), new, evidence, effects, warnings })
}

fn warnings(
    belief: &LibraryValue,
    now: &LibraryValue,
    new: &LibraryValue,
    evidence: &[BatchEvidence],
    effects: &[GroupEffect],
) -> Vec<ProposalWarning> {
    let mut list = Vec::new();
    if new.batches < FEW {
        list.push(ProposalWarning::FewBatches { batches: new.batches });
    }
    // The mean is drawn towards the belief: the distance is that of what the batches alone say.
    let (m0, m) = (belief.coordinate(belief.value), new.coordinate(new.value));
    let told = 1.0 - (new.deviation / belief.deviation).powi(2);
    let alone = if told > 1e-6 { (m - m0) / told } else { 0.0 };
    let own = (belief.deviation.powi(2) + new.deviation.powi(2) / told.max(1e-6)).sqrt();
    if (alone / own).abs() > CONTRADICTS {
        list.push(ProposalWarning::AgainstBelief { deviations: (alone / own).abs() });
    }
    for e in evidence.iter().filter(|e| e.standing == Standing::SetAside) {
        let (batch, distance) = (e.estimate.batch.clone(), e.distance);
        list.push(ProposalWarning::SetAside { batch, distance });
    }
    for e in effects.iter().filter(|e| e.effect.abs() > DIFFERS * e.deviation) {
        let (kind, name) = (e.kind, e.name.clone());
        list.push(ProposalWarning::GroupDiffers { kind, name, deviations: (e.effect / e.deviation).abs() });
    }
    if new.deviation > 1.05 * now.deviation {
        list.push(ProposalWarning::LessSure);
    }
    list
}
