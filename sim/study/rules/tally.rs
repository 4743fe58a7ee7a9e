//! The result of a statement over all samples: counts, intervals, the verdict in words.

use std::collections::BTreeMap;

use super::evidence::{Abort, Agreement, CatchLoadMode, Evidence, ExperimentResult};
use super::rule::{Claim, Rule};
use crate::error::SimError;
use crate::numerics::intervals::wilson_95;
use crate::numerics::statistics::median;

/// One statement over all samples, with one way to set the catch load.
#[derive(Debug)]
pub struct RuleTally {
    /// Statement.
    pub rule: &'static Rule,
    /// Catch load.
    pub catch_load: CatchLoadMode,
    /// Samples that agree.
    pub agree: usize,
    /// Samples that disagree.
    pub opposite: usize,
    /// Of these, samples that agree elsewhere in the range of the input or with another judged edge.
    pub agree_elsewhere: usize,
    /// Samples that show no difference.
    pub no_difference: usize,
    /// Undecided samples, by reason.
    pub undecided: BTreeMap<&'static str, usize>,
    /// Median effect of the decided samples, infinite where one value is never reached in half of them; none
    /// without samples, or where the two middle ones are infinite with opposite signs.
    pub median_effect: Option<f64>,
    /// The sample that disagrees most, and its evidence; the first of equals.
    pub counter_example: Option<(usize, Evidence)>,
}

impl RuleTally {
    /// A statement that has not been tested yet.
    #[must_use]
    pub fn new(rule: &'static Rule, catch_load: CatchLoadMode) -> Self {
        Self {
            rule,
            catch_load,
            agree: 0,
            opposite: 0,
            agree_elsewhere: 0,
            no_difference: 0,
            undecided: BTreeMap::new(),
            median_effect: None,
            counter_example: None,
        }
    }

    /// A statement with the results of all samples, in their order.
    ///
    /// # Errors
    /// Inputs that are wrong.
    pub fn of(
        rule: &'static Rule,
        catch_load: CatchLoadMode,
        results: impl Iterator<Item = ExperimentResult>,
    ) -> Result<Self, SimError> {
        let mut tally = Self::new(rule, catch_load);
        let mut effects = Vec::new();
        for (index, result) in results.enumerate() {
            match result {
                Ok(evidence) => {
                    effects.push(evidence.effect);
                    tally.count(index, evidence);
                }
                Err(Abort::Undecided(why)) => *tally.undecided.entry(why).or_default() += 1,
                Err(Abort::Error(e)) => return Err(e),
            }
        }
        tally.median_effect = median(effects);
        Ok(tally)
    }

    fn count(&mut self, index: usize, evidence: Evidence) {
        match evidence.agreement {
            Agreement::Agrees => self.agree += 1,
            Agreement::NoDifference => self.no_difference += 1,
            Agreement::Disagrees | Agreement::DisagreesHere => {
                self.opposite += 1;
                self.agree_elsewhere += usize::from(evidence.agreement == Agreement::DisagreesHere);
                if self.counter_example.as_ref().is_none_or(|(_, c)| evidence.effect < c.effect) {
                    self.counter_example = Some((index, evidence));
                }
            }
        }
    }

    /// Samples that agree, disagree or show no difference.
    #[must_use]
    pub fn decided(&self) -> usize {
        self.agree + self.opposite + self.no_difference
    }

    /// Share of the decided samples that agree.
    #[must_use]
    pub fn share(&self) -> Option<f64> {
        self.share_of(self.agree)
    }

    /// `n` as a share of the decided samples.
    pub(super) fn share_of(&self, n: usize) -> Option<f64> {
        (self.decided() > 0).then(|| n as f64 / self.decided() as f64)
    }

    /// Interval of 95 % of the share that agrees.
    #[must_use]
    pub fn interval(&self) -> (f64, f64) {
        wilson_95(self.agree, self.decided())
    }

    /// Interval of 95 % of the share that disagrees.
    #[must_use]
    pub fn opposite_interval(&self) -> (f64, f64) {
        wilson_95(self.opposite, self.decided())
    }

    /// The verdict. "Most" needs the whole interval of its own share above one half. The opposite counts against a rule
    /// only where it holds throughout: an effect that turns within the range has no sign to contradict.
    #[must_use]
    pub fn verdict(&self) -> RuleVerdict {
        let decided = self.decided();
        let most = |n: usize| wilson_95(n, decided).0 > 0.5;
        let throughout = self.opposite - self.agree_elsewhere;
        let turns =
            self.opposite == decided || most(self.opposite) || 2 * self.agree_elsewhere > self.opposite;
        let may_be_half = |n: usize| wilson_95(n, decided).1 >= 0.5;
        match self.rule.claim {
            _ if decided == 0 => RuleVerdict::Nothing,
            Claim::CanHappen if self.agree > 0 => RuleVerdict::Happens,
            Claim::CanHappen => RuleVerdict::NeverHappened,
            Claim::MostNotAll if most(self.agree) && self.agree < decided => RuleVerdict::MostNotAll,
            Claim::MostNotAll if most(self.agree) => RuleVerdict::All,
            Claim::MostNotAll if most(self.opposite) => RuleVerdict::NotMost,
            Claim::Holds if self.agree == decided => RuleVerdict::EveryTime,
            Claim::Holds if throughout == decided => RuleVerdict::OppositeEveryTime,
            Claim::Holds if most(self.agree) => RuleVerdict::Most,
            Claim::Holds if most(throughout) => RuleVerdict::OppositeMost,
            _ if most(self.no_difference) => RuleVerdict::HardlyActs,
            Claim::Holds if turns => RuleVerdict::DependsWhere,
            _ if self.agree == 0 => RuleVerdict::Never,
            _ if may_be_half(self.agree) => RuleVerdict::Half,
            _ => RuleVerdict::NoMajority,
        }
    }

    /// The model contradicts it more often than not.
    #[must_use]
    pub fn contradicted(&self) -> bool {
        self.verdict().contradicts()
    }
}

/// Verdict on a statement.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RuleVerdict {
    /// No sample decides anything.
    Nothing,
    /// All samples agree.
    EveryTime,
    /// Most agree.
    Most,
    /// It may be that most agree, and that they do not.
    Half,
    /// None agrees, though the opposite is not shown for most.
    Never,
    /// Neither agreeing, nor the opposite, nor no difference is shown for most; agreeing is not either.
    NoMajority,
    /// Where it is opposite, it mostly agrees elsewhere in the same sample.
    DependsWhere,
    /// No difference for most.
    HardlyActs,
    /// The opposite for most.
    OppositeMost,
    /// The opposite for all.
    OppositeEveryTime,
    /// What can happen does.
    Happens,
    /// What can happen did not.
    NeverHappened,
    /// For most and not for all, as claimed.
    MostNotAll,
    /// For all, though claimed for most only.
    All,
    /// Not for most, though claimed.
    NotMost,
}

impl RuleVerdict {
    /// In plain words.
    #[must_use]
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Nothing => "decides nothing here",
            Self::EveryTime => "held every time",
            Self::Most => "holds for most",
            Self::Half => "holds for about half",
            Self::Never => "never held: opposite or no difference",
            Self::NoMajority => "holds for less than half",
            Self::DependsWhere => "depends where",
            Self::HardlyActs => "hardly acts: no difference for most",
            Self::OppositeMost => "contradicted for most",
            Self::OppositeEveryTime => "contradicted every time",
            Self::Happens => "happens",
            Self::NeverHappened => "never happened",
            Self::MostNotAll => "for most, not for all: as the rule says",
            Self::All => "contradicted: for all",
            Self::NotMost => "contradicted: not for most",
        }
    }

    /// The opposite of the statement is shown.
    #[must_use]
    pub fn contradicts(self) -> bool {
        matches!(self, Self::OppositeMost | Self::OppositeEveryTime | Self::All | Self::NotMost)
    }
}
