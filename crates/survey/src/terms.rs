//! What does every word on the page mean? Each defined once, with all its bars; what is not known is said to be so.
//!
//! Words of directions, dynamic letters, words in other signs and technical marks; rehearsal letters, lyrics, names
//! and page credits are no terms.

use crate::{Context, Evidence};
use ::terms::{Kind, Reading, Spelling};
use notation::{ArticulationKind, BarIndex, DirectionKind, Finding, Id, OrnamentKind, Place, Severity};
use std::collections::BTreeMap;

/// The answer to question 5.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct TermsAnswer {
    /// Every word or phrase at its place, in order.
    pub all: Vec<TermHere>,
    /// The same, each once, in order of first appearance.
    pub terms: Vec<Term>,
    /// Words that no dictionary entry explains, each once.
    pub unknown: Vec<UnknownWord>,
    /// What it means for the player.
    pub means: String,
    /// Where to look.
    pub evidence: Vec<Evidence>,
    /// Misspellings.
    pub findings: Vec<Finding>,
}

/// What a term was printed as.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug)]
pub enum PrintedAs {
    /// Words of a direction.
    Words,
    /// Dynamic letters.
    Dynamic,
    /// Words in another sign or mark.
    Sign,
}

/// A word or phrase at its place.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct TermHere {
    /// As printed, outer blanks off, newlines kept.
    pub text: String,
    /// Index into [`TermsAnswer::terms`].
    pub term: usize,
    /// What it was printed as.
    pub printed_as: PrintedAs,
    /// Where.
    pub place: Place,
    /// The direction or event.
    pub element: Id,
}

/// A word or phrase, defined.
#[derive(Clone, PartialEq, Debug)]
pub struct Term {
    /// As first printed, on one line.
    pub text: String,
    /// Its meaning in plain English; `None` if no word of it is known.
    pub meaning: Option<String>,
    /// Its main kind.
    pub kind: Option<Kind>,
    /// What it was printed as, the first time.
    pub printed_as: PrintedAs,
    /// Advice for the player from the dictionary.
    pub advice: Vec<&'static str>,
    /// Where readers go wrong with it.
    pub traps: Vec<&'static str>,
    /// Words printed in another spelling than the dictionary's: printed, meant.
    pub misspelt: Vec<(String, String)>,
    /// Words in it that are not known.
    pub unknown: Vec<String>,
    /// How often.
    pub count: usize,
    /// The bars, each once, in order.
    pub bars: Vec<BarIndex>,
    /// Where first.
    pub place: Place,
    /// The first element.
    pub element: Id,
    /// The whole reading, word by word.
    pub reading: Reading,
}

/// A word that is not known.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct UnknownWord {
    /// As printed.
    pub word: String,
    /// Where first.
    pub place: Place,
    /// The element there.
    pub element: Id,
}

/// Answers question 5 for a part.
#[must_use]
pub fn answer(ctx: &Context) -> TermsAnswer {
    let mut answer = TermsAnswer::default();
    let mut known: BTreeMap<String, usize> = BTreeMap::new();
    for (text, printed_as, place, element) in printed(ctx) {
        let text = text.trim();
        let flat = text.split_whitespace().collect::<Vec<_>>().join(" ");
        if flat.is_empty() {
            continue;
        }
        let key = flat.to_lowercase();
        let index = match known.get(&key) {
            Some(index) => *index,
            None => {
                let reading = ::terms::read(&flat);
                // Numbers and letters alone are no term.
                if reading.words.is_empty() && reading.unknown.is_empty() {
                    continue;
                }
                answer.terms.push(term(flat, reading, printed_as, place, element));
                known.insert(key, answer.terms.len() - 1);
                answer.terms.len() - 1
            }
        };
        if let Some(term) = answer.terms.get_mut(index) {
            term.count += 1;
            if term.bars.last() != Some(&place.bar) {
                term.bars.push(place.bar);
            }
        }
        answer.all.push(TermHere {
            text: text.to_owned(),
            term: index,
            printed_as,
            place,
            element,
        });
    }
    answer.unknown = unknown(&answer.terms);
    answer.findings = findings(ctx, &answer.terms);
    answer.evidence = evidence(&answer);
    answer.means = means(&answer);
    answer
}

/// Everything printed in words, in order of place; at one place words before dynamics, directions before marks at notes.
fn printed<'a>(ctx: &Context<'a>) -> Vec<(&'a str, PrintedAs, Place, Id)> {
    let mut found: Vec<(&str, PrintedAs, Place, Id)> = Vec::new();
    for direction in &ctx.part.directions {
        let (text, printed_as) = match &direction.kind {
            DirectionKind::Words(text) => (text, PrintedAs::Words),
            DirectionKind::Dynamic(letters) => (letters, PrintedAs::Dynamic),
            // Other signs hold chord names, tunings and figures: no words.
            DirectionKind::Sign { name, text } if name == "other-direction" => (text, PrintedAs::Sign),
            _ => continue,
        };
        found.push((text, printed_as, direction.place, direction.id));
    }
    for event in ctx.part.events.iter().filter(|e| !e.cue) {
        let here = |text: &'a str, printed_as| (text, printed_as, event.place, event.id);
        found.extend(
            event
                .dynamics
                .iter()
                .map(|letters| here(letters, PrintedAs::Dynamic)),
        );
        found.extend(event.articulations.iter().filter_map(|a| match &a.kind {
            ArticulationKind::Other(text) => Some(here(text, PrintedAs::Sign)),
            _ => None,
        }));
        found.extend(event.ornaments.iter().filter_map(|o| match &o.kind {
            OrnamentKind::Other(text) => Some(here(text, PrintedAs::Sign)),
            _ => None,
        }));
        let heads = event.heads().iter().flat_map(|head| &head.technical);
        let technical = event.technical.iter().chain(heads);
        found.extend(
            technical
                .filter(|mark| mark.name == "other-technical")
                .map(|mark| here(&mark.text, PrintedAs::Sign)),
        );
    }
    // In which order a source lists what stands at one place says nothing: the words above the staff come first.
    found.sort_by_key(|(_, printed_as, place, _)| (*place, *printed_as == PrintedAs::Dynamic));
    found
}

fn term(text: String, reading: Reading, printed_as: PrintedAs, place: Place, element: Id) -> Term {
    Term {
        text,
        meaning: reading.meaning.clone(),
        kind: reading.kind,
        printed_as,
        advice: reading.advice(),
        traps: reading.traps(),
        misspelt: reading
            .words
            .iter()
            .filter_map(|word| match &word.spelling {
                Spelling::Misspelt { of } => Some((word.text.clone(), of.clone())),
                _ => None,
            })
            .collect(),
        unknown: reading.unknown.clone(),
        count: 0,
        bars: Vec::new(),
        place,
        element,
        reading,
    }
}

fn unknown(terms: &[Term]) -> Vec<UnknownWord> {
    let mut words: Vec<UnknownWord> = Vec::new();
    for term in terms {
        for word in &term.unknown {
            if !words.iter().any(|known| known.word.eq_ignore_ascii_case(word)) {
                words.push(UnknownWord {
                    word: word.clone(),
                    place: term.place,
                    element: term.element,
                });
            }
        }
    }
    words
}

fn findings(ctx: &Context, terms: &[Term]) -> Vec<Finding> {
    terms
        .iter()
        .flat_map(|term| term.misspelt.iter().map(move |pair| (term, pair)))
        .map(|(term, (printed, meant))| {
            Finding::new(
                Severity::Note,
                "misspelt-term",
                format!("“{printed}” is taken for “{meant}”"),
                "look whether another word is meant",
            )
            .in_part(&ctx.part.name)
            .at_bar(term.place.bar, ctx.label(term.place.bar))
            .at_offset(term.place.offset)
            .about(term.element)
        })
        .collect()
}

fn evidence(answer: &TermsAnswer) -> Vec<Evidence> {
    answer
        .terms
        .iter()
        .map(|term| Evidence {
            place: Some(term.place),
            element: Some(term.element),
            says: match &term.meaning {
                Some(meaning) => format!("“{}”: {meaning}", term.text),
                None => format!("“{}”: not known", term.text),
            },
        })
        .collect()
}

fn means(answer: &TermsAnswer) -> String {
    let plural = |n: usize| if n == 1 { "" } else { "s" };
    let words = answer
        .terms
        .iter()
        .filter(|term| term.printed_as != PrintedAs::Dynamic)
        .count();
    let dynamics = answer.terms.len() - words;
    let mut says = match (words, dynamics) {
        (0, 0) => return "No words are printed.".to_owned(),
        (0, d) => format!("No words but {d} dynamic mark{}.", plural(d)),
        (w, 0) => format!("{w} term{} to know.", plural(w)),
        (w, d) => format!(
            "{w} term{} to know, and {d} dynamic mark{}.",
            plural(w),
            plural(d)
        ),
    };
    if !answer.unknown.is_empty() {
        let unknown: Vec<String> = answer.unknown.iter().map(|u| format!("“{}”", u.word)).collect();
        says.push_str(&format!(" Ask about {}.", unknown.join(", ")));
    }
    says
}

#[cfg(test)]
mod tests {
    use super::*;
    use notation::sketch;

    fn ask(text: &str) -> TermsAnswer {
        let piece = sketch(text).expect("a sketch");
        answer(&Context::new(&piece, 0).expect("a part"))
    }

    /// Source: Allegro, dolce, rit.: common practice, as any glossary gives them.
    #[test]
    fn each_term_once_with_its_bars() {
        let t = ask(
            "metre:2/4 \"Allegro\" @p C4/h | \"dolce\" D4/h | \"rit.\" E4/h | \"dolce\" @p F4/h | reh:A G4/h |",
        );
        let terms: Vec<(&str, Vec<u32>)> = t
            .terms
            .iter()
            .map(|t| (t.text.as_str(), t.bars.iter().map(|b| b.0).collect()))
            .collect();
        assert_eq!(
            terms,
            [
                ("Allegro", vec![0]),
                ("p", vec![0, 3]),
                ("dolce", vec![1, 3]),
                ("rit.", vec![2])
            ]
        );
        assert_eq!(t.terms[0].kind, Some(Kind::Tempo));
        assert!(t.terms.iter().all(|t| t.meaning.is_some()));
        assert_eq!(t.all.len(), 6);
        assert_eq!(t.means, "3 terms to know, and 1 dynamic mark.");
    }

    #[test]
    fn unknown_words_and_misspellings_are_said() {
        let t = ask("metre:2/4 \"Alegro\" C4/h | \"xyzzy\" D4/h |");
        assert_eq!(t.findings.len(), 1);
        assert!(t.findings[0].what.contains("Alegro"), "{}", t.findings[0].what);
        assert_eq!(
            t.unknown.iter().map(|u| u.word.as_str()).collect::<Vec<_>>(),
            ["xyzzy"]
        );
        assert_eq!(ask("C4/q").means, "No words are printed.");
    }
}
