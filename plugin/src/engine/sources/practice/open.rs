//! A question that has been asked and waits for its answer. Imports the practice crate.

use guidehand_practice::{Exercise, Help};

/// What holds for every question of a drill.
#[derive(Clone, Copy, Debug, Default)]
pub struct HelpRule {
    /// What is shown at first.
    pub first: Help,
    /// More is shown after so many samples, and again after as many.
    pub more_after_samples: Option<u64>,
}

impl HelpRule {
    /// The rule of an exercise, at so many samples a second.
    pub fn of(exercise: &Exercise, second_samples: u64) -> HelpRule {
        let more = exercise.more_after_s;
        HelpRule {
            first: exercise.help,
            more_after_samples: more.map(|seconds| u64::from(seconds) * second_samples),
        }
    }
}

/// One step more help.
const fn more(help: Help) -> Help {
    match help {
        Help::Nothing => Help::GuideTones,
        Help::GuideTones | Help::Everything => Help::Everything,
    }
}

/// A question that waits for its answer.
#[derive(Clone, Copy, Debug, Default)]
pub struct Open {
    /// Its index in the drill.
    pub question: u32,
    /// The question before it in its item.
    pub before: Option<u32>,
    /// When it was asked, in samples since the last reset.
    pub asked_samples: u64,
    /// How much help is shown.
    pub help: Help,
    /// When more is shown by itself, in samples since the last reset.
    pub more_at: Option<u64>,
    /// Something was wrong already.
    pub missed: bool,
    /// Something was played for it.
    pub tried: bool,
    /// When its chord falls, in ticks; 0 in free time.
    pub falls: f64,
    /// How long it lasts, in ticks.
    pub length: f64,
    /// What is held a moment after its chord has fallen has been looked at.
    pub looked_at: bool,
}

impl Open {
    /// A question that is asked now.
    pub fn ask(question: u32, before: Option<u32>, now_samples: u64, rule: &HelpRule) -> Open {
        Open {
            question,
            before,
            asked_samples: now_samples,
            help: rule.first,
            more_at: rule.more_at(rule.first, now_samples),
            ..Open::default()
        }
    }

    /// When its chord is over, in ticks.
    pub const fn over(&self) -> f64 {
        self.falls + self.length
    }

    /// One step more help is shown.
    pub fn show_more(&mut self, now_samples: u64, rule: &HelpRule) {
        self.help = more(self.help);
        self.more_at = rule.more_at(self.help, now_samples);
    }

    /// Whether more help is shown than at first.
    pub fn is_helped(&self, rule: &HelpRule) -> bool {
        self.help > rule.first
    }
}

impl HelpRule {
    /// When more help comes, if there is more.
    fn more_at(&self, shown: Help, now_samples: u64) -> Option<u64> {
        let after = self
            .more_after_samples
            .filter(|_| shown < Help::Everything)?;
        Some(now_samples.saturating_add(after))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn help_grows_step_by_step_and_ends_with_everything() {
        let rule = HelpRule {
            first: Help::Nothing,
            more_after_samples: Some(100),
        };
        let mut open = Open::ask(3, None, 1000, &rule);
        assert_eq!((open.help, open.more_at), (Help::Nothing, Some(1100)));
        assert!(!open.is_helped(&rule));
        open.show_more(1100, &rule);
        assert_eq!((open.help, open.more_at), (Help::GuideTones, Some(1200)));
        open.show_more(1150, &rule);
        assert_eq!((open.help, open.more_at), (Help::Everything, None));
        open.show_more(1160, &rule);
        assert_eq!(open.help, Help::Everything);
        assert!(open.is_helped(&rule));
    }
}
