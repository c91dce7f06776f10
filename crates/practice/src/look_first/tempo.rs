//! How fast is it to go? Numbers among which any table that lists the words, or the printed mark, decides.

use super::pick::Lots;
use super::signs::pointing;
use super::{Choice, Looked, Made, Spot, Worth};
use notation::{BarIndex, Place};
use survey::metre::BeatUnit;
use survey::tempo::TempoAnswer;

/// Numbers on a metronome, from slow to fast. Source: the marks of a metronome's scale (common practice).
const MARKS: [u16; 30] = [
    40, 44, 48, 52, 56, 60, 63, 66, 69, 72, 76, 80, 84, 88, 92, 96, 100, 104, 108, 112, 116, 120, 126, 132,
    144, 152, 160, 176, 192, 208,
];
/// How far apart the choices lie. Ours: further than the tables' ranges are wide on the average.
const APART: f64 = 1.5;
/// What is told apart at a glance.
const CLEARLY: f64 = 1.25;
/// Within so much of a printed number, and half way to the next choice.
const AT_THE_MARK: (f64, f64) = (0.9, 1.1);
const ABOUT_THE_MARK: (f64, f64) = (0.78, 1.25);

pub(super) fn tempo(looked: &Looked, lots: &mut Lots) -> Option<Made> {
    let answer = looked.survey.tempo.as_ref()?;
    let unit = answer.beat?;
    let none = "The page does not say";
    let marked = answer.marking.as_deref().map(|words| words.replace('\n', " "));
    let middle = middle(answer);
    let mut choices: Vec<Choice> = speeds(middle, lots)
        .into_iter()
        .map(|number| at_speed(answer, unit, number))
        .collect();
    let unsaid = answer.metronome.is_none() && answer.ranges.is_empty();
    if unsaid {
        for choice in &mut choices {
            choice.worth = Worth::Wrong;
            choice.why = "nothing printed says how fast".to_owned();
        }
    }
    let why = match (&marked, unsaid) {
        (Some(words), true) => format!("“{words}” names a change or a manner, no speed"),
        (None, true) => "neither a word nor a number stands at the beginning".to_owned(),
        _ => "it does".to_owned(),
    };
    let worth = if unsaid { Worth::Right } else { Worth::Wrong };
    choices.push(Choice::new(worth, none, why, Vec::new()));
    if !choices.iter().any(|choice| choice.worth == Worth::Right) {
        return None;
    }
    Some(Made {
        choose: Some(super::Choosing {
            asks: "How fast is it to go in the end?".to_owned(),
            several: false,
            choices,
        }),
        point: Some(pointing(
            "Where does the tempo change or bend?",
            bends(answer),
            "No change of tempo is printed.",
        )),
        beside: first_reading(looked),
    })
}

/// The middle of what the page says, in felt beats a minute; of nothing, a walk.
fn middle(answer: &TempoAnswer) -> f64 {
    if let Some(mark) = &answer.metronome {
        return (mark.beats_a_minute.0 * mark.beats_a_minute.1).max(1.0).sqrt();
    }
    let mut logs: Vec<f64> = Vec::new();
    for table in &answer.ranges {
        let (low, high) = (table.low.or(table.high), table.high.or(table.low));
        if let (Some(low), Some(high)) = (low, high) {
            logs.push((low * high).max(1.0).sqrt());
        }
    }
    logs.sort_by(f64::total_cmp);
    logs.get(logs.len() / 2).copied().unwrap_or(96.0)
}

/// Four speeds, one of them about the middle; which one of the four is drawn by lot.
fn speeds(middle: f64, lots: &mut Lots) -> Vec<u16> {
    let place = lots.below(4);
    let mut numbers: Vec<u16> = Vec::new();
    let mut at = middle;
    for _ in 0..place {
        at /= APART;
    }
    for _ in 0..4 {
        numbers.push(on_scale(at));
        at *= APART;
    }
    // At the ends of the scale they would come too near to each other.
    let mut kept: Vec<u16> = Vec::new();
    for number in numbers {
        if kept
            .last()
            .is_none_or(|last| f64::from(number) >= f64::from(*last) * CLEARLY)
        {
            kept.push(number);
        }
    }
    let own = on_scale(middle);
    if !kept.contains(&own) {
        kept.retain(|number| f64::from((*number).max(own)) >= f64::from((*number).min(own)) * CLEARLY);
        kept.push(own);
        kept.sort_unstable();
    }
    kept
}

fn on_scale(number: f64) -> u16 {
    let away = |mark: u16| (f64::from(mark) / number).ln().abs();
    let nearest = MARKS
        .iter()
        .copied()
        .min_by(|one, other| away(*one).total_cmp(&away(*other)));
    nearest.unwrap_or(96)
}

fn at_speed(answer: &TempoAnswer, unit: BeatUnit, number: u16) -> Choice {
    let says = format!("About {} = {number}", unit.sign());
    let at = f64::from(number);
    if let Some(mark) = &answer.metronome {
        let (low, high) = mark.beats_a_minute;
        let within = |(down, up): (f64, f64)| low * down <= at && at <= high * up;
        let printed = format!("printed is {} = {}", mark.printed.unit.sign(), mark.printed.text);
        let worth = if within(AT_THE_MARK) {
            Worth::Right
        } else if within(ABOUT_THE_MARK) {
            Worth::Doubtful
        } else {
            Worth::Wrong
        };
        return Choice::new(worth, says, printed, vec![mark.place.bar]);
    }
    let holds = |low: Option<f64>, high: Option<f64>| {
        low.is_none_or(|low| low <= at) && high.is_none_or(|high| at <= high)
    };
    let mut with: Vec<&str> = Vec::new();
    let mut against: Vec<String> = Vec::new();
    for table in &answer.ranges {
        if holds(table.low, table.high) {
            with.push(table.table);
        } else {
            against.push(format!("{} ({})", range(table.low, table.high), table.table));
        }
    }
    with.dedup();
    against.dedup();
    let words = answer.marking.as_deref().unwrap_or("the word").replace('\n', " ");
    match (with.is_empty(), against.is_empty()) {
        (true, _) => Choice::wrong(says, format!("“{words}” is {}", against.join("; "))),
        (false, true) => Choice::new(
            Worth::Right,
            says,
            format!("“{words}” in {}", with.join(", ")),
            Vec::new(),
        ),
        (false, false) => {
            let why = format!(
                "“{words}” in {}; elsewhere {}",
                with.join(", "),
                against.join("; ")
            );
            Choice::new(Worth::Right, says, why, Vec::new())
        }
    }
}

fn range(low: Option<f64>, high: Option<f64>) -> String {
    match (low, high) {
        (Some(low), Some(high)) => format!("{low:.0}–{high:.0}"),
        (Some(low), None) => format!("{low:.0} and over"),
        (None, Some(high)) => format!("up to {high:.0}"),
        (None, None) => "no number".to_owned(),
    }
}

fn bends(answer: &TempoAnswer) -> Vec<Spot> {
    let changes = answer.changes.iter();
    changes
        .map(|change| {
            let why = format!("“{}”: {}", change.text.replace('\n', " "), change.says);
            let end = change.until.unwrap_or(change.place);
            let bars = through(change.place, end, change.gradual);
            Spot::new(Worth::Right, bars, why)
        })
        .collect()
}

/// The bar of a sign, and of a gradual change all bars that it goes through.
fn through(from: Place, until: Place, gradual: bool) -> Vec<BarIndex> {
    let last = if gradual {
        until.bar.0.max(from.bar.0)
    } else {
        from.bar.0
    };
    (from.bar.0..=last).map(BarIndex).collect()
}

/// At what tempo she would read it first.
fn first_reading(looked: &Looked) -> String {
    let Some(first) = looked.study.and_then(|study| study.first.as_ref()) else {
        return String::new();
    };
    let (low, high) = (first.range.low, first.range.high);
    let span = if low == high {
        low.to_string()
    } else {
        format!("{low}–{high}")
    };
    let by = first.set_by.as_ref().map_or_else(String::new, |(bar, what)| {
        format!(", for the sake of bar {}: {what}", looked.ctx.label(*bar))
    });
    format!("To read it the first time: {} = {span}{by}.", first.beat.sign())
}
