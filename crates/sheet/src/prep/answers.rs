//! How are the twelve answers said in a line or two each? The sections of the whole survey, with what tells most.

use super::{Answer, Detail};
use crate::compose::{Composed, Say};
use crate::model::{Row, Section};
use crate::terminal::said;
use crate::words::count;
use notation::BarIndex;
use survey::rhythm::{CountAt, TieOver, count_bar};

/// The answers, in the order of the sections.
pub(super) fn answers(what: &Composed, sections: &[Section]) -> Vec<Answer> {
    sections.iter().map(|section| answer(what, section)).collect()
}

fn answer(what: &Composed, section: &Section) -> Answer {
    let from = From {
        what,
        say: Say { piece: what.piece },
        lines: lines(section),
    };
    let (says, details) = match section.id {
        "key" => key(&from, section),
        "range" => range(&from, section),
        "metre" => (
            section.answer.clone(),
            from.first_of(&["count", "pickup", "look", "split bar"]),
        ),
        "rhythm" => rhythm(&from, section),
        "terms" => terms(&from, section),
        "tempo" => tempo(&from, section),
        "road_map" => (
            section.answer.clone(),
            from.first_of(&["play", "jump", "trap", "coda", "fermata"]),
        ),
        "dynamics" => dynamics(&from, section),
        "accidentals" => accidentals(&from, section),
        "clefs" => (section.answer.clone(), from.together(&["changes", "ask"])),
        "articulation" => (
            section.answer.clone(),
            from.first_of(&["pattern", "contrast", "words"]),
        ),
        "ornaments" => (section.answer.clone(), from.ornaments()),
        _ => (section.answer.clone(), Vec::new()),
    };
    Answer {
        id: section.id,
        name: name(section.id),
        says,
        details,
        slot: None,
    }
}

/// The question as a heading.
fn name(id: &str) -> &'static str {
    match id {
        "key" => "Key",
        "range" => "Range",
        "metre" => "Metre",
        "rhythm" => "Rhythm",
        "terms" => "Terms",
        "tempo" => "Tempo",
        "road_map" => "Road map",
        "dynamics" => "Dynamics",
        "accidentals" => "Accidentals",
        "clefs" => "Clefs",
        "articulation" => "Articulation",
        "ornaments" => "Ornaments",
        _ => "Also",
    }
}

/// What an answer is made from.
struct From<'a> {
    what: &'a Composed<'a>,
    say: Say<'a>,
    lines: Vec<Detail>,
}

/// The statements of a section, each with its own label.
fn lines(section: &Section) -> Vec<Detail> {
    let mut lines: Vec<Detail> = Vec::new();
    for row in &section.rows {
        let Row::Line { label, text, bars } = row else {
            continue;
        };
        let label = if label.is_empty() {
            lines.last().map_or_else(String::new, |line| line.label.clone())
        } else {
            label.clone()
        };
        lines.push(Detail {
            label,
            text: text.clone(),
            bars: bars.clone(),
        });
    }
    lines
}

impl From<'_> {
    fn labelled<'b>(&'b self, label: &'b str) -> impl Iterator<Item = &'b Detail> {
        self.lines.iter().filter(move |line| line.label == label)
    }

    /// The first statement of each of these kinds, in this order.
    fn first_of(&self, labels: &[&str]) -> Vec<Detail> {
        labels
            .iter()
            .filter_map(|label| self.labelled(label).next().cloned())
            .collect()
    }

    /// All statements of one kind as one, for each kind.
    fn together(&self, labels: &[&str]) -> Vec<Detail> {
        labels.iter().filter_map(|label| self.joined(label, 4)).collect()
    }

    /// The first few statements of a kind as one, each with its bars in words.
    fn joined(&self, label: &str, most: usize) -> Option<Detail> {
        let all: Vec<&Detail> = self.labelled(label).collect();
        let mut texts: Vec<String> = all.iter().take(most).map(|line| in_words(line)).collect();
        if texts.is_empty() {
            return None;
        }
        if all.len() > most {
            texts.push(format!("{} more", all.len() - most));
        }
        Some(Detail {
            label: label.to_owned(),
            text: texts.join("; "),
            bars: Vec::new(),
        })
    }

    /// Ornaments with their notes, the first few.
    fn ornaments(&self) -> Vec<Detail> {
        let all: Vec<&Detail> = self.lines.iter().filter(|line| line.label != "for you").collect();
        let shown = all.iter().take(2).map(|line| Detail {
            label: String::new(),
            text: until(&line.text, " (").to_owned(),
            bars: line.bars.clone(),
        });
        shown.collect()
    }
}

/// `the last note played, D, is the tonic (bar 46)`.
fn in_words(line: &Detail) -> String {
    if line.bars.is_empty() {
        line.text.clone()
    } else {
        format!("{} ({})", line.text, said(&line.bars))
    }
}

fn until<'a>(text: &'a str, end: &str) -> &'a str {
    text.split(end).next().unwrap_or(text)
}

fn detail(label: &str, text: impl Into<String>, bars: Vec<String>) -> Detail {
    Detail {
        label: label.to_owned(),
        text: text.into(),
        bars,
    }
}

fn key(from: &From, section: &Section) -> (String, Vec<Detail>) {
    let sounding = from.labelled("sounding").next();
    let sounding = sounding.map_or_else(String::new, |line| format!("; sounding {}", line.text));
    // What a player can see at once comes before what was counted.
    const TELLING: [&str; 6] = [
        "the close is",
        "the leading note",
        "the last note played",
        "phrases close",
        "no key is clear",
        "no signature",
    ];
    let proofs = TELLING.iter().filter_map(|start| {
        let mut lines = from.labelled("proof");
        lines
            .find(|line| line.text.starts_with(start) && proves_key(&line.text))
            .map(in_words)
    });
    let proofs: Vec<String> = proofs.take(2).collect();
    let mut details = Vec::new();
    if !proofs.is_empty() {
        details.push(detail("proof", proofs.join("; "), vec![]));
    }
    let key = from.what.survey.key.as_ref();
    let others = key.map_or(0, |key| key.regions.len());
    if others > 1 {
        let own = until(&section.answer, ",");
        let away = from.labelled("wanders").filter(|line| line.text != own);
        let away: Vec<String> = away.take(3).map(in_words).collect();
        if !away.is_empty() {
            details.push(detail("leans to", away.join("; "), vec![]));
        }
    } else if let Some(line) = from.labelled("why not").next().filter(|_| unsure(from)) {
        details.push(detail("or", until(&line.text, ":"), vec![]));
    }
    (format!("{}{sounding}", section.answer), details)
}

/// A last note that is not the tonic stands among the evidence, but proves nothing to a reader.
pub(crate) fn proves_key(evidence: &str) -> bool {
    !evidence.starts_with("the last note played") || evidence.ends_with("is the tonic")
}

/// A key that one would not bet on.
fn unsure(from: &From) -> bool {
    from.what
        .survey
        .key
        .as_ref()
        .is_some_and(|key| key.certainty < 0.8)
}

fn range(from: &From, section: &Section) -> (String, Vec<Detail>) {
    let found = from.what.survey.range.as_ref();
    let says = match found.and_then(|range| range.lowest.as_ref().zip(range.highest.as_ref())) {
        Some((low, high)) => format!(
            "{} ({}) to {} ({})",
            low.written.sign(),
            from.say.bar(low.place.bar),
            high.written.sign(),
            from.say.bar(high.place.bar)
        ),
        None => section.answer.clone(),
    };
    (
        says,
        from.first_of(&["ask", "leap", "ledger lines", "double stops"]),
    )
}

fn rhythm(from: &From, section: &Section) -> (String, Vec<Detail>) {
    let Some(rhythm) = &from.what.survey.rhythm else {
        return (section.answer.clone(), Vec::new());
    };
    let figures = rhythm.patterns.iter().filter(|pattern| !pattern.silent).count();
    let mut says = vec![count(figures, "figure", "figures")];
    says.extend(
        rhythm
            .shortest()
            .map(|shortest| format!("shortest note {}", shortest.name)),
    );
    says.extend(rhythm.tuplets.iter().take(2).map(|tuplet| tuplet.name.clone()));
    let over = rhythm
        .ties
        .iter()
        .filter(|tie| tie.over == TieOver::BarLine)
        .count();
    if over > 0 {
        says.push(format!("{} over the bar line", count(over, "tie", "ties")));
    }
    let mut details = Vec::new();
    if let Some(bar) = hardest_rhythm(from.what) {
        let counted = from.what.survey.metre.as_ref();
        let counted = counted.map(|metre| count_bar(metre, bar, rhythm.system, CountAt::Tempo));
        if let Some(counted) = counted.filter(|text| !text.is_empty()) {
            details.push(detail("count", counted, vec![from.say.label(bar)]));
        }
    }
    if let Some(rush) = from.labelled("don't rush").next() {
        details.push(rush.clone());
    }
    details.extend(from.first_of(&["rest on the beat", "hemiola", "division"]));
    (says.join("; "), details)
}

/// The bar whose rhythm is hardest to read, if any is hard: syncopation first, then odd tuplets, then entries after the beat.
pub(super) fn hardest_rhythm(what: &Composed) -> Option<BarIndex> {
    let rhythm = what.survey.rhythm.as_ref()?;
    let syncopated = rhythm.most_syncopated();
    let syncopated = syncopated
        .iter()
        .find(|bar| bar.score.is_some_and(|score| score >= 2));
    let tuplets = rhythm.tuplets.iter();
    let odd = tuplets
        .filter(|tuplet| tuplet.ratio.actual != 3 || tuplet.nested > 0)
        .map(|tuplet| tuplet.first.bar);
    let entries = rhythm.rests_on_beats.iter().filter(|rest| rest.entry.is_some());
    let entries = entries.map(|rest| rest.place.bar);
    let changes = rhythm.division_changes.iter().map(|change| change.place.bar);
    let ties = rhythm.ties.iter().map(|tie| tie.place.bar);
    syncopated
        .map(|bar| bar.bar)
        .into_iter()
        .chain(odd)
        .chain(entries)
        .chain(changes)
        .chain(ties)
        .next()
}

fn terms(from: &From, section: &Section) -> (String, Vec<Detail>) {
    let found = from
        .what
        .survey
        .terms
        .as_ref()
        .map_or(0, |answer| answer.terms.len());
    let says = if found == 0 {
        section.answer.clone()
    } else {
        format!("{}, under Words on this page", section.answer)
    };
    (says, from.first_of(&["unknown"]))
}

fn tempo(from: &From, section: &Section) -> (String, Vec<Detail>) {
    // The first reading has a place of its own on the sheet, or is a detail of its own here.
    let says: Vec<&str> = section
        .answer
        .trim_end_matches('.')
        .split("; ")
        .filter(|part| !part.starts_with("first reading"))
        .collect();
    let mut details = Vec::new();
    if from.what.study.is_none()
        && let Some(line) = from.labelled("read first").next()
    {
        details.push(detail("read first", first_sentence(&line.text), vec![]));
    }
    details.extend(from.joined("changes", 3));
    details.extend(from.first_of(&["so", "marked"]));
    (says.join("; "), details)
}

/// `♩. = 44–54. The fastest …` up to the first full stop before a capital letter.
fn first_sentence(text: &str) -> &str {
    let mut stops = text.match_indices(". ").map(|(at, _)| at);
    let end = stops.find(|at| {
        text.get(at + 2..)
            .is_some_and(|rest| rest.starts_with(char::is_uppercase))
    });
    end.and_then(|at| text.get(..at)).unwrap_or(text)
}

fn dynamics(from: &From, section: &Section) -> (String, Vec<Detail>) {
    let at = |label: &str| from.labelled(label).next().map(in_words);
    let ends: Vec<String> = [("softest", at("softest")), ("loudest", at("loudest"))]
        .into_iter()
        .filter_map(|(label, line)| Some(format!("{label} {}", line?)))
        .collect();
    let mut details = Vec::new();
    details.extend(from.joined("sudden", 3));
    if ends.len() == 2 {
        details.push(detail("", ends.join("; "), vec![]));
    }
    details.extend(from.first_of(&["hairpins"]));
    (section.answer.clone(), details)
}

fn accidentals(from: &From, section: &Section) -> (String, Vec<Detail>) {
    let altered: Vec<String> = from
        .labelled("altered")
        .take(4)
        .map(|line| until(&line.text, ":").to_owned())
        .collect();
    let mut details = Vec::new();
    details.extend(from.first_of(&["pencil in"]));
    if !altered.is_empty() {
        details.push(detail("mostly", altered.join(", "), vec![]));
    }
    details.extend(from.first_of(&["slow first", "two forms"]));
    (section.answer.replace(", 0 of them silently", ""), details)
}
