//! Who changed what in the library, and back: entries are added, never altered.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use crate::FitError;
use crate::learn::{LearnFault, LibraryValue, Proposal, QuantityKey};

/// What an entry did.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub enum LedgerAct {
    /// The quantity was begun with a belief.
    Begun,
    /// A proposal was approved.
    Approved {
        /// Batches behind it.
        batches: Vec<String>,
    },
    /// A proposal was turned down; the value stays.
    TurnedDown {
        /// What it would have been.
        proposed: LibraryValue,
        /// Why.
        reason: String,
    },
    /// An approved change was taken back.
    TakenBack {
        /// Entry that is taken back.
        entry: usize,
        /// Why.
        reason: String,
    },
}

/// An entry.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct LedgerEntry {
    /// Number, from 0.
    pub number: usize,
    /// What.
    pub key: QuantityKey,
    /// What the library says from here on.
    pub value: LibraryValue,
    /// What it said before; none at the beginning.
    pub before: Option<LibraryValue>,
    /// What was done.
    pub act: LedgerAct,
    /// Who.
    pub by: String,
    /// When, as the caller's clock says.
    pub at: String,
}

/// All entries in order.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Ledger {
    entries: Vec<LedgerEntry>,
}

impl Ledger {
    /// Entries.
    #[must_use]
    pub fn entries(&self) -> &[LedgerEntry] {
        &self.entries
    }

    /// What the library says of a quantity now.
    #[must_use]
    pub fn current(&self, key: &QuantityKey) -> Option<&LibraryValue> {
        self.entries.iter().rev().find(|e| e.key == *key).map(|e| &e.value)
    }

    /// What the library says of every quantity now.
    #[must_use]
    pub fn all(&self) -> BTreeMap<&QuantityKey, &LibraryValue> {
        self.entries.iter().map(|e| (&e.key, &e.value)).collect()
    }

    /// Begins a quantity with a belief. Returns the number of the entry.
    ///
    /// # Errors
    /// [`LearnFault::AlreadyBegun`], [`LearnFault::Nobody`], [`LearnFault::BadNumber`].
    pub fn begin(
        &mut self,
        key: &QuantityKey,
        value: &LibraryValue,
        by: &str,
        at: &str,
    ) -> Result<usize, FitError> {
        value.check(&key.text())?;
        if self.current(key).is_some() {
            return Err(LearnFault::AlreadyBegun { of: key.text() }.into());
        }
        self.add(key, value.clone(), None, LedgerAct::Begun, by, at)
    }

    /// Approves a proposal. Returns the number of the entry.
    ///
    /// # Errors
    /// [`LearnFault::Stale`] where the library has changed since it was made, [`LearnFault::Unknown`], [`LearnFault::Nobody`].
    pub fn approve(&mut self, proposal: &Proposal, by: &str, at: &str) -> Result<usize, FitError> {
        let old = self.fresh(proposal)?;
        let batches = proposal.evidence.iter().map(|e| e.estimate.batch.clone()).collect();
        self.add(&proposal.key, proposal.new.clone(), Some(old), LedgerAct::Approved { batches }, by, at)
    }

    /// Turns a proposal down with a reason. Returns the number of the entry.
    ///
    /// # Errors
    /// As [`Ledger::approve`].
    pub fn turn_down(
        &mut self,
        proposal: &Proposal,
        reason: &str,
        by: &str,
        at: &str,
    ) -> Result<usize, FitError> {
        let old = self.fresh(proposal)?;
        let act = LedgerAct::TurnedDown { proposed: proposal.new.clone(), reason: reason.to_owned() };
        self.add(&proposal.key, old.clone(), Some(old), act, by, at)
    }

    /// Takes an approved change back: the value before it stands again. Only the last change of a quantity that still stands
    /// can be; then the one before it, and so on. Returns the number of the entry.
    ///
    /// # Errors
    /// [`LearnFault::NotReversible`], [`LearnFault::Nobody`].
    pub fn take_back(&mut self, entry: usize, reason: &str, by: &str, at: &str) -> Result<usize, FitError> {
        let refuse = |why| FitError::from(LearnFault::NotReversible { entry, why });
        let found = self.entries.get(entry).ok_or_else(|| refuse("there is none"))?.clone();
        if !matches!(found.act, LedgerAct::Approved { .. }) {
            return Err(refuse("it is no approved change"));
        }
        if self.standing(&found.key) != Some(entry) {
            return Err(refuse("a later change stands on it, or it was taken back already"));
        }
        let value = found.before.ok_or_else(|| refuse("there was nothing before it"))?;
        let act = LedgerAct::TakenBack { entry, reason: reason.to_owned() };
        self.add(&found.key, value, Some(found.value), act, by, at)
    }

    /// The last approved change of a quantity that was not taken back.
    fn standing(&self, key: &QuantityKey) -> Option<usize> {
        let mut stack = Vec::new();
        for e in self.entries.iter().filter(|e| e.key == *key) {
            match &e.act {
                LedgerAct::Approved { .. } => stack.push(e.number),
                LedgerAct::TakenBack { entry, .. } => stack.retain(|n| n != entry),
                LedgerAct::Begun | LedgerAct::TurnedDown { .. } => {}
            }
        }
        stack.last().copied()
    }

    fn fresh(&self, proposal: &Proposal) -> Result<LibraryValue, FitError> {
        let of = || proposal.key.text();
        let now = self.current(&proposal.key).ok_or_else(|| LearnFault::Unknown { of: of() })?;
        if !now.is_same(&proposal.old) {
            return Err(LearnFault::Stale { of: of(), made_on: proposal.old.value, now: now.value }.into());
        }
        Ok(now.clone())
    }

    fn add(
        &mut self,
        key: &QuantityKey,
        value: LibraryValue,
        before: Option<LibraryValue>,
        act: LedgerAct,
        by: &str,
        at: &str,
    ) -> Result<usize, FitError> {
        if by.trim().is_empty() {
            return Err(LearnFault::Nobody { of: key.text() }.into());
        }
        let number = self.entries.len();
        let (key, by, at) = (key.clone(), by.to_owned(), at.to_owned());
        self.entries.push(LedgerEntry { number, key, value, before, act, by, at });
        Ok(number)
    }
}
