//! Where do readers fall in: altered notes, rhythms, the ends of the range, the hardest place, bars that return?

use super::pick::{Lots, several};
use super::signs::pointing;
use super::{Choice, Looked, Made, Pointing, Spot, Worth};
use load::alike::How;
use notation::{Alter, BarIndex, KeySignature, Pitch, Rational, Step, alter_sign};
use std::collections::BTreeMap;
use survey::accidentals::LedgerEntry;
use survey::look_first::Sort;
use survey::rhythm::TieOver;

/// Choices where several are right.
const CHOICES: usize = 6;
/// Altered notes that are asked for.
const ALTERED: usize = 4;
/// Places that stand beside the hardest as ones that might be named.
const HARD: usize = 3;

/// One place of several is proof enough.
fn any(asks: &str, spots: Vec<Spot>, nowhere: &str) -> Pointing {
    Pointing {
        each: false,
        ..pointing(asks, spots, nowhere)
    }
}

fn distinct(bars: impl IntoIterator<Item = BarIndex>) -> Vec<BarIndex> {
    let mut all: Vec<BarIndex> = bars.into_iter().collect();
    all.sort_unstable();
    all.dedup();
    all
}

// Accidentals.

/// A note without its octave, its form always said: `F♮`, `B♭`.
fn form((step, alter): (Step, Alter)) -> String {
    let sign = if alter.is_zero() {
        "♮".to_owned()
    } else {
        alter_sign(alter)
    };
    format!("{}{sign}", step.letter())
}

/// Where a note of one form comes, and whether a sign stands at the first.
#[derive(Default)]
struct Came {
    times: usize,
    bars: Vec<BarIndex>,
    silent: Vec<BarIndex>,
}

pub(super) fn accidentals(looked: &Looked, lots: &mut Lots) -> Option<Made> {
    let answer = looked.survey.accidentals.as_ref()?;
    let shown = |entry: &&LedgerEntry| !entry.hidden && !entry.cue && !entry.expected;
    let entries: Vec<&LedgerEntry> = answer.ledger.iter().filter(shown).collect();
    let mut came: BTreeMap<(Step, Alter), Came> = BTreeMap::new();
    let mut by_bar: BTreeMap<BarIndex, usize> = BTreeMap::new();
    for entry in &entries {
        let note = came.entry((entry.written.step, entry.written.alter)).or_default();
        note.times += 1;
        note.bars.push(entry.place.bar);
        if entry.carried && !entry.printed {
            note.silent.push(entry.place.bar);
        }
        *by_bar.entry(entry.place.bar).or_default() += 1;
    }
    let choose = several(
        "Which notes are altered on the way?",
        altered_choices(looked, &came, lots),
        "None",
    );
    Some(Made {
        choose: Some(choose),
        point: Some(any(
            "Which bar has most of them?",
            densest(&by_bar),
            "No note is altered on the way.",
        )),
        beside: courtesies(looked),
    })
}

fn altered_choices(looked: &Looked, came: &BTreeMap<(Step, Alter), Came>, lots: &mut Lots) -> Vec<Choice> {
    let mut often: Vec<(&(Step, Alter), &Came)> = came.iter().collect();
    often.sort_by(|one, other| other.1.times.cmp(&one.1.times).then(one.0.cmp(other.0)));
    let mut choices: Vec<Choice> = often
        .into_iter()
        .take(ALTERED)
        .map(|(note, came)| {
            let times = match came.times {
                1 => "once".to_owned(),
                2 => "twice".to_owned(),
                times => format!("{times} times"),
            };
            let silent = if came.silent.is_empty() {
                ""
            } else {
                ", and not always with a sign of its own"
            };
            Choice::new(
                Worth::Right,
                form(*note),
                format!("{times}{silent}"),
                distinct(came.bars.iter().copied()),
            )
        })
        .collect();
    let signature = looked
        .survey
        .key
        .as_ref()
        .and_then(|key| key.signatures.first())
        .map_or_else(KeySignature::default, |first| first.signature.clone());
    let wrong = lots.some(likely(&signature, came), CHOICES - choices.len().min(CHOICES - 2));
    choices.extend(
        wrong
            .into_iter()
            .map(|note| Choice::wrong(form(note), "not on this page")),
    );
    choices.sort_by(|one, other| one.says.cmp(&other.says));
    choices
}

/// Notes that are often altered under a signature and are not here: a letter raised or lowered by a semitone.
fn likely(signature: &KeySignature, came: &BTreeMap<(Step, Alter), Came>) -> Vec<(Step, Alter)> {
    let letters = [Step::F, Step::C, Step::G, Step::D, Step::A, Step::E, Step::B];
    let mut found = Vec::new();
    for step in letters {
        for by in [1, -1] {
            let alter = signature.alter_of(step) + Rational::whole(by);
            let plain =
                alter == Rational::ZERO || alter == Rational::whole(1) || alter == Rational::whole(-1);
            // E♯, B♯, C♭ and F♭ are rare enough to be seen through at once.
            let rare =
                matches!((step, by), (Step::E | Step::B, 1) | (Step::C | Step::F, -1)) && !alter.is_zero();
            if plain && !rare && !came.contains_key(&(step, alter)) {
                found.push((step, alter));
            }
        }
    }
    found
}

fn densest(by_bar: &BTreeMap<BarIndex, usize>) -> Vec<Spot> {
    let most = by_bar.values().copied().max().unwrap_or(0);
    let mut bars: Vec<(BarIndex, usize)> = by_bar.iter().map(|(bar, notes)| (*bar, *notes)).collect();
    bars.sort_by(|one, other| other.1.cmp(&one.1).then(one.0.cmp(&other.0)));
    let near = bars.into_iter().filter(|(_, notes)| notes + 1 >= most);
    near.map(|(bar, notes)| {
        let plural = if notes == 1 { "note" } else { "notes" };
        let worth = if notes == most {
            Worth::Right
        } else {
            Worth::Doubtful
        };
        let why = if worth == Worth::Right {
            format!("most of them: {notes} altered {plural}")
        } else {
            format!("nearly the most: {notes} altered {plural}")
        };
        Spot::new(worth, vec![bar], why)
    })
    .collect()
}

fn courtesies(looked: &Looked) -> String {
    let answer = looked.survey.accidentals.as_ref();
    let Some(first) = answer.and_then(|answer| answer.courtesy_suggested.first()) else {
        return String::new();
    };
    format!("In bar {}: {}.", looked.ctx.label(first.place.bar), first.says())
}

// Rhythm.

pub(super) fn rhythm(looked: &Looked) -> Option<Made> {
    let answer = looked.survey.rhythm.as_ref()?;
    let dotted = answer.dotted.first();
    let tuplet = answer.tuplets.first();
    let over = answer
        .ties
        .iter()
        .filter(|tie| tie.over == TieOver::BarLine)
        .map(|tie| tie.place.bar);
    let strong = answer
        .syncopation
        .iter()
        .filter(|bar| bar.score.is_some_and(|score| score >= 2));
    let weak = answer.syncopation.iter().any(|bar| bar.score == Some(1));
    let off = answer
        .rests_on_beats
        .iter()
        .filter_map(|rest| rest.entry)
        .map(|place| place.bar);
    let feature = |says: &str, why: String, bars: Vec<BarIndex>| {
        let worth = if bars.is_empty() {
            Worth::Wrong
        } else {
            Worth::Right
        };
        Choice::new(worth, says, why, bars)
    };
    let mut syncopated = feature("Syncopation", String::new(), distinct(strong.map(|bar| bar.bar)));
    if syncopated.worth == Worth::Wrong && weak {
        syncopated.worth = Worth::Doubtful;
        syncopated.why = "a touch of it, no more".to_owned();
    }
    let choices = vec![
        feature(
            "Dotted rhythms",
            dotted.map_or_else(String::new, |used| used.name.clone()),
            distinct(answer.dotted.iter().map(|used| used.first.bar)),
        ),
        feature(
            "Triplets or other tuplets",
            tuplet.map_or_else(String::new, |used| used.name.clone()),
            distinct(answer.tuplets.iter().flat_map(|used| used.bars.iter().copied())),
        ),
        feature(
            "Ties over a bar line",
            "nothing is struck on the beat after it".to_owned(),
            distinct(over),
        ),
        syncopated,
        feature(
            "A rest on a beat, and an entry after it",
            String::new(),
            distinct(off),
        ),
        feature(
            "Twos and threes in turn",
            answer
                .division_changes
                .first()
                .map_or_else(String::new, |change| {
                    format!(
                        "the beat changes from {} notes to {}",
                        change.from_to.0, change.from_to.1
                    )
                }),
            distinct(answer.division_changes.iter().map(|change| change.place.bar)),
        ),
    ];
    Some(Made {
        choose: Some(several("Which of these come in it?", choices, "None of these")),
        point: to_count(looked),
        ..Made::default()
    })
}

/// The bars that the survey would have counted aloud.
fn to_count(looked: &Looked) -> Option<Pointing> {
    let mut spots: Vec<Spot> = Vec::new();
    for place in &looked.survey.look_first {
        for reason in place.reasons.iter().filter(|reason| reason.sort == Sort::Rhythm) {
            if !spots.iter().any(|spot| spot.bars.contains(&reason.bar)) {
                spots.push(Spot::new(Worth::Right, vec![reason.bar], reason.says.clone()));
            }
        }
    }
    let most = looked.survey.rhythm.as_ref().and_then(|answer| {
        let scored = answer
            .syncopation
            .iter()
            .filter(|bar| bar.score.is_some_and(|score| score >= 2));
        scored.max_by_key(|bar| (bar.score, std::cmp::Reverse(bar.bar)))
    });
    if let Some(bar) = most
        && !spots.iter().any(|spot| spot.bars.contains(&bar.bar))
    {
        spots.push(Spot::new(Worth::Right, vec![bar.bar], "the most syncopated bar"));
    }
    (!spots.is_empty()).then(|| any("Which bar would you count aloud first?", spots, ""))
}

// Range.

/// A note so many staff places higher, as the signature has it.
fn shifted(pitch: Pitch, places: i32, signature: &KeySignature) -> Pitch {
    let moved = pitch.transposed(places, Rational::ZERO);
    Pitch {
        alter: signature.alter_of(moved.step),
        ..moved
    }
}

pub(super) fn range(looked: &Looked, lots: &mut Lots) -> Option<Made> {
    let answer = looked.survey.range.as_ref()?;
    let (low, high) = (answer.lowest?, answer.highest?);
    let signature = looked
        .survey
        .key
        .as_ref()
        .and_then(|key| key.signatures.first())
        .map_or_else(KeySignature::default, |first| first.signature.clone());
    let says = |low: Pitch, high: Pitch| format!("{} to {}", low.sign(), high.sign());
    let right = Choice::new(
        Worth::Right,
        says(low.written, high.written),
        answer.means.clone(),
        vec![low.place.bar, high.place.bar],
    );
    let moved = [(0, 2), (0, -2), (2, 0), (-2, 0), (2, 2), (-2, -2)];
    let others: Vec<Choice> = moved
        .into_iter()
        .map(|(down, up)| {
            let (bottom, top) = (
                if down == 0 {
                    low.written
                } else {
                    shifted(low.written, down, &signature)
                },
                if up == 0 {
                    high.written
                } else {
                    shifted(high.written, up, &signature)
                },
            );
            let why = match (down, up) {
                (0, _) => "its top note is another",
                (_, 0) => "its lowest note is another",
                _ => "both ends are others",
            };
            (bottom, top, why)
        })
        .filter(|(bottom, top, _)| bottom.semitones() < top.semitones())
        .map(|(bottom, top, why)| Choice::wrong(says(bottom, top), why))
        .collect();
    let top = high.written.semitones();
    let events = looked.ctx.part.events.iter();
    let tops = events.filter(|event| event.pitches().any(|pitch| pitch.semitones() == top));
    let mut spots: Vec<Spot> = distinct(tops.map(|event| event.place.bar))
        .into_iter()
        .map(|bar| {
            Spot::new(
                Worth::Right,
                vec![bar],
                format!("{}, the highest note", high.written.sign()),
            )
        })
        .collect();
    if spots.is_empty() {
        spots.push(Spot::new(
            Worth::Right,
            vec![high.place.bar],
            format!("{}, the highest note", high.written.sign()),
        ));
    }
    Some(Made {
        choose: Some(lots.one("From which note to which, as written?", vec![right], others, 4)),
        point: Some(any("Where is the highest note?", spots, "")),
        beside: answer.leaps.first().map_or_else(String::new, |leap| {
            let way = if leap.up { "up" } else { "down" };
            format!(
                "The widest leap: {} {way} to {}, in bar {}.",
                leap.name,
                leap.to.sign(),
                looked.ctx.label(leap.to_place.bar)
            )
        }),
    })
}

// The hardest place, and what returns.

pub(super) fn hardest(looked: &Looked) -> Option<Made> {
    let mut spots: Vec<Spot> = Vec::new();
    let worth = |at: usize| if at == 0 { Worth::Right } else { Worth::Doubtful };
    let why = |at: usize, reasons: Vec<String>| {
        let told = reasons.into_iter().take(2).collect::<Vec<_>>().join("; ");
        if at == 0 {
            told
        } else {
            format!("hard, too, though another place is harder: {told}")
        }
    };
    match looked.study {
        Some(study) => {
            for (at, spot) in study.spots.iter().take(HARD).enumerate() {
                let bars = (spot.from.0..=spot.to.0)
                    .map(BarIndex)
                    .chain(spot.also.iter().copied());
                spots.push(Spot::new(worth(at), bars.collect(), why(at, spot.reasons.clone())).to(spot.to));
            }
        }
        None => {
            for (at, place) in looked.survey.look_first.iter().take(HARD).enumerate() {
                let bars = (place.from.0..=place.to.0).map(BarIndex);
                let reasons = place.reasons.iter().map(|reason| reason.says.clone());
                spots.push(Spot::new(worth(at), bars.collect(), why(at, reasons.collect())).to(place.to));
            }
        }
    }
    let doing = looked
        .study
        .and_then(|study| study.spots.first())
        .map(|spot| spot.suggestion);
    (!spots.is_empty()).then(|| Made {
        choose: None,
        point: Some(any("Where is it hardest for you?", spots, "")),
        beside: doing.map_or_else(String::new, sentence),
    })
}

fn sentence(words: &str) -> String {
    let mut chars = words.chars();
    let stop = if words.ends_with('.') { "" } else { "." };
    chars.next().map_or_else(String::new, |first| {
        format!("{}{}{stop}", first.to_uppercase(), chars.as_str())
    })
}

pub(super) fn returns(looked: &Looked) -> Option<Made> {
    let alike = &looked.study?.alike;
    if alike.bars_with_notes < 4 {
        return None;
    }
    let mut spots: Vec<Spot> = alike
        .look_alikes
        .iter()
        .map(|one| {
            let worth = match one.how {
                How::Same | How::Nearly(0) | How::Octaves(_) => Worth::Right,
                _ => Worth::Doubtful,
            };
            let mut why = format!(
                "bar {} {}",
                looked.ctx.label(one.bar),
                one.how.words(looked.ctx.label(one.like), "bar")
            );
            if let Some(difference) = one.differences.first() {
                why = format!("{why}, but {difference}");
            }
            Spot::new(worth, vec![one.bar, one.like], why)
        })
        .collect();
    // A bar that differs a little is the better catch.
    spots.sort_by_key(|spot| (spot.worth != Worth::Right, !spot.why.contains(", but ")));
    Some(Made {
        choose: None,
        point: Some(any(
            "Which bar have you read before? Point at one.",
            spots,
            "No bar returns.",
        )),
        beside: sentence(&alike.summary),
    })
}
