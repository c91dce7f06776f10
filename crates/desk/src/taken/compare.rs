//! How does it stand beside an earlier take? Bar by bar, tempo, tuning: what is clean now, what no longer is.

use super::Taken;
use crate::DeskError;
use notation::BarIndex;
use std::collections::BTreeMap;
use std::path::Path;
use take::heard::{HeardBar, Reached};
use wire::EarlierTake;

/// A tempo that differs by less than this is the same, in hundredths: what is hardly noticed (2.5, Friberg & Sundberg 1995) twice over.
const SAME_TEMPO: f64 = 5.0;
/// Tuning that differs by less is the same, in cents. Judgement: single notes scatter by as much.
const SAME_CENTS: f64 = 5.0;

/// Runs of bars that one sentence names.
const MOST_RUNS: usize = 8;

/// A take beside an earlier one of the same piece.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Beside {
    /// The earlier take's recording.
    pub earlier: String,
    /// Bars that were not clean and are now.
    pub better: Vec<BarIndex>,
    /// Bars that were clean and are not now.
    pub worse: Vec<BarIndex>,
    /// Bars that were clean neither time.
    pub still: Vec<BarIndex>,
    /// In a teacher's words.
    pub says: Vec<String>,
}

/// Reads a take that was told as JSON before.
///
/// # Errors
/// If the file can't be read, or is no take.
pub fn earlier_take(path: &Path) -> Result<EarlierTake, DeskError> {
    const FILE: crate::small_file::Kind = crate::small_file::Kind {
        missing: |path| DeskError::NotFound { path },
        name: "take",
        example: "take.json",
        most_bytes: 64_000_000,
    };
    let text = crate::small_file::read(path, &FILE)?;
    wire::read_take(&text).ok_or_else(|| DeskError::Player {
        what: format!("{} tells of no take", path.display()),
        advice: "give what `foreread take … --as json` wrote for the earlier recording".to_owned(),
    })
}

impl Taken {
    /// Compares with an earlier take of the same piece; only bars that both reached whole or in part are spoken of.
    #[must_use]
    pub fn beside(&self, earlier: &EarlierTake) -> Beside {
        let mut then: BTreeMap<BarIndex, bool> = BTreeMap::new();
        for bar in earlier
            .bars
            .iter()
            .filter(|bar| bar.heard != "not" && bar.notes > 0)
        {
            let clean = then.entry(BarIndex(bar.bar_index)).or_insert(true);
            *clean &= bar.clean;
        }
        let mut now: BTreeMap<BarIndex, bool> = BTreeMap::new();
        let reached = |bar: &&HeardBar| bar.reached != Reached::Not && bar.expected > 0;
        for bar in self.heard.bars.iter().filter(reached) {
            let clean = now.entry(bar.bar).or_insert(true);
            *clean &= bar.clean();
        }
        let mut beside = Beside {
            earlier: earlier.recording.clone(),
            ..Beside::default()
        };
        for (bar, clean) in &now {
            match (then.get(bar), clean) {
                (Some(false), true) => beside.better.push(*bar),
                (Some(true), false) => beside.worse.push(*bar),
                (Some(false), false) => beside.still.push(*bar),
                _ => {}
            }
        }
        beside.says = self.compared(&beside, earlier, then.keys().any(|bar| now.contains_key(bar)));
        beside
    }

    fn compared(&self, beside: &Beside, earlier: &EarlierTake, overlap: bool) -> Vec<String> {
        if !overlap || !self.heard.tells() {
            return vec!["The two takes have no bar in common: there is nothing to compare.".to_owned()];
        }
        let mut says = Vec::new();
        let listed = |bars: &[BarIndex]| {
            let named: Vec<(usize, String)> = bars.iter().map(|bar| (bar.get(), self.label(*bar))).collect();
            sheet::bar_runs(&named, MOST_RUNS).join(", ")
        };
        for (bars, one, many) in [
            (
                &beside.better,
                "is clean now and was not",
                "are clean now and were not",
            ),
            (
                &beside.worse,
                "was clean and is not now",
                "were clean and are not now",
            ),
            (
                &beside.still,
                "was not clean either time",
                "were not clean either time",
            ),
        ] {
            match bars.as_slice() {
                [] => {}
                [bar] => says.push(format!("Bar {} {one}.", self.label(*bar))),
                bars => says.push(format!("Bars {} {many}.", listed(bars))),
            }
        }
        if beside.better.is_empty() && beside.worse.is_empty() && beside.still.is_empty() {
            says.push("Every bar that both takes reached was clean both times.".to_owned());
        }
        if let (Some(then), Some(now)) = (earlier.tempo.bpm, self.heard.tempo.bpm)
            && earlier.tempo.beat_quarters == Some(self.heard.tempo.beat.to_f64())
        {
            let change = (now / then - 1.0) * 100.0;
            says.push(if change.abs() < SAME_TEMPO {
                format!("The tempo is the same ({then:.0}, now {now:.0} beats a minute).")
            } else if change > 0.0 {
                format!("It is faster: {now:.0} beats a minute, {then:.0} before.")
            } else {
                format!("It is slower: {now:.0} beats a minute, {then:.0} before.")
            });
        }
        says.extend(self.tuning_beside(earlier));
        says
    }

    /// Notes that mattered in one of the takes.
    fn tuning_beside(&self, earlier: &EarlierTake) -> Vec<String> {
        let now = &self.heard.intonation;
        let pairs = earlier.intonation.iter().filter_map(|then| {
            let now = now.iter().find(|now| now.written.to_string() == then.written)?;
            let spoken = (then.matters || now.matters) && (now.cents - then.cents).abs() >= SAME_CENTS;
            spoken.then_some((then, now))
        });
        pairs
            .take(3)
            .map(|(then, now)| {
                let word = if now.cents.abs() < then.cents.abs() {
                    "nearer"
                } else {
                    "farther off"
                };
                format!(
                    "{} lies {word}: {:+.0} cents, {:+.0} before.",
                    now.written.sign(),
                    now.cents,
                    then.cents
                )
            })
            .collect()
    }
}
