//! What is to be done with the notes: loudness, touch, ornaments, words?

use super::pick::{Lots, several};
use super::signs::pointing;
use super::{Choice, Looked, Made, Spot, Worth};
use notation::BarIndex;
use survey::articulation::ArticulationAnswer;
use survey::ornaments::OrnamentsAnswer;
use survey::terms::{PrintedAs, Term};
use terms::Kind;

/// Letters of a meaning.
const MEANING: usize = 90;

fn distinct(bars: impl IntoIterator<Item = BarIndex>) -> Vec<BarIndex> {
    let mut all: Vec<BarIndex> = bars.into_iter().collect();
    all.sort_unstable();
    all.dedup();
    all
}

// Dynamics.

/// Levels from soft to loud.
const LEVELS: [&str; 6] = ["pp", "p", "mp", "mf", "f", "ff"];

pub(super) fn dynamics(looked: &Looked, lots: &mut Lots) -> Option<Made> {
    let answer = looked.survey.dynamics.as_ref()?;
    let mark = |index: Option<usize>| index.and_then(|index| answer.marks.get(index));
    let says = |soft: &str, loud: &str| {
        if soft == loud {
            format!("{soft} and nothing else")
        } else {
            format!("{soft} to {loud}")
        }
    };
    let none = "No level is printed";
    let mut others: Vec<Choice> = Vec::new();
    let pairs = LEVELS.iter().enumerate();
    for (at, soft) in pairs {
        for loud in LEVELS.iter().skip(at).take(4) {
            others.push(Choice::wrong(says(soft, loud), ""));
        }
    }
    let right = match mark(answer.softest).zip(mark(answer.loudest)) {
        Some((soft, loud)) => {
            others.push(Choice::wrong(none, "levels are printed"));
            let why = format!(
                "{} in bar {}, {} in bar {}",
                soft.mark,
                looked.ctx.label(soft.place.bar),
                loud.mark,
                looked.ctx.label(loud.place.bar)
            );
            let ends = [soft.plain(), loud.plain()];
            // What differs at one end only is easily mistaken; the others are not worth their room.
            others.retain(|choice| {
                let near = choice.says.split(' ').next() == Some(ends[0])
                    || choice.says.ends_with(&format!(" {}", ends[1]));
                near || choice.says == none
            });
            Choice::new(
                Worth::Right,
                says(ends[0], ends[1]),
                why,
                vec![soft.place.bar, loud.place.bar],
            )
        }
        None => Choice::new(Worth::Right, none, "", Vec::new()),
    };
    let known = right.says.clone();
    others.retain(|choice| choice.says != known);
    let sudden = answer.sudden.iter().filter_map(|sudden| {
        let at = answer.marks.get(sudden.to)?;
        Some(Spot::new(
            Worth::Right,
            vec![at.place.bar],
            sudden.says(&answer.marks),
        ))
    });
    let sudden: Vec<Spot> = sudden.collect();
    Some(Made {
        choose: Some(lots.one("From how soft to how loud?", vec![right], others, 4)),
        point: Some(pointing(
            "Where does the loudness change at once, without a hairpin?",
            sudden,
            "No sudden change is printed.",
        )),
        beside: if answer.starts_without && !answer.marks.is_empty() {
            "No level stands at the first note: choose one.".to_owned()
        } else {
            String::new()
        },
    })
}

// Articulation.

pub(super) fn articulation(looked: &Looked) -> Option<Made> {
    let answer = looked.survey.articulation.as_ref()?;
    let named = [
        ("Staccato dots", "staccato"),
        ("Accents", "accent"),
        ("Tenuto lines", "tenuto"),
        ("Marcato wedges", "marcato"),
    ];
    let mut choices: Vec<Choice> = named
        .into_iter()
        .map(|(says, mark)| marked(answer, says, mark))
        .collect();
    choices.push(slurs(answer));
    let breaths = distinct(answer.breath_marks.iter().map(|(place, _)| place.bar));
    choices.push(present("Breath marks", String::new(), breaths));
    let contrasts = answer
        .contrasts
        .iter()
        .map(|contrast| Spot::new(Worth::Right, vec![contrast.bar], contrast.says()));
    let mut point = pointing(
        "In which bar do marks of two sorts stand side by side?",
        contrasts.collect(),
        "Nowhere do marks of two sorts stand side by side.",
    );
    point.each = false;
    Some(Made {
        choose: Some(several("Which of these stand in it?", choices, "None of these")),
        point: Some(point),
        ..Made::default()
    })
}

/// A choice that is right if it comes anywhere.
fn present(says: &str, why: String, bars: Vec<BarIndex>) -> Choice {
    let worth = if bars.is_empty() {
        Worth::Wrong
    } else {
        Worth::Right
    };
    Choice::new(worth, says, why, bars)
}

fn marked(answer: &ArticulationAnswer, says: &str, mark: &str) -> Choice {
    let found = answer.marks.iter().find(|found| found.mark == mark);
    let (why, bars) = found.map_or_else(Default::default, |found| {
        (found.means.clone(), found.bars.clone())
    });
    present(says, why, bars)
}

fn slurs(answer: &ArticulationAnswer) -> Choice {
    let mixed = answer.patterns.first();
    let mut bars: Vec<BarIndex> = mixed.map_or_else(Vec::new, |pattern| pattern.bars.clone());
    let over = answer.slurs.over_bar_lines.iter().map(|(from, _)| from.0.bar);
    bars.extend(over);
    let mut choice = present(
        "Slurs",
        mixed.map_or_else(String::new, |pattern| pattern.name.clone()),
        distinct(bars),
    );
    if answer.slurs.count > 0 {
        choice.worth = Worth::Right;
    } else {
        choice = Choice::wrong("Slurs", "");
    }
    choice
}

// Ornaments.

pub(super) fn ornaments(looked: &Looked) -> Option<Made> {
    let answer = looked.survey.ornaments.as_ref()?;
    let sorts: [(&str, &[&str]); 4] = [
        ("Trills", &["trill", "shake", "wavy line"]),
        ("Mordents", &["mordent"]),
        ("Turns", &["turn"]),
        ("Tremolos", &["tremolo"]),
    ];
    let mut choices: Vec<Choice> = sorts
        .into_iter()
        .map(|(says, words)| of_sort(answer, says, words))
        .collect();
    let graces = distinct(answer.graces.iter().map(|group| group.place.bar));
    let why = answer
        .graces
        .first()
        .map_or_else(String::new, |group| group.says.clone());
    choices.push(present("Grace notes", why, graces));
    let signs = answer
        .ornaments
        .iter()
        .map(|found| Spot::new(Worth::Right, vec![found.place.bar], found.says()));
    let graces = answer
        .graces
        .iter()
        .map(|group| Spot::new(Worth::Right, vec![group.place.bar], group.says.clone()));
    let mut spots: Vec<Spot> = Vec::new();
    for spot in signs.chain(graces) {
        if !spots.iter().any(|known| known.bars == spot.bars) {
            spots.push(spot);
        }
    }
    spots.sort_by_key(|spot| spot.bars.first().copied());
    Some(Made {
        choose: Some(several("Which of these stand in it?", choices, "None of these")),
        point: Some(pointing(
            "Where are they?",
            spots,
            "No ornament stands on the page.",
        )),
        ..Made::default()
    })
}

fn of_sort(answer: &OrnamentsAnswer, says: &str, words: &[&str]) -> Choice {
    let of = |mark: &str| words.iter().any(|word| mark.contains(word));
    let found = || answer.ornaments.iter().filter(|found| of(&found.realised.mark));
    let why = found()
        .next()
        .map_or_else(String::new, survey::ornaments::OrnamentFound::says);
    present(says, why, distinct(found().map(|found| found.place.bar)))
}

// Terms.

pub(super) fn terms(looked: &Looked, lots: &mut Lots) -> Option<Made> {
    let answer = looked.survey.terms.as_ref()?;
    let asked = |term: &&Term| {
        term.printed_as == PrintedAs::Words
            && term.meaning.is_some()
            && !matches!(
                term.kind,
                None | Some(Kind::Instrument | Kind::Modifier | Kind::Dynamic | Kind::Form)
            )
    };
    let known: Vec<&Term> = answer.terms.iter().filter(asked).collect();
    let Some(term) = known.get(lots.below(known.len())) else {
        return Some(no_words(
            answer
                .terms
                .iter()
                .any(|term| term.printed_as == PrintedAs::Words),
        ));
    };
    let meaning = term.meaning.as_deref().unwrap_or_default();
    let right = Choice::new(
        Worth::Right,
        clip(meaning),
        term.advice.first().copied().unwrap_or(""),
        term.bars.clone(),
    );
    let words = term.text.to_lowercase();
    let others: Vec<Choice> = terms::entries()
        .iter()
        .filter(|entry| Some(entry.kind) == term.kind && !words.contains(&entry.term.to_lowercase()))
        .filter(|entry| !meaning.contains(entry.meaning) && !entry.meaning.contains(meaning))
        .map(|entry| Choice::wrong(clip(entry.meaning), format!("that would be {}", entry.term)))
        .collect();
    let mut choose = lots.one("", vec![right], others, 4);
    choose.asks = format!("What does “{}” ask for?", term.text);
    Some(Made {
        choose: Some(choose),
        point: None,
        beside: term.traps.first().map_or_else(String::new, |trap| {
            format!("Beware: {}.", trap.trim_end_matches('.'))
        }),
    })
}

fn no_words(unexplained: bool) -> Made {
    let says = if unexplained {
        "Only words that no dictionary of ours explains"
    } else {
        "No words but title and names"
    };
    Made {
        choose: Some(super::Choosing {
            asks: "Which words are printed over or under the music?".to_owned(),
            several: false,
            choices: vec![
                Choice::wrong("A word of mood, such as dolce", "no such word is printed"),
                Choice::wrong("A word that slows or hurries", "no such word is printed"),
                Choice::new(Worth::Right, says, "", Vec::new()),
            ],
        }),
        ..Made::default()
    }
}

fn clip(words: &str) -> String {
    if words.chars().count() <= MEANING {
        return words.to_owned();
    }
    let cut: String = words.chars().take(MEANING).collect();
    let end = cut.rfind(' ').unwrap_or(cut.len());
    format!("{} …", cut.get(..end).unwrap_or(&cut))
}
