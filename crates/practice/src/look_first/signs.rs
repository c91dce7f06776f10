//! What stands at the start of the line and changes on the way: metre and clefs?

use super::pick::Lots;
use super::{Choice, Looked, Made, Pointing, Spot, Worth};
use notation::{BarIndex, Quarters, Rational};
use survey::metre::{Feel, MetreAnswer, MetreStretch};

/// Choices to one question.
pub(super) const CHOICES: usize = 5;
/// Places that are asked for one by one; of more, one is proof enough.
const EACH: usize = 4;

/// Pointing at places that are asked for one by one while they are few.
pub(super) fn pointing(asks: &str, spots: Vec<Spot>, nowhere: &str) -> Pointing {
    let right = spots.iter().filter(|spot| spot.worth == Worth::Right).count();
    Pointing {
        asks: asks.to_owned(),
        each: right <= EACH,
        spots,
        nowhere: nowhere.to_owned(),
    }
}

/// A bar, and the one before, over whose bar line a change is often seen.
pub(super) fn near(bar: BarIndex) -> Vec<BarIndex> {
    let before = bar.0.checked_sub(1).map(BarIndex);
    std::iter::once(bar).chain(before).collect()
}

// Metre.

/// `3 beats, each a quarter; begin on 1`.
fn count_says(beats: usize, unit: &str, begin: &str) -> String {
    let plural = if beats == 1 { "" } else { "s" };
    let article = if unit.starts_with('e') { "an" } else { "a" };
    format!("{beats} beat{plural}, each {article} {unit}; begin on {begin}")
}

pub(super) fn metre(looked: &Looked, lots: &mut Lots) -> Option<Made> {
    let answer = looked.survey.metre.as_ref()?;
    let first = answer.metres.first()?;
    let feel = first
        .feels
        .first()
        .map(|(_, feel)| feel)
        .filter(|feel| !feel.beats.is_empty())?;
    let enters = answer
        .anacrusis
        .as_ref()
        .map_or("1", |pickup| pickup.enters_on.as_str());
    let right = vec![Choice::new(
        Worth::Right,
        says_of(feel, enters),
        format!("{}, {}", first.metre.name(), feel.why),
        answer.anacrusis.iter().map(|pickup| pickup.bar).collect(),
    )];
    let others = other_counts(answer, first, feel, enters);
    Some(Made {
        choose: Some(lots.one(
            "How is a bar counted, and on which count does it begin?",
            right,
            others,
            CHOICES,
        )),
        point: Some(pointing(
            "Where does the metre change?",
            metre_changes(answer),
            "One metre holds all through.",
        )),
        beside: count_in(answer),
    })
}

fn says_of(feel: &Feel, begin: &str) -> String {
    let uneven = feel
        .beats
        .windows(2)
        .any(|pair| pair.first().map(|b| b.0) != pair.last().map(|b| b.0));
    if uneven {
        let groups: Vec<String> = feel
            .beats
            .iter()
            .map(|(_, divides)| divides.to_string())
            .collect();
        return format!(
            "{} uneven beats, {}; begin on {begin}",
            feel.beats.len(),
            groups.join("+")
        );
    }
    count_says(feel.beats.len(), &feel.unit.name(), begin)
}

fn count_in(answer: &MetreAnswer) -> String {
    if answer.count_in.is_empty() {
        return String::new();
    }
    format!("Count in: {}.", answer.count_in)
}

fn other_counts(answer: &MetreAnswer, first: &MetreStretch, feel: &Feel, enters: &str) -> Vec<Choice> {
    let mut others = Vec::new();
    let begins_late = answer.anacrusis.is_some();
    // What is counted while it is read slowly is right, too; with a pickup its count would have another name.
    if !begins_late && first.slow.beats != feel.beats && !first.slow.beats.is_empty() {
        let why = "so in a slow first reading; at tempo in larger beats";
        others.push(Choice::new(
            Worth::Doubtful,
            says_of(&first.slow, enters),
            why,
            Vec::new(),
        ));
    }
    let lengths = feel.beats.iter().map(|(length, _)| *length);
    let bar = lengths.fold(Quarters::ZERO, |all, length| all + length);
    let last = feel.beats.len().max(2).to_string();
    let (wrong_start, why) = if begins_late {
        ("1", "the first bar is short: it begins late")
    } else {
        (last.as_str(), "the first bar is whole: it begins on 1")
    };
    others.push(Choice::wrong(says_of(feel, wrong_start), why));
    let upper = usize::from(first.beats.max(2));
    let units = [
        (upper, first.beat_type),
        (upper + 1, first.beat_type),
        (upper.saturating_sub(1).max(2), first.beat_type),
        (upper / 2, first.beat_type / 2),
        (upper * 2, first.beat_type.saturating_mul(2)),
        (upper / 3, first.beat_type),
    ];
    for (count, lower) in units {
        let Some(unit) = plain_unit(lower) else { continue };
        let length = Rational::new(4, i64::from(lower)) * Rational::whole(i64::try_from(count).unwrap_or(0));
        if !(2..=12).contains(&count) {
            continue;
        }
        if length == bar {
            let why = "it fills the bar, but the beat that is felt is another";
            others.push(Choice::new(
                Worth::Doubtful,
                count_says(count, unit, enters),
                why,
                Vec::new(),
            ));
        } else {
            let why = format!("that does not fill a bar of {}", first.metre.name());
            others.push(Choice::wrong(count_says(count, unit, enters), why));
        }
    }
    let own = says_of(feel, enters);
    others.retain(|choice| choice.says != own);
    others
}

const fn plain_unit(lower: u16) -> Option<&'static str> {
    match lower {
        1 => Some("whole"),
        2 => Some("half"),
        4 => Some("quarter"),
        8 => Some("eighth"),
        16 => Some("sixteenth"),
        _ => None,
    }
}

fn metre_changes(answer: &MetreAnswer) -> Vec<Spot> {
    let later = answer.metres.iter().skip(1);
    later
        .map(|stretch| {
            Spot::new(
                Worth::Right,
                near(stretch.from),
                format!("from here {}", stretch.metre.name()),
            )
        })
        .collect()
}

// Clefs.

pub(super) fn clefs(looked: &Looked, lots: &mut Lots) -> Option<Made> {
    let staff = looked.survey.clefs.as_ref()?.staves.first()?;
    let start = staff.start?.name();
    let mut later: Vec<String> = Vec::new();
    for change in &staff.changes {
        let name = change.clef.name();
        if name != start && !later.contains(&name) {
            later.push(name);
        }
    }
    let says = |start: &str, later: &[String]| {
        if later.is_empty() {
            format!("The {start} clef all through")
        } else {
            format!("The {start} clef, then the {} too", later.join(", the "))
        }
    };
    let right = Choice::new(Worth::Right, says(&start, &later), "", vec![BarIndex(0)]);
    let mut others = Vec::new();
    let names = ["treble", "bass", "tenor", "alto"];
    for name in names {
        if name != start {
            others.push(Choice::wrong(
                says(name, &[]),
                "look at the sign at the start of the line",
            ));
            others.push(Choice::wrong(
                says(&start, &[name.to_owned()]),
                "no such change stands on the page",
            ));
        }
    }
    if !later.is_empty() {
        others.push(Choice::wrong(says(&start, &[]), "the clef changes on the way"));
    }
    let known = right.says.clone();
    others.retain(|choice| choice.says != known);
    let spots = staff.changes.iter().map(|change| {
        let why = format!("from here the {} clef", change.clef.name());
        Spot::new(Worth::Right, near(change.place.bar), why)
    });
    Some(Made {
        choose: Some(lots.one("Which clef?", vec![right], others, 4)),
        point: Some(pointing(
            "Where does the clef change?",
            spots.collect(),
            "The clef never changes.",
        )),
        ..Made::default()
    })
}
