//! What did she see, and what was missed? Her answers against what the survey says, question by question, place by place.

use super::{Ask, Choosing, Look, MOST_POINTED, Pointing, Spot, Worth};
use notation::BarIndex;

/// What she answered to one question.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Answer {
    /// To which.
    pub look: Look,
    /// What she chose, by its place among the choices; `None` if she did not answer.
    pub chosen: Option<Vec<usize>>,
    /// The bars she pointed at; empty for “nowhere”, `None` if she did not answer.
    pub pointed: Option<Vec<BarIndex>>,
}

/// How an answer stands.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Verdict {
    /// She saw it.
    Seen,
    /// A musician might say so; the survey says otherwise, or only a table agrees.
    Half,
    /// She looked, and it escaped her.
    Missed,
    /// She did not come to it.
    NotLooked,
}

impl Verdict {
    /// The name in JSON.
    #[must_use]
    pub const fn id(self) -> &'static str {
        match self {
            Self::Seen => "seen",
            Self::Half => "half",
            Self::Missed => "missed",
            Self::NotLooked => "not_looked",
        }
    }
}

/// One thing said about an answer.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Said {
    /// How it stands.
    pub verdict: Verdict,
    /// What there is to see, a sentence.
    pub says: String,
    /// The evidence for it, a clause; may be empty.
    pub evidence: String,
    /// Where to look, the place itself first.
    pub bars: Vec<BarIndex>,
}

/// One question with all that is said about its answer.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Compared {
    /// Which.
    pub look: Look,
    /// The worst of what was answered; not looked at only if nothing was.
    pub verdict: Verdict,
    /// What is said, what was missed first.
    pub said: Vec<Said>,
    /// What is worth knowing in any case, a sentence; may be empty.
    pub beside: String,
}

/// Holds answers against what the questions know. A question without an answer was not looked at.
#[must_use]
pub fn compare(asks: &[Ask], answers: &[Answer]) -> Vec<Compared> {
    asks.iter()
        .map(|ask| {
            let answer = answers.iter().find(|answer| answer.look == ask.look);
            one(ask, answer)
        })
        .collect()
}

fn one(ask: &Ask, answer: Option<&Answer>) -> Compared {
    let chosen = answer.and_then(|answer| answer.chosen.as_deref());
    let pointed = answer.and_then(|answer| answer.pointed.as_deref());
    let mut said: Vec<Said> = Vec::new();
    if let Some(choosing) = &ask.choose {
        said.extend(match chosen.map(|chosen| picked(choosing, chosen)) {
            Some(chosen) if !chosen.is_empty() && choosing.several => chose_several(choosing, &chosen),
            Some(chosen) if !chosen.is_empty() => chose_one(choosing, &chosen),
            _ => not_chosen(choosing),
        });
    }
    if let Some(pointing) = &ask.point {
        said.extend(match pointed {
            Some(bars) => pointed_at(pointing, bars),
            None => not_pointed(pointing),
        });
    }
    let answered = said.iter().map(|said| said.verdict);
    let verdict = answered
        .filter(|verdict| *verdict != Verdict::NotLooked)
        .max()
        .unwrap_or(Verdict::NotLooked);
    said.sort_by_key(|said| match said.verdict {
        Verdict::Missed => 0,
        Verdict::Half => 1,
        Verdict::NotLooked => 2,
        Verdict::Seen => 3,
    });
    Compared {
        look: ask.look,
        verdict,
        said,
        beside: ask.beside.clone(),
    }
}

/// Choices that there are, each once.
fn picked(choosing: &Choosing, chosen: &[usize]) -> Vec<usize> {
    let mut picked: Vec<usize> = chosen
        .iter()
        .copied()
        .filter(|index| *index < choosing.choices.len())
        .collect();
    picked.sort_unstable();
    picked.dedup();
    picked
}

fn said(verdict: Verdict, says: impl Into<String>, evidence: &str, bars: &[BarIndex]) -> Said {
    Said {
        verdict,
        says: says.into(),
        evidence: evidence.to_owned(),
        bars: bars.to_vec(),
    }
}

/// What is right among the choices, in words.
fn right(choosing: &Choosing) -> impl Iterator<Item = &super::Choice> {
    choosing
        .choices
        .iter()
        .filter(|choice| choice.worth == Worth::Right)
}

fn chose_one(choosing: &Choosing, chosen: &[usize]) -> Vec<Said> {
    let Some(choice) = chosen.first().and_then(|index| choosing.choices.get(*index)) else {
        return not_chosen(choosing);
    };
    let first = right(choosing).next();
    match choice.worth {
        Worth::Right => vec![said(
            Verdict::Seen,
            format!("{}.", choice.says),
            &choice.why,
            &choice.bars,
        )],
        Worth::Doubtful => vec![half(choice, first)],
        Worth::Wrong => {
            let not = format!("Not “{}”{}.", choice.says, because(choice));
            vec![match first {
                Some(first) => said(
                    Verdict::Missed,
                    format!("{}. {not}", first.says),
                    &first.why,
                    &first.bars,
                ),
                None => said(Verdict::Missed, not, "", &choice.bars),
            }]
        }
    }
}

/// `: a sharp too many`.
fn because(choice: &super::Choice) -> String {
    if choice.why.is_empty() {
        String::new()
    } else {
        format!(": {}", choice.why)
    }
}

/// What a musician might say, with what the survey says instead.
fn half(choice: &super::Choice, right: Option<&super::Choice>) -> Said {
    let hers = format!("“{}”{}.", choice.says, because(choice));
    match right {
        Some(right) => said(
            Verdict::Half,
            format!("{}. {hers}", right.says),
            &right.why,
            &right.bars,
        ),
        None => said(Verdict::Half, hers, "", &choice.bars),
    }
}

fn chose_several(choosing: &Choosing, chosen: &[usize]) -> Vec<Said> {
    let none = choosing.choices.len() - 1;
    let mut all = Vec::new();
    for (index, choice) in choosing.choices.iter().enumerate() {
        let hers = chosen.contains(&index);
        let named = format!("{}{}.", choice.says, because(choice));
        let (verdict, says) = match (choice.worth, hers) {
            (Worth::Right, true) => (Verdict::Seen, named),
            // That there is none is missed by naming one, which is said at that one.
            (Worth::Right, false) if index == none => continue,
            (Worth::Right, false) => (Verdict::Missed, named),
            (Worth::Doubtful, true) => (Verdict::Half, named),
            (Worth::Wrong, true) if index == none => continue,
            (Worth::Wrong, true) => (Verdict::Missed, format!("No {} here.", plain(&choice.says))),
            (_, false) => continue,
        };
        all.push(said(verdict, says, "", &choice.bars));
    }
    all
}

/// As it stands inside a sentence: names of notes keep their capital.
fn plain(says: &str) -> String {
    let mut chars = says.chars();
    match (chars.next(), chars.next()) {
        (Some(first), Some(second)) if second.is_lowercase() => {
            first.to_lowercase().collect::<String>() + says.get(first.len_utf8()..).unwrap_or("")
        }
        _ => says.to_owned(),
    }
}

fn not_chosen(choosing: &Choosing) -> Vec<Said> {
    let one = |choice: &super::Choice| {
        if choosing.several {
            let says = format!("{}{}.", choice.says, because(choice));
            return said(Verdict::NotLooked, says, "", &choice.bars);
        }
        let says = format!("{}.", choice.says);
        said(Verdict::NotLooked, says, &choice.why, &choice.bars)
    };
    right(choosing).map(one).collect()
}

fn pointed_at(pointing: &Pointing, bars: &[BarIndex]) -> Vec<Said> {
    let rights = || pointing.spots.iter().filter(|spot| spot.worth == Worth::Right);
    let hit = |spot: &Spot| spot.bars.iter().any(|bar| bars.contains(bar));
    if bars.len() > MOST_POINTED {
        let spots = rights().take(1);
        return spots
            .map(|spot| {
                let says = "So many bars point at nothing; one is proof enough.";
                said(Verdict::Half, says, &spot.why, &spot.shown())
            })
            .collect();
    }
    if rights().next().is_none() {
        return no_place(pointing, bars, hit);
    }
    let mut all: Vec<Said> = Vec::new();
    if pointing.each {
        for spot in rights() {
            let verdict = if hit(spot) { Verdict::Seen } else { Verdict::Missed };
            all.push(said(verdict, spot.sentence(), "", &spot.shown()));
        }
    } else if let Some(spot) = rights().find(|spot| hit(spot)) {
        all.push(said(Verdict::Seen, spot.sentence(), "", &spot.shown()));
    } else if let Some(spot) = pointing.spots.iter().find(|spot| hit(spot)) {
        all.push(said(Verdict::Half, spot.sentence(), "", &spot.shown()));
        all.extend(rights().take(1).map(|spot| rather(spot, Verdict::Half)));
    } else {
        all.extend(rights().take(1).map(|spot| rather(spot, Verdict::Missed)));
    }
    all.extend(stray(pointing, bars));
    all
}

/// There is no such place: right if she pointed nowhere.
fn no_place(pointing: &Pointing, bars: &[BarIndex], hit: impl Fn(&Spot) -> bool) -> Vec<Said> {
    if let Some(spot) = pointing.spots.iter().find(|spot| hit(spot)) {
        return vec![said(Verdict::Half, spot.sentence(), "", &spot.shown())];
    }
    let verdict = if bars.is_empty() {
        Verdict::Seen
    } else {
        Verdict::Missed
    };
    vec![said(verdict, pointing.nowhere.clone(), "", bars)]
}

fn rather(spot: &Spot, verdict: Verdict) -> Said {
    said(verdict, spot.sentence(), "", &spot.shown())
}

/// Bars where each place counts and nothing of it stands.
fn stray(pointing: &Pointing, bars: &[BarIndex]) -> Option<Said> {
    if !pointing.each {
        return None;
    }
    let known = |bar: &&BarIndex| pointing.spots.iter().any(|spot| spot.bars.contains(bar));
    let stray: Vec<BarIndex> = bars.iter().filter(|bar| !known(bar)).copied().collect();
    (!stray.is_empty()).then(|| {
        said(
            Verdict::Half,
            "Pointed at, but nothing of the kind stands here.",
            "",
            &stray,
        )
    })
}

fn not_pointed(pointing: &Pointing) -> Vec<Said> {
    let rights = pointing.spots.iter().filter(|spot| spot.worth == Worth::Right);
    let most = if pointing.each { MOST_POINTED } else { 1 };
    let mut all: Vec<Said> = rights
        .take(most)
        .map(|spot| said(Verdict::NotLooked, spot.sentence(), "", &spot.shown()))
        .collect();
    if all.is_empty() {
        all.push(said(Verdict::NotLooked, pointing.nowhere.clone(), "", &[]));
    }
    all
}

impl Spot {
    /// What is seen there, as a sentence; names of notes and letters of dynamics stand as they are.
    fn sentence(&self) -> String {
        let stop = if self.why.ends_with(['.', '!', '?']) {
            ""
        } else {
            "."
        };
        let word = self.why.split(' ').next().unwrap_or_default();
        let dynamic = !word.is_empty() && word.chars().all(|c| "pmfrsz".contains(c));
        let mut chars = self.why.chars();
        match chars.next().filter(|first| first.is_lowercase() && !dynamic) {
            Some(first) => format!("{}{}{stop}", first.to_uppercase(), chars.as_str()),
            None => format!("{}{stop}", self.why),
        }
    }
}
