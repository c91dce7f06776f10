//! What are the three things worth working on, and by which drill? What broke first, then what was learned wrong, then time, tuning,
//! touch.

use super::{Followed, Heard, Touch, intonation, round};
use crate::align::{JumpKind, Was};
use crate::expected::Expected;
use crate::numbers::real;
use notation::{BarIndex, Piece, Pitch};
use std::collections::BTreeMap;

/// A drill by its fixed name.
pub type Drill = &'static str;

/// One thing to work on.
#[derive(Clone, PartialEq, Debug)]
pub struct WorkOn {
    /// What.
    pub what: String,
    /// What was heard that says so.
    pub why: String,
    /// What to do.
    pub how: String,
    /// The bars, first and last; `None` for the whole.
    pub bars: Option<(BarIndex, BarIndex)>,
    /// The drill, by its fixed name.
    pub drill: Option<Drill>,
    /// How much it matters beside the others.
    pub(crate) matters: f64,
}

/// How many are named.
const MOST: usize = 3;

/// The things that matter most, the first first; of one kind and bar only one.
pub(super) fn work(piece: &Piece, line: &[Expected], heard: &Heard) -> Vec<WorkOn> {
    let mut all = broken(piece, heard);
    all.extend(learned(piece, heard));
    all.extend(wrong(piece, line, heard));
    all.extend(rhythm(piece, heard));
    all.extend(rushing(heard));
    all.extend(tuning(heard));
    all.extend(touch(piece, heard));
    all.extend(dynamics(piece, heard));
    all.sort_by(|a, b| b.matters.total_cmp(&a.matters));
    let mut chosen: Vec<WorkOn> = Vec::new();
    for one in all {
        let taken = chosen
            .iter()
            .any(|other| other.bars.is_some() && other.bars == one.bars);
        if chosen.len() < MOST && !taken {
            chosen.push(one);
        }
    }
    chosen
}

fn label(piece: &Piece, bar: BarIndex) -> String {
    piece.label(bar).to_owned()
}

fn times(count: usize) -> String {
    match count {
        1 => "once".to_owned(),
        2 => "twice".to_owned(),
        many => format!("{many} times"),
    }
}

/// Bars where it stopped or went back.
fn broken(piece: &Piece, heard: &Heard) -> Vec<WorkOn> {
    let mut at: BTreeMap<BarIndex, (usize, usize)> = BTreeMap::new();
    for restart in heard
        .restarts
        .iter()
        .filter(|restart| restart.kind == JumpKind::Back)
    {
        at.entry(restart.from.bar).or_default().0 += 1;
    }
    for hesitation in &heard.hesitations {
        at.entry(hesitation.place.bar).or_default().1 += 1;
    }
    at.into_iter()
        .map(|(bar, (restarts, waits))| {
            let mut what = Vec::new();
            if restarts > 0 {
                what.push(format!("went back from here {}", times(restarts)));
            }
            if waits > 0 {
                what.push(format!("waited here {}", times(waits)));
            }
            let before = BarIndex(bar.0.saturating_sub(1));
            WorkOn {
                what: format!("bar {}", label(piece, bar)),
                why: format!("you {}", what.join(" and ")),
                how: "build it up from its last note, one note more each time, then come into it from the bar before".to_owned(),
                bars: Some((before, bar)),
                drill: Some("add-from-end"),
                matters: 3.0 * real(restarts) + 2.0 * real(waits),
            }
        })
        .collect()
}

fn learned(piece: &Piece, heard: &Heard) -> Vec<WorkOn> {
    let of = |learned: &super::Learned| WorkOn {
        what: format!(
            "{} in bar {}",
            learned
                .written
                .map_or_else(|| "a note".to_owned(), Pitch::sign_natural),
            label(piece, learned.place.bar)
        ),
        why: format!(
            "{} was played there {}: learned, not slipped",
            learned.heard.sign_natural(),
            times(learned.times)
        ),
        how: "circle it, say its name, then play the bar at half speed until the right one comes by itself"
            .to_owned(),
        bars: Some((learned.place.bar, learned.place.bar)),
        drill: Some("half-speed"),
        matters: 3.0 + 1.5 * real(learned.times),
    };
    heard.learned.iter().map(of).collect()
}

/// Bars with wrong or missing notes.
fn wrong(piece: &Piece, line: &[Expected], heard: &Heard) -> Vec<WorkOn> {
    let mut at: BTreeMap<BarIndex, usize> = BTreeMap::new();
    let counts = |note: &&super::HeardNote| {
        matches!(note.was, Was::Wrong | Was::Missing | Was::Extra)
            && super::is_written(line, note)
            && note.sure >= 0.5
    };
    for note in heard.notes.iter().filter(counts) {
        *at.entry(note.place.bar).or_default() += 1;
    }
    at.into_iter()
        .map(|(bar, count)| WorkOn {
            what: format!("the notes of bar {}", label(piece, bar)),
            why: if count == 1 {
                "one was not as written".to_owned()
            } else {
                format!("{count} were not as written")
            },
            how: "at half speed first, then in groups with a stop after each".to_owned(),
            bars: Some((bar, bar)),
            drill: Some(if count > 2 {
                "half-speed"
            } else {
                "groups-with-stops"
            }),
            matters: 1.0 * real(count),
        })
        .collect()
}

fn rhythm(piece: &Piece, heard: &Heard) -> Vec<WorkOn> {
    let bars = heard
        .bars
        .iter()
        .filter(|bar| bar.out_of_time > 0 && bar.hesitations + bar.restarts == 0);
    let mut at: BTreeMap<BarIndex, usize> = BTreeMap::new();
    for bar in bars {
        *at.entry(bar.bar).or_default() += bar.out_of_time;
    }
    at.into_iter()
        .map(|(bar, count)| WorkOn {
            what: format!("the rhythm of bar {}", label(piece, bar)),
            why: if count == 1 {
                "one note lies far from your own pulse".to_owned()
            } else {
                format!("{count} notes lie far from your own pulse")
            },
            how: "tap the beat, say the rhythm, then play it on one note".to_owned(),
            bars: Some((bar, bar)),
            drill: Some("rhythm-only"),
            matters: 0.8 * real(count),
        })
        .collect()
}

/// Hundredths of tempo gained or lost from which it is worth saying. Judgement.
pub(super) const DRIFT: f64 = 8.0;

fn rushing(heard: &Heard) -> Option<WorkOn> {
    let gains = heard.tempo.gains;
    (gains.abs() >= DRIFT).then(|| WorkOn {
        what: "a steady tempo".to_owned(),
        why: format!(
            "the end is {} hundredths {} than the beginning",
            round(gains.abs()),
            if gains > 0.0 { "faster" } else { "slower" }
        ),
        how: "play it with the click sounding for two bars and silent for two".to_owned(),
        bars: None,
        drill: None,
        matters: 1.0 + gains.abs() / 8.0,
    })
}

fn tuning(heard: &Heard) -> Option<WorkOn> {
    let first = intonation::first(&heard.intonation, 3);
    let worst = first.first()?;
    let said: Vec<String> = first.iter().map(|one| said(one)).collect();
    Some(WorkOn {
        what: "tuning".to_owned(),
        why: said.join("; "),
        how: "hold each against a drone, softly, and slide into the place where it stands still".to_owned(),
        bars: None,
        drill: None,
        matters: worst.cents.abs() / 8.0 + 0.1 * real(worst.count),
    })
}

/// `E♭3 runs 18 cents sharp (11 times)`.
pub(super) fn said(one: &super::Intonation) -> String {
    format!(
        "{} runs {} cents {} ({})",
        one.written.sign(),
        round(one.cents.abs()),
        if one.cents > 0.0 { "sharp" } else { "flat" },
        times(one.count)
    )
}

fn touch(piece: &Piece, heard: &Heard) -> Vec<WorkOn> {
    heard
        .touches
        .iter()
        .filter(|touch| touch.missed >= 3 && 2 * touch.missed >= touch.count)
        .map(|touch| {
            let bars: Vec<String> = touch.bars.iter().take(6).map(|bar| label(piece, *bar)).collect();
            let (what, drill, how) = match touch.touch {
                Touch::Short => (
                    "short notes",
                    "tongue-only",
                    "the attacks alone on one note, each stopped at half its time",
                ),
                Touch::Slurred => (
                    "unbroken slurs",
                    "without-slurs",
                    "first tongued and in time, then slurred without letting the air stop",
                ),
            };
            WorkOn {
                what: what.to_owned(),
                why: format!(
                    "{} of {} were not so, in bar{} {}",
                    touch.missed,
                    touch.count,
                    if bars.len() == 1 { "" } else { "s" },
                    bars.join(", ")
                ),
                how: how.to_owned(),
                bars: touch.bars.first().map(|bar| (*bar, *bar)),
                drill: Some(drill),
                matters: 1.0 + 0.1 * real(touch.missed),
            }
        })
        .collect()
}

fn dynamics(piece: &Piece, heard: &Heard) -> Option<WorkOn> {
    let missed: Vec<&super::DynamicHeard> = heard
        .dynamics
        .iter()
        .filter(|one| one.followed == Followed::No)
        .collect();
    let first = missed.first()?;
    (2 * missed.len() >= heard.dynamics.len()).then(|| WorkOn {
        what: "dynamics".to_owned(),
        why: format!(
            "{} of {} changes were not heard, the first in bar {}",
            missed.len(),
            heard.dynamics.len(),
            label(piece, first.place.bar)
        ),
        how: "play it once with the dynamics drawn twice as wide as you think they need".to_owned(),
        bars: Some((first.place.bar, first.place.bar)),
        drill: None,
        matters: 0.8 + 0.2 * real(missed.len()),
    })
}
