//! Question 6, tempo: what is marked, what does it mean in beats a minute, how long does it play, how slowly first?
//!
//! [`marked`] reads words and metronome marks before anybody knows the beat; metre needs it to tell what is felt.
//! [`answer`] comes after metre and rhythm: a table's number is read on the felt beat, never on ♩ by default.

mod demand;
mod first_reading;
mod marked;
mod timeline;

pub use demand::BarDemand;
pub use first_reading::{Asked, FirstReading, LimitedBy, MetronomeRange, ReadingBeat};
pub use marked::{Marked, MetronomeMark, Pace, TempoMark, convert, marked};
pub use timeline::{Change, Speed};

use crate::metre::{BeatUnit, MetreAnswer, MetreStretch};
use crate::rhythm::RhythmAnswer;
use crate::{Context, Evidence};
use first_reading::{reading_beat, tongue_speed};
use notation::{BarIndex, Finding, Place, Quarters, Rational, Severity};
use terms::tempo::TableRange;
use timeline::{bar_seconds, mark_text, table_beat, timeline};

/// What the player brings.
#[derive(Clone, Copy, PartialEq, Debug, Default)]
pub struct TempoOptions {
    /// Her top single-tongue speed in notes a second; `None` takes a student's where a tongue is used.
    pub tongue_per_second: Option<f64>,
}

/// What the page says about tempo.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct TempoAnswer {
    /// The first tempo words, as printed.
    pub marking: Option<String>,
    /// What they mean, in plain English.
    pub meaning: Option<String>,
    /// The first metronome mark, as printed and on the beat.
    pub metronome: Option<Metronomed>,
    /// The note that the numbers below count: the felt beat.
    pub beat: Option<BeatUnit>,
    /// Slowest and fastest by each table that lists the words, in beats a minute on that beat.
    pub ranges: Vec<TableRange>,
    /// Where the tables disagree, in words; empty where they don't or there are none.
    pub disagreement: String,
    /// Changes of tempo in written order; the first marking is not among them.
    pub changes: Vec<Change>,
    /// Speeds in written order, in quarter notes a minute.
    pub speeds: Vec<Speed>,
    /// How long it plays, following the play order; `None` where no speed is known.
    pub playing_time: Option<PlayingTime>,
    /// The tempo of a first slow reading; `None` without notes.
    pub first_reading: Option<FirstReading>,
    /// How fast its fastest common notes come at the marked tempo.
    pub speed_at_mark: Option<SpeedAtMark>,
    /// The whole answer in one line.
    pub summary: String,
    /// What can be checked by eye.
    pub evidence: Vec<Evidence>,
    /// No tempo printed, a metronome mark outside the tables, faster than the tongue.
    pub findings: Vec<Finding>,
}

/// A metronome mark, as printed and as the felt beat hears it.
#[derive(Clone, PartialEq, Debug)]
pub struct Metronomed {
    /// As printed.
    pub printed: MetronomeMark,
    /// Where.
    pub place: Place,
    /// The felt beat.
    pub beat: BeatUnit,
    /// Felt beats a minute, slowest and fastest.
    pub beats_a_minute: (f64, f64),
}

impl Metronomed {
    /// The number in the mark, the middle of a printed range, on the printed note.
    #[must_use]
    pub fn printed_bpm(&self) -> f64 {
        f64::midpoint(self.printed.low, self.printed.high)
    }
}

/// How long a piece plays.
#[derive(Clone, PartialEq, Debug)]
pub struct PlayingTime {
    /// Seconds at the fast end.
    pub shortest_secs: f64,
    /// Seconds at the slow end.
    pub longest_secs: f64,
    /// Bars played.
    pub bars: usize,
    /// What it rests on and leaves out, a sentence.
    pub basis: String,
}

/// How fast the fastest common notes come.
#[derive(Clone, PartialEq, Debug)]
pub struct SpeedAtMark {
    /// Notes a second at the slow and the fast end of the marked tempo.
    pub notes_a_second: (f64, f64),
    /// Tongued notes a second at the same ends; zero where all are slurred.
    pub tongued_a_second: (f64, f64),
    /// What it means, a sentence.
    pub says: String,
}

/// Answers the question for a part. `played` is the play order, bar by bar.
#[must_use]
pub fn answer(
    ctx: &Context,
    metre: &MetreAnswer,
    rhythm: &RhythmAnswer,
    played: &[BarIndex],
    options: &TempoOptions,
) -> TempoAnswer {
    let marked = marked(ctx);
    answer_marked(ctx, metre, rhythm, played, options, &marked)
}

/// The same for a caller that has read the marks already.
#[must_use]
pub fn answer_marked(
    ctx: &Context,
    metre: &MetreAnswer,
    rhythm: &RhythmAnswer,
    played: &[BarIndex],
    options: &TempoOptions,
    marked: &Marked,
) -> TempoAnswer {
    let family = instruments::identify(ctx.part).map(|found| found.instrument.family);
    let line = timeline(ctx.piece, metre, marked);
    let opening = opening(metre, marked);
    let stretch = main_stretch(metre);
    let on = reading_beat(stretch);
    let demand = demand::demand(ctx, metre, rhythm, on.group);
    let cap = opening.and_then(|mark| Some((slowest_allowed(mark, metre)?, mark_text(mark))));
    let first_reading = first_reading::first_reading(ctx, &demand, on, cap, family, options);
    let opening_place = opening.map(|mark| mark.place);
    let start = metre.metres.first();
    let mut answer = TempoAnswer {
        marking: opening.and_then(|mark| mark.words.clone()),
        meaning: opening.and_then(|mark| terms::read(mark.words.as_deref()?).meaning),
        metronome: opening.and_then(|mark| metronomed(mark, metre)),
        beat: start
            .filter(|stretch| stretch.beats > 0)
            .map(|stretch| table_unit(stretch, opening)),
        ranges: opening.map(|mark| mark.ranges.clone()).unwrap_or_default(),
        disagreement: opening.map(disagreement).unwrap_or_default(),
        changes: line
            .changes
            .iter()
            .filter(|change| Some(change.place) != opening_place)
            .cloned()
            .collect(),
        playing_time: playing_time(ctx, &line, played),
        speeds: line.speeds,
        first_reading,
        ..TempoAnswer::default()
    };
    let speed = opening.and_then(|mark| timeline::set_speed(mark, metre));
    answer.speed_at_mark =
        speed.and_then(|speed| speed_at_mark(speed, &demand, on.group, tongue_speed(family, options)));
    answer.summary = summary(&answer);
    answer.evidence = evidence(ctx, &answer, opening);
    answer.findings = findings(ctx, &answer, opening, &marked.hints);
    answer
}

/// The mark that the piece opens with: in its first bars, before or at its first notes.
fn opening<'a>(metre: &MetreAnswer, marked: &'a Marked) -> Option<&'a TempoMark> {
    let first_sound = metre
        .voice
        .bars
        .iter()
        .position(|bar| !bar.is_silent())
        .unwrap_or(0);
    // A pickup may have the mark over the first full bar.
    let last = BarIndex::from_usize(first_sound.max(usize::from(metre.anacrusis.is_some())));
    let opens = |mark: &&TempoMark| {
        mark.place.bar <= last && (mark.sets() || mark.words.is_some() && mark.changes.is_empty())
    };
    marked.marks.iter().find(opens)
}

/// The metre of most bars.
fn main_stretch(metre: &MetreAnswer) -> Option<&MetreStretch> {
    let bars = |of: &MetreStretch| -> u32 {
        metre
            .metres
            .iter()
            .filter(|one| one.metre == of.metre)
            .map(|one| one.to.0 - one.from.0 + 1)
            .sum()
    };
    metre.metres.iter().rev().max_by_key(|stretch| bars(stretch))
}

fn feel_unit(stretch: &MetreStretch, bar: BarIndex) -> Quarters {
    let feel = stretch
        .feels
        .iter()
        .rev()
        .find(|(from, _)| *from <= bar)
        .map_or_else(|| stretch.feel(), |(_, feel)| feel);
    table_beat(stretch, feel)
}

/// The note that tables and marks are read on.
fn table_unit(stretch: &MetreStretch, mark: Option<&TempoMark>) -> BeatUnit {
    let bar = mark.map_or(stretch.from, |mark| mark.place.bar).max(stretch.from);
    BeatUnit::of_quarters(feel_unit(stretch, bar)).unwrap_or(BeatUnit::QUARTER)
}

fn metronomed(mark: &TempoMark, metre: &MetreAnswer) -> Option<Metronomed> {
    let printed = mark.metronome.clone()?;
    let beat = match metre.at(mark.place.bar) {
        Some(stretch) if stretch.beats > 0 => stretch
            .feels
            .iter()
            .rev()
            .find(|(from, _)| *from <= mark.place.bar)
            .map_or(printed.unit, |(_, feel)| feel.unit),
        _ => printed.unit,
    };
    let on_beat = |per_minute: f64| convert(per_minute, printed.unit.quarters(), beat.quarters());
    let beats_a_minute = (on_beat(printed.low), on_beat(printed.high));
    Some(Metronomed {
        printed,
        place: mark.place,
        beat,
        beats_a_minute,
    })
}

/// The speed that a first reading may not pass, in quarter notes a minute: the metronome mark; for words the slow end
/// of what all tables have in common, so that no table calls it too fast.
fn slowest_allowed(mark: &TempoMark, metre: &MetreAnswer) -> Option<f64> {
    if let Some((low, _)) = mark.quarters_a_minute() {
        return Some(low);
    }
    let beat = timeline_beat(metre, mark.place.bar).to_f64();
    let top = mark.spans().map(|(_, high)| high).fold(f64::INFINITY, f64::min);
    let bottom = mark
        .spans()
        .map(|(low, _)| low)
        .filter(|low| *low <= top)
        .fold(0.0, f64::max);
    (top.is_finite() && bottom > 0.0).then_some(bottom * beat)
}

fn timeline_beat(metre: &MetreAnswer, bar: BarIndex) -> Quarters {
    metre
        .at(bar)
        .map_or(Rational::ONE, |stretch| feel_unit(stretch, bar))
}

/// Where tables that give a range don't overlap, or differ by a third and more.
fn disagreement(mark: &TempoMark) -> String {
    let closed: Vec<(&str, f64, f64)> = mark
        .ranges
        .iter()
        .filter_map(|range| Some((range.table, range.low?, range.high?)))
        .filter(|(_, low, high)| low < high)
        .collect();
    let slowest = closed.iter().min_by(|a, b| a.1.total_cmp(&b.1));
    let fastest = closed.iter().max_by(|a, b| a.2.total_cmp(&b.2));
    let (Some(slow), Some(fast)) = (slowest, fastest) else {
        return String::new();
    };
    let apart = closed.iter().any(|a| closed.iter().any(|b| a.2 < b.1));
    if slow.0 == fast.0 || !apart && fast.2 < slow.1 * 4.0 / 3.0 {
        return String::new();
    }
    format!(
        "tables disagree: {:.0}–{:.0} by the {}, {:.0}–{:.0} by the {}",
        slow.1, slow.2, slow.0, fast.1, fast.2, fast.0
    )
}

fn playing_time(ctx: &Context, line: &timeline::Timeline, played: &[BarIndex]) -> Option<PlayingTime> {
    let seconds = bar_seconds(ctx.piece, &line.speeds);
    let (mut slow, mut fast) = (0.0, 0.0);
    for bar in played {
        let (longest, shortest) = seconds.get(bar.get()).copied().flatten()?;
        slow += longest;
        fast += shortest;
    }
    if played.is_empty() || !slow.is_finite() {
        return None;
    }
    let fermatas = ctx
        .part
        .events
        .iter()
        .filter(|event| !event.fermatas.is_empty())
        .count();
    let mut basis = if line.from_hint {
        "by the playback tempo in the file, which is not printed".to_owned()
    } else {
        "by the marked tempo".to_owned()
    };
    if line.changes.iter().any(|change| change.gradual) {
        basis.push_str(", ritardandi and accelerandi at modest defaults");
    }
    if fermatas > 0 {
        basis.push_str(&format!(
            ", {fermatas} fermata{} not counted in",
            if fermatas == 1 { "" } else { "s" }
        ));
    }
    Some(PlayingTime {
        shortest_secs: fast,
        longest_secs: slow,
        bars: played.len(),
        basis,
    })
}

fn speed_at_mark(
    speed: (f64, f64),
    demand: &demand::Demand,
    group: Quarters,
    tongue: Option<f64>,
) -> Option<SpeedAtMark> {
    let a_second = |notes: u32, quarters: f64| f64::from(notes) * quarters / 60.0 / group.to_f64();
    let both = |notes: u32| (a_second(notes, speed.0), a_second(notes, speed.1));
    if demand.common_notes == 0 {
        return None;
    }
    let (notes, tongued) = (both(demand.common_notes), both(demand.common_tongued));
    let range = |(low, high): (f64, f64)| {
        if high - low < 0.05 {
            format!("{high:.1}")
        } else {
            format!("{low:.1} to {high:.1}")
        }
    };
    let mut says = format!("Its fastest common notes come at {} a second.", range(notes));
    if let Some(tongue) = tongue.filter(|tongue| tongued.1 > *tongue) {
        says.push_str(&format!(
            " Tongued ones come at {}: more than a single tongue of {tongue:.1} a second; double tongue, slurs or a \
             slower tempo are a matter for the teacher.",
            range(tongued)
        ));
    }
    Some(SpeedAtMark {
        notes_a_second: notes,
        tongued_a_second: tongued,
        says,
    })
}

/// Minutes and seconds: `2:05`.
#[must_use]
pub fn minutes(seconds: f64) -> String {
    let whole = seconds.round().clamp(0.0, 359_999.0);
    let minutes = (whole / 60.0).floor();
    format!("{minutes:.0}:{:02.0}", whole - minutes * 60.0)
}

fn summary(answer: &TempoAnswer) -> String {
    let mut says = Vec::new();
    match (&answer.marking, &answer.metronome) {
        (Some(marking), _) => says.push(marking.clone()),
        (None, None) => says.push("no tempo printed".to_owned()),
        (None, Some(_)) => {}
    }
    if let Some(mark) = &answer.metronome {
        let printed = format!("{} = {}", mark.printed.unit.sign(), mark.printed.text.trim());
        let converted = if mark.beat == mark.printed.unit {
            String::new()
        } else {
            format!(
                ", {} = {:.0} on the beat",
                mark.beat.sign(),
                f64::midpoint(mark.beats_a_minute.0, mark.beats_a_minute.1)
            )
        };
        says.push(format!("{printed}{converted}"));
    }
    if let Some(time) = &answer.playing_time {
        let (short, long) = (minutes(time.shortest_secs), minutes(time.longest_secs));
        says.push(if short == long {
            format!("plays {short}")
        } else {
            format!("plays {short} to {long}")
        });
    }
    if let Some(first) = &answer.first_reading {
        says.push(format!("first reading {}", first.says()));
    }
    format!("{}.", says.join("; "))
}

impl FirstReading {
    /// In one clause: `♩ = 50–60`, `♩. = 40–48 (click ♪ = 120–144)`.
    #[must_use]
    pub fn says(&self) -> String {
        let range = |low: u16, high: u16| {
            if low == high {
                low.to_string()
            } else {
                format!("{low}–{high}")
            }
        };
        let click = self
            .click
            .map(|(unit, low, high)| format!(" (click {} = {})", unit.sign(), range(low, high)));
        format!(
            "{} = {}{}",
            self.beat.sign(),
            range(self.low, self.high),
            click.unwrap_or_default()
        )
    }
}

fn evidence(ctx: &Context, answer: &TempoAnswer, opening: Option<&TempoMark>) -> Vec<Evidence> {
    let mut evidence = Vec::new();
    if let Some(mark) = opening {
        let mut says = format!("the opening tempo, {}", mark_text(mark));
        if let Some(part) = &mark.printed_in {
            says.push_str(&format!(", printed over {part}"));
        }
        evidence.push(Evidence {
            place: Some(mark.place),
            element: Some(mark.element),
            says,
        });
    }
    for change in &answer.changes {
        let until = change
            .until
            .map(|until| format!(", to bar {}", ctx.label(until.bar)));
        let until = until.filter(|text| text != ", to bar ").unwrap_or_default();
        evidence.push(Evidence::at(
            change.place,
            format!("{}: {}{until}", change.text, change.says),
        ));
    }
    if let Some(bar) = answer.first_reading.as_ref().and_then(|first| first.hardest) {
        evidence.push(Evidence::at(
            Place::start_of(bar.bar),
            "the bar that asks most of a reader",
        ));
    }
    evidence
}

fn findings(
    ctx: &Context,
    answer: &TempoAnswer,
    opening: Option<&TempoMark>,
    hints: &[(Place, f64)],
) -> Vec<Finding> {
    let mut findings = Vec::new();
    if opening.is_none_or(|mark| !mark.sets()) {
        let what = match hints.first() {
            Some((_, speed)) => format!("no tempo is printed at the start; the file plays at ♩ = {speed:.0}"),
            None => "no tempo is printed at the start".to_owned(),
        };
        let finding = Finding::new(
            Severity::Note,
            "no-tempo-printed",
            what,
            "ask the teacher, or take the usual tempo of its dance or style",
        );
        findings.push(finding.in_part(&ctx.part.name));
    }
    let Some(mark) = opening else { return findings };
    if let (Some(metronome), Some(middle)) = (&answer.metronome, mark.middle()) {
        let (low, high) = mark.spans().fold((f64::INFINITY, 0.0_f64), |(low, high), span| {
            (low.min(span.0), high.max(span.1))
        });
        let beat = answer.beat.unwrap_or(BeatUnit::QUARTER);
        let speed = convert(
            metronome.printed_bpm(),
            metronome.printed.unit.quarters(),
            beat.quarters(),
        );
        // A single value ("about 80") is no range to be outside of.
        if low < high && (speed < low * 0.95 || speed > high * 1.05) {
            let how = if speed > middle { "faster" } else { "slower" };
            let what = format!(
                "{} is {how} than any table gives for {} ({low:.0} to {high:.0} on the {})",
                mark_text(mark),
                mark.words.as_deref().unwrap_or_default(),
                beat.name()
            );
            let advice = "look whether the mark counts another note, or take it as it stands";
            let finding = Finding::new(Severity::Note, "metronome-outside-tables", what, advice);
            findings.push(
                finding
                    .in_part(&ctx.part.name)
                    .at_bar(mark.place.bar, ctx.label(mark.place.bar)),
            );
        }
    }
    findings
}

#[cfg(test)]
mod tests;
