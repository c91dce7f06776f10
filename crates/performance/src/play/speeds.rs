//! How fast is it at every written place? Marks, words by a named table, gradual changes up to the next mark.
//!
//! Words set the middle of their range by one table, which is named. Changes count by the modest default factors of
//! the terms tables (from memory): nobody's ritardando is a number. A playback hint of the file is followed only until
//! the page itself sets a speed.

use super::beats::BarBeats;
use super::marks::{Mark, marks};
use super::options::PlayOptions;
use notation::{BarIndex, Finding, Part, Piece, Place, Quarters, Rational, Severity};
use terms::tempo::{ChangeDirection, Onset, TempoChange};

/// A gradual change whose end is not marked ends after so many bars. Common practice: a ritardando belongs to the end
/// of its phrase.
const GRADUAL_BARS: u32 = 4;
/// No speed is slower or faster than this, in quarter notes a minute.
const SLOWEST: i64 = 4;
const FASTEST: i64 = 1_200;

/// A written stretch with its speeds at both ends, in quarter notes a minute. Points are quarter notes from the
/// beginning in written order.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct Written {
    pub from: Quarters,
    pub to: Quarters,
    pub start: Rational,
    pub end: Rational,
}

/// How a speed was reached, for the player.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct TempoSaid {
    /// Where.
    pub place: Place,
    /// As printed; empty where nothing is.
    pub text: String,
    /// What was made of it, a clause.
    pub says: String,
    /// The speed from there, or the one reached by a gradual change, in quarter notes a minute.
    pub quarters_a_minute: Rational,
}

#[derive(Debug, Default)]
pub(super) struct Speeds {
    pub stretches: Vec<Written>,
    pub said: Vec<TempoSaid>,
    pub findings: Vec<Finding>,
}

/// The nearest thousandth: speeds are no more exact than that, and stay small fractions.
#[expect(clippy::cast_possible_truncation, reason = "clamped far inside the range")]
pub(super) fn thousandths(value: f64) -> Rational {
    let value = if value.is_finite() { value } else { 60.0 };
    Rational::new((value.clamp(-1e9, 1e9) * 1000.0).round() as i64, 1000)
}

fn sane(speed: Rational) -> Rational {
    if speed.is_overflow() || !speed.is_positive() {
        return Rational::whole(60);
    }
    // A triplet's speed keeps its third; a chain of changes is rounded before it grows.
    let speed = if speed.den() > 100_000 {
        thousandths(speed.to_f64())
    } else {
        speed
    };
    speed.clamp(Rational::whole(SLOWEST), Rational::whole(FASTEST))
}

struct Reader<'a> {
    piece: &'a Piece,
    part: &'a Part,
    beats: &'a [BarBeats],
    options: &'a PlayOptions,
    onsets: Vec<Quarters>,
    /// Speed in force where the next stretch begins.
    now: Rational,
    /// What "a tempo" goes back to.
    base: Rational,
    /// What it goes back to after a change at once without a gradual one since.
    before: Option<Rational>,
    first: Rational,
    known: bool,
    /// Points where a speed begins, in order, and gradual changes: from, to, start, end.
    points: Vec<(Quarters, Rational)>,
    ramps: Vec<Written>,
    out: Speeds,
}

/// The speeds of a part over its written bars.
pub(super) fn speeds(
    piece: &Piece,
    part_index: usize,
    part: &Part,
    beats: &[BarBeats],
    options: &PlayOptions,
) -> Speeds {
    let marks = marks(piece, part_index);
    let mut reader = Reader {
        piece,
        part,
        beats,
        options,
        onsets: piece.bar_onsets(),
        now: Rational::ZERO,
        base: Rational::ZERO,
        before: None,
        first: Rational::ZERO,
        known: false,
        points: Vec::new(),
        ramps: Vec::new(),
        out: Speeds::default(),
    };
    reader.hints(&marks);
    for (at, mark) in marks.iter().enumerate() {
        let next = marks.get(at + 1).map(|mark| mark.place);
        reader.mark(mark, next);
    }
    if reader.points.is_empty() {
        reader.unmarked();
    }
    reader.finish()
}

impl Reader<'_> {
    fn at(&self, place: Place) -> Quarters {
        let start = self.onsets.get(place.bar.get()).or(self.onsets.last());
        start.copied().unwrap_or_default() + place.offset
    }

    fn end(&self) -> Quarters {
        self.onsets.last().copied().unwrap_or_default()
    }

    fn unit(&self, place: Place) -> Quarters {
        // A mark late in a bar is read on the beat that it brings in.
        let bar = if place.offset.is_zero() {
            place.bar
        } else {
            place.bar.next()
        };
        let here = self.beats.get(bar.get()).or(self.beats.last());
        here.map_or(Rational::ONE, BarBeats::unit)
    }

    /// Playback hints, up to the first mark that sets a speed.
    fn hints(&mut self, marks: &[Mark]) {
        let printed = marks.iter().find(|mark| mark.sets()).map(|mark| mark.place);
        let mut used = 0;
        for hint in &self.piece.sound_hints {
            let Some(speed) = hint
                .get("tempo")
                .and_then(Rational::parse)
                .filter(|s| s.is_positive())
            else {
                continue;
            };
            if printed.is_some_and(|printed| printed <= hint.place) {
                break;
            }
            let (place, speed) = (hint.place, sane(speed));
            if self.known && speed == self.now {
                continue;
            }
            self.set(place, speed);
            used += 1;
            if used <= 20 {
                self.say(
                    place,
                    "",
                    "the file's playback tempo; none is printed".to_owned(),
                    speed,
                );
            }
        }
    }

    fn unmarked(&mut self) {
        let unit = self.unit(Place::default());
        let speed = sane(self.options.unmarked * unit);
        self.set(Place::default(), speed);
        self.say(
            Place::default(),
            "",
            "no tempo is printed: a middling one was taken".to_owned(),
            speed,
        );
        self.out.findings.push(Finding::new(
            Severity::Note,
            "no-tempo-to-play",
            format!(
                "no tempo is printed; it is played at {} beats a minute",
                self.options.unmarked
            ),
            "choose a tempo",
        ));
    }

    fn say(&mut self, place: Place, text: &str, says: String, speed: Rational) {
        self.out.said.push(TempoSaid {
            place,
            text: text.to_owned(),
            says,
            quarters_a_minute: speed,
        });
    }

    fn set(&mut self, place: Place, speed: Rational) {
        self.now = speed;
        self.base = speed;
        self.before = None;
        if !self.known {
            self.first = speed;
            self.known = true;
        }
        let at = self.at(place);
        self.points.push((at, speed));
    }

    /// The speed that a mark sets, and why.
    fn set_by(&self, mark: &Mark) -> Option<(Rational, String)> {
        if let Some((unit, number)) = mark.metronome {
            return Some((sane(unit * number), "as the metronome mark says".to_owned()));
        }
        let words = mark.words.as_deref()?;
        let ranges = terms::tempo::ranges(words);
        let wanted = self.options.table.as_deref();
        let range = ranges
            .iter()
            .find(|range| Some(range.table) == wanted)
            .or(ranges.first())?;
        let (low, high) = match (range.low, range.high) {
            (Some(low), Some(high)) => (low, high),
            (Some(one), None) | (None, Some(one)) => (one, one),
            (None, None) => return None,
        };
        let middle = thousandths(f64::midpoint(low, high));
        let span = if low < high {
            format!("{low}–{high}, the middle taken")
        } else {
            format!("{low}")
        };
        let why = format!("{span}, by the {} ({})", range.table, range.rule);
        Some((sane(middle * self.unit(mark.place)), why))
    }

    fn mark(&mut self, mark: &Mark, next: Option<Place>) {
        let text = mark.words.clone().unwrap_or_default();
        if (mark.sets() || !self.known)
            && let Some((speed, why)) = self.set_by(mark)
        {
            self.set(mark.place, speed);
            self.say(mark.place, &text, why, speed);
        }
        if !self.known {
            // A change before any speed is known changes the middling one.
            self.unmarked();
        }
        if let Some((old, new)) = mark.equals
            && old.is_positive()
        {
            let speed = sane(self.base * new / old);
            self.set(mark.place, speed);
            self.say(
                mark.place,
                &text,
                "the one note as long as the other was".to_owned(),
                speed,
            );
        }
        for change in &mark.changes {
            let gradual = change.onset == Onset::Gradual
                && matches!(
                    change.direction,
                    ChangeDirection::Slower | ChangeDirection::Faster
                );
            if gradual {
                self.gradual(mark, change, next);
            } else if !mark.sets() {
                // "Più mosso (♩ = 120)": the number has said it.
                self.at_once(mark, change);
            }
        }
    }

    fn gradual(&mut self, mark: &Mark, change: &TempoChange, next: Option<Place>) {
        let end = self.gradual_end(mark, next);
        let (from, to) = (self.at(mark.place), self.at(end).min(self.end()));
        let reached = sane(self.now * thousandths(change.factor));
        if from < to {
            self.ramps.push(Written {
                from,
                to,
                start: self.now,
                end: reached,
            });
        }
        if next == Some(end) {
            self.now = reached;
            self.points.push((to, reached));
        } else {
            self.now = self.base;
            self.points.push((to, self.base));
        }
        self.before = None;
        let text = mark.words.clone().unwrap_or_default();
        let until = self.piece.label(end.bar);
        let says = if until.is_empty() {
            format!("{}, to the end", change.meaning)
        } else {
            format!("{}, up to bar {until}", change.meaning)
        };
        self.say(mark.place, &text, says, reached);
    }

    /// Where the dashes end; else at the next mark if one comes soon, at a double bar or the end, else after a few bars.
    fn gradual_end(&self, mark: &Mark, next: Option<Place>) -> Place {
        if let Some(end) = mark.dashes_to.filter(|end| *end > mark.place) {
            return next.map_or(end, |next| end.min(next));
        }
        let from = mark.place;
        let bars = u32::try_from(self.piece.bars.len()).unwrap_or(u32::MAX);
        let limit = Place::start_of(BarIndex(from.bar.0.saturating_add(GRADUAL_BARS).min(bars)));
        let first = self.piece.barlines.partition_point(|line| line.place <= from);
        let mut near = self
            .piece
            .barlines
            .iter()
            .skip(first)
            .take_while(|line| line.place < limit);
        let section = near.find(|line| {
            line.place > from
                && line.place < limit
                && line
                    .style
                    .as_deref()
                    .is_some_and(|style| style.starts_with("light-"))
        });
        let mut end = section.map_or(limit, |line| Place::start_of(line.place.bar.next()).min(limit));
        if let Some(next) = next {
            let far = Place::start_of(BarIndex(from.bar.0.saturating_add(2 * GRADUAL_BARS)));
            if next <= far && section.is_none_or(|line| next.bar <= line.place.bar.next()) {
                end = next;
            }
        }
        end
    }

    fn at_once(&mut self, mark: &Mark, change: &TempoChange) {
        let speed = match change.direction {
            ChangeDirection::Slower | ChangeDirection::Faster => {
                self.before = Some(self.base);
                self.base = sane(self.base * thousandths(change.factor));
                self.base
            }
            ChangeDirection::Back if change.to_first => {
                self.before = None;
                self.base = self.first;
                self.first
            }
            ChangeDirection::Back => {
                self.base = self.before.take().unwrap_or(self.base);
                self.base
            }
            ChangeDirection::Same => {
                // The same beat in a new metre: the beat keeps its speed, whatever note it is.
                let old = Place::start_of(BarIndex(mark.place.bar.0.saturating_sub(1)));
                let (old, new) = (self.unit(old), self.unit(mark.place));
                if old.is_positive() {
                    self.base = sane(self.base * new / old);
                }
                self.base
            }
            ChangeDirection::Free | ChangeDirection::Held => {
                let text = mark.words.clone().unwrap_or_default();
                let what = format!("“{text}” leaves the time to the player; it is played on in tempo here");
                self.out.findings.push(
                    Finding::new(
                        Severity::Note,
                        "free-time-in-tempo",
                        what,
                        "take your own time there",
                    )
                    .in_part(self.part.name.clone())
                    .at_bar(mark.place.bar, self.piece.label(mark.place.bar))
                    .about(mark.element),
                );
                return;
            }
        };
        self.now = speed;
        let at = self.at(mark.place);
        self.points.push((at, speed));
        let text = mark.words.clone().unwrap_or_default();
        self.say(mark.place, &text, change.meaning.clone(), speed);
    }

    /// Points and gradual changes as stretches without gaps over the whole piece.
    fn finish(mut self) -> Speeds {
        let end = self.end();
        // The first speed holds from the beginning; of several at one point the last.
        self.points.sort_by_key(|(at, _)| *at);
        if let Some(first) = self.points.first_mut() {
            first.0 = Quarters::ZERO;
        }
        self.ramps.sort_by_key(|ramp| ramp.from);
        let mut cuts: Vec<Quarters> = self.points.iter().map(|(at, _)| *at).collect();
        cuts.extend(self.ramps.iter().flat_map(|ramp| [ramp.from, ramp.to]));
        cuts.push(end);
        cuts.retain(|cut| !cut.is_negative() && *cut <= end);
        cuts.sort_unstable();
        cuts.dedup();
        let mut stretches = Vec::with_capacity(cuts.len());
        for pair in cuts.windows(2) {
            let &[from, to] = pair else { continue };
            let index = self.ramps.partition_point(|ramp| ramp.from <= from);
            let ramp = index.checked_sub(1).and_then(|index| self.ramps.get(index));
            let point = self.points.partition_point(|(at, _)| *at <= from);
            let level = self
                .points
                .get(point.saturating_sub(1))
                .map_or(self.now, |(_, speed)| *speed);
            // A speed set within a gradual change ends it.
            let cut_off = |ramp: &Written| {
                let after = self.points.get(point.saturating_sub(1)).map(|(at, _)| *at);
                after.is_some_and(|at| at > ramp.from)
            };
            stretches.push(match ramp.filter(|ramp| ramp.to >= to && !cut_off(ramp)) {
                Some(ramp) => part_of(ramp, from, to),
                None => Written {
                    from,
                    to,
                    start: level,
                    end: level,
                },
            });
        }
        self.out.stretches = stretches;
        self.out
    }
}

/// The piece of a gradual change between two points in it.
pub(super) fn part_of(ramp: &Written, from: Quarters, to: Quarters) -> Written {
    Written {
        from,
        to,
        start: speed_in(ramp, from),
        end: speed_in(ramp, to),
    }
}

/// The speed inside a stretch, to a thousandth; exact at its ends.
pub(super) fn speed_in(stretch: &Written, at: Quarters) -> Rational {
    let whole = stretch.to - stretch.from;
    if at <= stretch.from || stretch.start == stretch.end || !whole.is_positive() {
        return stretch.start;
    }
    if at >= stretch.to {
        return stretch.end;
    }
    let share = ((at - stretch.from) / whole).to_f64();
    let (v0, v1) = (stretch.start.to_f64(), stretch.end.to_f64());
    sane(thousandths((v0 * v0 + (v1 * v1 - v0 * v0) * share).sqrt()))
}
