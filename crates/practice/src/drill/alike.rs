//! Which bars look alike and differ? Runs of them, paired with the bars that they resemble.

use super::Source;
use super::draft::{DraftBar, Tone, whole_voice};
use crate::BarSpan;
use load::alike::How;
use notation::BarIndex;

/// Most bars on either side.
const LONGEST: u32 = 4;
/// Most pairs.
const MOST: usize = 8;

/// Two stretches that look alike.
#[derive(Clone, PartialEq, Debug)]
pub(crate) struct Twins {
    /// The later bars.
    pub span: BarSpan,
    /// The earlier ones.
    pub like: BarSpan,
    /// What differs, clauses.
    pub differences: Vec<String>,
}

/// The pairs with something that differs, in order of place. The same difference of the same bars comes once.
pub(crate) fn twins(source: &Source) -> Vec<Twins> {
    let voice = Drilled::of(source);
    let mut all: Vec<Twins> = Vec::new();
    for alike in &source.study.alike.look_alikes {
        let same_place = match alike.how {
            How::Same | How::Nearly(0) => true,
            // A shifted bar is another bar to the eye; it is no trap unless a note differs in its shape.
            How::Nearly(_) => true,
            How::Octaves(_) | How::Steps(_) | How::Key { .. } => false,
        };
        if alike.differences.is_empty() || !same_place || voice.is_one(alike.bar, alike.like) {
            continue;
        }
        let (bar, like) = (alike.bar, alike.like);
        let goes_on = all.last_mut().filter(|twins| {
            twins.span.to.next() == bar
                && twins.like.to.next() == like
                && twins.span.to.0 - twins.span.from.0 + 1 < LONGEST
        });
        match goes_on {
            Some(twins) => {
                twins.span.to = bar;
                twins.like.to = like;
                twins.differences.extend(alike.differences.iter().cloned());
            }
            None => all.push(Twins {
                span: one(bar),
                like: one(like),
                differences: alike.differences.clone(),
            }),
        }
    }
    let mut known: Vec<(BarSpan, Vec<String>)> = Vec::new();
    all.retain(|twins| {
        let key = (twins.like, twins.differences.clone());
        let new = !known.contains(&key);
        if new {
            known.push(key);
        }
        new
    });
    all.truncate(MOST);
    all
}

/// The bars of the voice that is drilled, where the part has others.
struct Drilled {
    bars: Vec<DraftBar>,
}

impl Drilled {
    fn of(source: &Source) -> Self {
        let voices = source.survey.metre.as_ref().map_or(1, |metre| metre.voice.voices);
        Self {
            bars: if voices > 1 {
                whole_voice(source)
            } else {
                Vec::new()
            },
        }
    }

    /// Whether two bars are one and the same in this voice: what differs then stands in another, which is not drilled.
    fn is_one(&self, one: BarIndex, other: BarIndex) -> bool {
        let bar = |asked: BarIndex| self.bars.iter().find(|bar| bar.from == Some(asked));
        let (Some(one), Some(other)) = (bar(one), bar(other)) else {
            return false;
        };
        let alike = |(one, other): (&Tone, &Tone)| {
            one.length == other.length
                && one.heads == other.heads
                && one.articulations == other.articulations
                && one.ornaments == other.ornaments
        };
        one.tones.len() == other.tones.len() && one.tones.iter().zip(&other.tones).all(alike)
    }
}

fn one(bar: BarIndex) -> BarSpan {
    BarSpan::new(bar, bar)
}
