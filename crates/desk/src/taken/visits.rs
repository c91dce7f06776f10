//! How does a take stand in the log of practice? As visits to its bars, run by run: clean at its tempo, or not yet.

use super::Taken;
use crate::LogAsked;
use notation::BarIndex;
use take::heard::{HeardBar, Reached};

/// One run at most for each so many: a take that changes from bar to bar is one visit, not thirty.
const MOST: usize = 12;

/// Bars played one after another.
struct Run<'a> {
    bars: Vec<&'a HeardBar>,
    clean: bool,
}

impl Taken {
    /// The visits that this take was, to be written down beside the piece or kept in the app: `date` is the day, as for the log.
    /// Nothing where too little was heard to say anything.
    #[must_use]
    pub fn visits(&self, date: Option<&str>) -> Vec<LogAsked> {
        if !self.heard.tells() {
            return Vec::new();
        }
        let mut runs = self.runs();
        if runs.len() > MOST {
            runs = whole(runs);
        }
        runs.iter().map(|run| self.visit(run, date)).collect()
    }

    fn runs(&self) -> Vec<Run<'_>> {
        let mut runs: Vec<Run> = Vec::new();
        let reached = |bar: &&HeardBar| bar.reached != Reached::Not && bar.expected > 0;
        for bar in self.heard.bars.iter().filter(reached) {
            let follows = |run: &&mut Run| {
                let last = run.bars.last().map(|last| last.bar);
                run.clean == bar.clean() && last.is_some_and(|last| last.0 + 1 == bar.bar.0)
            };
            match runs.last_mut().filter(follows) {
                Some(run) => run.bars.push(bar),
                None => runs.push(Run {
                    bars: vec![bar],
                    clean: bar.clean(),
                }),
            }
        }
        runs
    }

    fn visit(&self, run: &Run, date: Option<&str>) -> LogAsked {
        let label = |bar: Option<&&HeardBar>| bar.map_or_else(String::new, |bar| self.label(bar.bar));
        let tempo = tempo(&run.bars).or(self.heard.tempo.bpm);
        let beat = survey::metre::BeatUnit::of_quarters(self.heard.tempo.beat);
        LogAsked {
            bars: Some(format!("{}-{}", label(run.bars.first()), label(run.bars.last()))),
            // Whole beats a minute, as a metronome has them.
            tempo: tempo
                .map(f64::round)
                .filter(|tempo| (10.0..=500.0).contains(tempo) && beat.is_some()),
            beat: beat.map(|beat| beat.code()),
            clean: Some(u32::from(run.clean)),
            note: Some(format!("heard in the take {}", self.recording)),
            date: date.map(str::to_owned),
            ..LogAsked::default()
        }
    }
}

/// The middle of the bars' tempi.
fn tempo(bars: &[&HeardBar]) -> Option<f64> {
    let mut tempi: Vec<f64> = bars.iter().filter_map(|bar| bar.tempo).collect();
    tempi.sort_by(f64::total_cmp);
    tempi.get(tempi.len() / 2).copied()
}

/// Runs joined where the bars go on, clean or not.
fn whole(runs: Vec<Run<'_>>) -> Vec<Run<'_>> {
    let mut joined: Vec<Run> = Vec::new();
    for run in runs {
        let first = run.bars.first().map(|bar| bar.bar);
        let goes_on = |before: &&mut Run| {
            let last: Option<BarIndex> = before.bars.last().map(|bar| bar.bar);
            last.zip(first).is_some_and(|(last, first)| last.0 + 1 == first.0)
        };
        match joined.last_mut().filter(goes_on) {
            Some(before) => {
                before.clean &= run.clean;
                before.bars.extend(run.bars);
            }
            None => joined.push(run),
        }
    }
    joined
}
