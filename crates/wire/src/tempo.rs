//! Question 6 as JSON.

use crate::at::{At, Evidence, Places};
use load::Study;
use load::first_tempo::FirstTempo;
use schemars::JsonSchema;
use serde::Serialize;
use survey::metre::BeatUnit;
use survey::tempo::{self, LimitedBy, TempoAnswer};

/// Tempo: what is marked, what tables make of it, and how slowly to read first.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Tempo {
    /// The first tempo words as printed; null if there are none.
    pub marking: Option<String>,
    /// What they mean.
    pub meaning: Option<String>,
    /// The number of the first metronome mark, on its printed note (the middle of a printed range).
    pub marked_bpm: Option<f64>,
    /// The first metronome mark.
    pub metronome: Option<Metronome>,
    /// The note that the tables' numbers count here: the felt beat.
    pub beat: Option<String>,
    /// Slowest and fastest by each table that lists the words.
    pub table_ranges: Vec<TableRange>,
    /// Where the tables disagree, in words.
    pub disagreement: String,
    /// Changes of tempo in order.
    pub changes: Vec<Change>,
    /// How long it plays.
    pub playing_time: Option<PlayingTime>,
    /// How fast its fastest common notes come at the marked tempo.
    pub speed_at_mark: Option<SpeedAtMark>,
    /// A slow first-reading tempo: for anybody, or for the player where one was given.
    pub first_reading: Option<FirstReading>,
    /// The whole answer in one line.
    pub summary: String,
    /// Where to look.
    pub evidence: Vec<Evidence>,
}

/// A metronome mark.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Metronome {
    /// The printed note.
    pub note: String,
    /// The printed number.
    pub text: String,
    /// Slowest, in printed notes a minute.
    pub low: f64,
    /// Fastest, in printed notes a minute.
    pub high: f64,
    /// The felt beat.
    pub beat: String,
    /// Slowest, in felt beats a minute.
    pub beat_low: f64,
    /// Fastest, in felt beats a minute.
    pub beat_high: f64,
    /// Where.
    #[serde(flatten)]
    pub at: At,
}

/// What one table makes of the words.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct TableRange {
    /// The table's name.
    pub table: String,
    /// Where it was published.
    pub source: String,
    /// The row that was read.
    pub term: String,
    /// Slowest, in beats a minute; null where the row is open below.
    pub low: Option<f64>,
    /// Fastest; null where the row is open above.
    pub high: Option<f64>,
    /// The table says "about".
    pub approximate: bool,
    /// How the range was reached.
    pub rule: String,
}

/// A change of tempo.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Change {
    /// As printed.
    pub text: String,
    /// What happens.
    pub meaning: String,
    /// True for a gradual change.
    pub gradual: bool,
    /// Where a gradual change ends.
    pub until: Option<At>,
    /// Slowest speed reached, in quarter notes a minute.
    pub quarters_low: Option<f64>,
    /// Fastest speed reached.
    pub quarters_high: Option<f64>,
    /// Where.
    #[serde(flatten)]
    pub at: At,
}

/// How long it plays.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct PlayingTime {
    /// Seconds at the fast end.
    pub shortest_secs: f64,
    /// Seconds at the slow end.
    pub longest_secs: f64,
    /// Bars played.
    pub bars: usize,
    /// What it rests on and leaves out.
    pub basis: String,
}

/// How fast the fastest common notes come.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct SpeedAtMark {
    /// Notes a second at the slow end.
    pub notes_a_second_low: f64,
    /// Notes a second at the fast end.
    pub notes_a_second_high: f64,
    /// What it means.
    pub text: String,
}

/// A slow first-reading tempo.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct FirstReading {
    /// The note that is counted: `quarter`, `dotted quarter`.
    pub beat: String,
    /// The same as a sign: ♩, ♩.
    pub beat_sign: String,
    /// Slow end, in such notes a minute.
    pub low: u16,
    /// Fast end.
    pub high: u16,
    /// A smaller note to set the metronome to.
    pub click: Option<Click>,
    /// What it rests on: `page` (the page alone), or `player` (what the page asks, against what the player can).
    pub basis: String,
    /// What decides the fast end: `reading`, `tongue` or `marking`; for a player also `subdivision` or `hands`.
    pub limited_by: String,
    /// Label of the hardest bar; for a player the bar that sets the slow end.
    pub hardest_bar: Option<String>,
    /// That bar counted from 0.
    pub hardest_bar_index: Option<u32>,
    /// Why.
    pub reason: String,
    /// Everything that was weighed, the slowest first, breath last; absent without a player.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub limits: Option<Vec<Limit>>,
    /// Label of the bar that sets the slow end; absent without a player, and where no bar does.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub set_by_bar: Option<String>,
    /// That bar counted from 0.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub set_by_bar_index: Option<u32>,
    /// What is in that bar, clauses.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub set_by_why: Option<String>,
}

/// One thing that holds a player's first reading back.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Limit {
    /// `reading`, `subdivision`, `hands`, `tongue`, `marking` or `breath`.
    pub what: String,
    /// The tempo that it allows, unrounded, in beats a minute on the note of the first reading: the fastest; for breath the
    /// slowest.
    pub beat_bpm: f64,
    /// Label of the bar that sets it; absent if none does.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub bar: Option<String>,
    /// That bar counted from 0.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub bar_index: Option<u32>,
    /// Why, a clause.
    pub why: String,
}

/// A click on a smaller note.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Click {
    /// The note.
    pub note: String,
    /// Slow end, in such notes a minute.
    pub low: u16,
    /// Fast end.
    pub high: u16,
}

pub(crate) fn tempo(answer: &TempoAnswer, study: Option<&Study>, places: Places) -> Tempo {
    let page = answer.first_reading.as_ref();
    let hers = study.and_then(|study| study.first.as_ref());
    Tempo {
        marking: answer.marking.clone(),
        meaning: answer.meaning.clone(),
        marked_bpm: answer
            .metronome
            .as_ref()
            .map(survey::tempo::Metronomed::printed_bpm),
        metronome: answer.metronome.as_ref().map(|m| Metronome {
            note: m.printed.unit.name(),
            text: m.printed.text.clone(),
            low: m.printed.low,
            high: m.printed.high,
            beat: m.beat.name(),
            beat_low: m.beats_a_minute.0,
            beat_high: m.beats_a_minute.1,
            at: places.at(m.place, None),
        }),
        beat: answer.beat.map(survey::metre::BeatUnit::name),
        table_ranges: answer
            .ranges
            .iter()
            .map(|r| TableRange {
                table: r.table.to_owned(),
                source: r.source.to_owned(),
                term: r.term.to_owned(),
                low: r.low,
                high: r.high,
                approximate: r.approximate,
                rule: r.rule.clone(),
            })
            .collect(),
        disagreement: answer.disagreement.clone(),
        changes: answer
            .changes
            .iter()
            .map(|c| Change {
                text: c.text.clone(),
                meaning: c.says.clone(),
                gradual: c.gradual,
                until: c.until.map(|place| places.closing(place, None)),
                quarters_low: c.quarters_a_minute.map(|(low, _)| low),
                quarters_high: c.quarters_a_minute.map(|(_, high)| high),
                at: places.at(c.place, None),
            })
            .collect(),
        playing_time: answer.playing_time.as_ref().map(|time| PlayingTime {
            shortest_secs: time.shortest_secs,
            longest_secs: time.longest_secs,
            bars: time.bars,
            basis: time.basis.clone(),
        }),
        speed_at_mark: answer.speed_at_mark.as_ref().map(|speed| SpeedAtMark {
            notes_a_second_low: speed.notes_a_second.0,
            notes_a_second_high: speed.notes_a_second.1,
            text: speed.says.clone(),
        }),
        first_reading: match hers {
            Some(hers) => Some(for_player(hers, places)),
            None => page.map(|page| for_anybody(page, places)),
        },
        summary: match page.zip(hers) {
            Some((page, hers)) => with_hers(&answer.summary, page, hers),
            None => answer.summary.clone(),
        },
        evidence: places.evidence(&answer.evidence),
    }
}

fn click(click: Option<(BeatUnit, u16, u16)>) -> Option<Click> {
    click.map(|(unit, low, high)| Click {
        note: unit.name(),
        low,
        high,
    })
}

fn for_anybody(first: &tempo::FirstReading, places: Places) -> FirstReading {
    FirstReading {
        beat: first.beat.name(),
        beat_sign: first.beat.sign(),
        low: first.low,
        high: first.high,
        click: click(first.click),
        basis: "page".to_owned(),
        limited_by: match first.limited_by {
            LimitedBy::Reading => "reading",
            LimitedBy::Tongue => "tongue",
            LimitedBy::Marking => "marking",
        }
        .to_owned(),
        hardest_bar: first.hardest.as_ref().map(|bar| places.label(bar.bar)),
        hardest_bar_index: first.hardest.as_ref().map(|bar| bar.bar.0),
        reason: first.reason.clone(),
        limits: None,
        set_by_bar: None,
        set_by_bar_index: None,
        set_by_why: None,
    }
}

fn for_player(first: &FirstTempo, places: Places) -> FirstReading {
    let beat = first.beat.quarters().to_f64();
    let set_by = first.set_by.as_ref();
    let (label, index) = (
        set_by.map(|(bar, _)| places.label(*bar)),
        set_by.map(|(bar, _)| bar.0),
    );
    let limits = first.limits.iter().map(|limit| Limit {
        what: limit.holds.id().to_owned(),
        beat_bpm: limit.quarters_a_minute / beat,
        bar: limit.bar.map(|bar| places.label(bar)),
        bar_index: limit.bar.map(|bar| bar.0),
        why: limit.why.clone(),
    });
    FirstReading {
        beat: first.beat.name(),
        beat_sign: first.beat.sign(),
        low: first.range.low,
        high: first.range.high,
        click: click(first.range.click),
        basis: "player".to_owned(),
        limited_by: first.holds.id().to_owned(),
        hardest_bar: label.clone(),
        hardest_bar_index: index,
        reason: first.reason.clone(),
        limits: Some(limits.collect()),
        set_by_bar: label,
        set_by_bar_index: index,
        set_by_why: set_by.map(|(_, why)| why.clone()),
    }
}

/// The summary with the player's first tempo in place of anybody's.
fn with_hers(summary: &str, page: &tempo::FirstReading, hers: &FirstTempo) -> String {
    let said = tempo::FirstReading {
        beat: hers.beat,
        low: hers.range.low,
        high: hers.range.high,
        click: hers.range.click,
        ..page.clone()
    };
    summary.replace(
        &format!("first reading {}", page.says()),
        &format!("first reading {}", said.says()),
    )
}
