//! Where are the bar lines? The grid of bars from the time signatures, in ticks as played and in quarter notes as written.

use super::bytes::{Division, Header};
use super::take::{MetreAt, Take};
use crate::FormatError;
use notation::{Quarters, Rational};

/// More bars than a piece for players has; a file can ask for any number by being silent.
pub(super) const MOST_BARS: usize = 20_000;

/// How ticks become quarter notes.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct Clock {
    /// Ticks of a quarter note.
    pub per_quarter: Rational,
}

impl Clock {
    /// Of a file whose ticks are parts of a second, by its first tempo or the standard's 120 a minute.
    pub(super) fn new(header: Header, take: &Take) -> Option<Self> {
        let per_quarter = match header.division {
            Division::PerQuarter(ticks) => Rational::whole(i64::from(ticks)),
            Division::PerSecond { frames, ticks } => {
                let frames = match frames {
                    29 => Rational::new(30_000, 1_001),
                    frames => Rational::whole(i64::from(frames)),
                };
                let micros = take.tempos.first().map_or(DEFAULT_TEMPO, |(_, micros)| *micros);
                frames * Rational::whole(i64::from(ticks)) * Rational::new(i64::from(micros), 1_000_000)
            }
        };
        (per_quarter.is_positive() && !per_quarter.is_overflow()).then_some(Self { per_quarter })
    }

    pub(super) fn quarters(self, ticks: u64) -> Quarters {
        i64::try_from(ticks).map_or(Quarters::OVERFLOW, Rational::whole) / self.per_quarter
    }

    /// The nearest tick.
    pub(super) fn ticks(self, quarters: Quarters) -> u64 {
        let nearest = (quarters * self.per_quarter + Rational::new(1, 2)).floor();
        u64::try_from(nearest).unwrap_or(0)
    }
}

/// Microseconds of a quarter note where a file gives no tempo. Source: RP-001, Set Tempo: 120 beats a minute.
pub(super) const DEFAULT_TEMPO: u32 = 500_000;

/// One bar.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct GridBar {
    /// Its first tick.
    pub tick: u64,
    /// Quarter notes from the start of the piece to its start, as written.
    pub start: Quarters,
    /// Its length as written.
    pub length: Quarters,
    pub metre: MetreAt,
    /// The time signature is stated at its start.
    pub stated: bool,
}

impl GridBar {
    /// What its metre asks for.
    pub(super) fn full(&self) -> Quarters {
        full(self.metre)
    }

    pub(super) fn is_short(&self) -> bool {
        self.length < self.full()
    }

    pub(super) fn end(&self) -> Quarters {
        self.start + self.length
    }
}

fn full(metre: MetreAt) -> Quarters {
    Rational::new(i64::from(metre.beats) * 4, i64::from(metre.beat_type))
}

/// The bars up to the last note; an error if there would be more than a piece has.
pub(super) fn bars(take: &Take, clock: Clock) -> Result<Vec<GridBar>, FormatError> {
    let slack = clock.ticks(Rational::new(1, 16));
    let last = take
        .notes
        .iter()
        .map(|note| (note.off.saturating_sub(slack)).max(note.on + 1));
    let end = last.max().unwrap_or(0);
    let mut grid = Grid {
        clock,
        bars: Vec::new(),
        start: Quarters::ZERO,
    };
    // Source: RP-001, Time Signature: 4/4 where none is given.
    let mut metre = MetreAt {
        tick: 0,
        beats: 4,
        beat_type: 4,
    };
    let mut from = 0;
    let mut stated = false;
    for next in take.metres.iter().filter(|next| next.tick < end) {
        from = grid.fill(metre, from, next.tick, stated, slack)?;
        (metre, stated) = (*next, true);
    }
    while from < end || grid.bars.is_empty() {
        from = grid.one(metre, from, full(metre), std::mem::take(&mut stated))?;
    }
    show_pickup(&mut grid.bars);
    Ok(grid.bars)
}

/// A shorter metre for the first bar alone is how programs write a pickup: the bar is the end of one in the next metre.
fn show_pickup(bars: &mut [GridBar]) {
    if let [first, second, ..] = bars
        && first.stated
        && second.stated
        && full(first.metre) < full(second.metre)
    {
        first.metre = MetreAt {
            tick: first.tick,
            ..second.metre
        };
    }
}

struct Grid {
    clock: Clock,
    bars: Vec<GridBar>,
    start: Quarters,
}

impl Grid {
    /// Adds a bar and gives the tick after it.
    fn one(&mut self, metre: MetreAt, tick: u64, length: Quarters, stated: bool) -> Result<u64, FormatError> {
        let too_many = self.bars.len() >= MOST_BARS;
        let next = tick.saturating_add(self.clock.ticks(length).max(1));
        if too_many || (self.start + length).is_overflow() {
            return Err(FormatError::Midi {
                what: format!("it lasts more than {MOST_BARS} bars, mostly silence"),
                advice: "look whether it is the right file",
            });
        }
        self.bars.push(GridBar {
            tick,
            start: self.start,
            length,
            metre,
            stated,
        });
        self.start += length;
        Ok(next)
    }

    /// Bars of a metre up to the tick where the next is stated; a last one may be short. Gives the next bar's first tick.
    fn fill(
        &mut self,
        metre: MetreAt,
        from: u64,
        until: u64,
        mut stated: bool,
        slack: u64,
    ) -> Result<u64, FormatError> {
        let mut tick = from;
        let bar = self.clock.ticks(full(metre)).max(1);
        let origin = self.clock.quarters(from);
        let mut count = 0_i64;
        while until.saturating_sub(tick) > slack {
            let left = until - tick;
            if left >= bar.saturating_sub(slack) {
                self.one(metre, tick, full(metre), std::mem::take(&mut stated))?;
                count += 1;
                // From the first bar of the metre, so that rounded ticks don't add up.
                tick = self
                    .clock
                    .ticks(origin + full(metre) * Rational::whole(count))
                    .max(tick + 1);
            } else {
                let length = self.clock.quarters(left);
                self.one(metre, tick, plain(length), std::mem::take(&mut stated))?;
                tick = until;
            }
        }
        // The metre is stated where the bar line is heard.
        Ok(if tick > from { until } else { from.max(until) })
    }
}

/// A length as notation can show it: as it is where it is simple, else to the nearest sixteenth of a quarter note.
pub(super) fn plain(length: Quarters) -> Quarters {
    if length.den() <= 48 && length.den() > 0 {
        return length;
    }
    let sixteenths = (length * Rational::whole(16) + Rational::new(1, 2))
        .floor()
        .max(1);
    Rational::new(sixteenths, 16)
}

/// The bar in which a tick falls; the last for whatever comes after.
pub(super) fn bar_of(bars: &[GridBar], tick: u64) -> usize {
    bars.partition_point(|bar| bar.tick <= tick).saturating_sub(1)
}
