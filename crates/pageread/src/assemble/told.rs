//! What should the player be told? Clefs first, then what doesn't add up, then single signs, the most doubtful first.

use super::builder::Builder;
use super::lengths::{Length, Short};
use super::look::{OfMarks, OneEnd};
use crate::said;
use crate::signs::Beside;
use notation::{BarIndex, Clef, Event, Finding, Id, KeySignature, Metre, Place, Severity};

/// How one end of an ending bracket is told.
pub(super) const BRACKET: &str = "ending bracket";
/// A sign less sure than this is told by itself.
const DOUBTFUL: f32 = 0.75;
/// A clef less sure than this is asked about.
const DOUBTFUL_CLEF: f32 = 0.97;
/// At most so many single signs are told; the rest is a number.
const MOST_SIGNS: usize = 60;

/// A sign above the staff with which nothing goes: where in the piece, and which (its system, its number there, its name).
#[derive(Clone, Copy, Debug)]
pub(super) struct OfMark {
    pub place: Place,
    pub system: usize,
    pub number: u32,
    pub name: &'static str,
}

impl OfMark {
    const fn new(place: Place, system: usize, mark: &Beside) -> Self {
        Self {
            place,
            system,
            number: mark.number,
            name: mark.name,
        }
    }

    /// Why it is left out.
    fn why(&self) -> &'static str {
        match self.name {
            "segno" => "no D.S. and no second segno goes with it",
            "8va" | "8vb" | "15ma" | "15mb" => "it is doubtful, and its end was not seen",
            "coda" => "no jump, no word and no second coda sign goes with it",
            _ => "no repeat and no other ending goes with it",
        }
    }
}

/// Doubts gathered on the way.
#[derive(Clone, Debug, Default)]
pub(super) struct Told {
    first: Vec<Finding>,
    bars: Vec<Finding>,
    open: Vec<(Place, &'static str, bool)>,
    ties: Vec<(Place, Id)>,
    signs: Vec<(f32, Place, Option<Id>, String)>,
    labels: Vec<(BarIndex, String)>,
    left_out: Vec<OfMark>,
    lone: Vec<OfMark>,
    /// Marks about which nothing is to be asked by themselves: system, number.
    silent: Vec<(usize, u32)>,
    words: Vec<Finding>,
}

impl Told {
    /// What is to be said of words and figures.
    pub(super) fn words(&mut self, findings: Vec<Finding>) {
        self.words = findings;
    }

    pub(super) fn bar(&mut self, index: BarIndex, label: &str, length: &Length) {
        self.labels.push((index, label.to_owned()));
        let said = |severity, kind, what: String, advice: &str| {
            Finding::new(severity, kind, what, advice).at_bar(index, label)
        };
        if length.short == Short::Off
            && let Some(full) = length.full
        {
            let what = format!(
                "this bar was read as {} quarter notes long, and its metre asks for {full}",
                length.actual
            );
            self.bars.push(said(
                Severity::Problem,
                "bar-does-not-add-up",
                what,
                "compare its note values, dots and tuplets with the page",
            ));
        } else if length.mended {
            self.bars.push(said(
                Severity::Caution,
                "values-chosen-to-add-up",
                "a less likely note value was taken here, because with it the bar adds up".to_owned(),
                "compare its note values with the page",
            ));
        }
    }

    pub(super) fn clef(&mut self, clef: Clef, place: Place, sure: f32, changes: bool) {
        if sure >= DOUBTFUL_CLEF && !(changes && sure < 0.99) {
            return;
        }
        let what = format!(
            "the {} clef here is not quite sure ({}), and every note after it hangs on it",
            clef.name(),
            percent(sure)
        );
        self.first.push(self.at(
            place,
            Finding::new(
                Severity::Caution,
                "doubtful-clef",
                what,
                "look at the clef before anything else",
            ),
        ));
    }

    pub(super) fn key(&mut self, key: &KeySignature, place: Place, sure: f32) {
        if sure < 0.95 {
            let what = format!(
                "the key signature of {} here is not quite sure ({})",
                key.name(),
                percent(sure)
            );
            self.first.push(self.at(
                place,
                Finding::new(
                    Severity::Caution,
                    "doubtful-key",
                    what,
                    "count its sharps or flats on the page",
                ),
            ));
        }
    }

    pub(super) fn metre(&mut self, metre: &Metre, place: Place, sure: f32) {
        if sure < 0.95 {
            let what = format!(
                "the metre {} here is not quite sure ({})",
                metre.name(),
                percent(sure)
            );
            self.first.push(self.at(
                place,
                Finding::new(
                    Severity::Caution,
                    "doubtful-metre",
                    what,
                    "look at it on the page",
                ),
            ));
        }
    }

    pub(super) fn event(&mut self, event: &Event, sure: f32) {
        if sure < DOUBTFUL {
            let names: Vec<String> = event.pitches().map(|pitch| pitch.to_string()).collect();
            let grace = if event.is_grace() { "grace note " } else { "" };
            let what = if names.is_empty() {
                "rest".to_owned()
            } else {
                format!("{grace}{}", names.join(" "))
            };
            self.signs.push((sure, event.place, Some(event.id), what));
        }
    }

    pub(super) fn beside(&mut self, place: Place, mark: &Beside) {
        if mark.sure < DOUBTFUL {
            let name = match mark.name {
                "vend" => "end of the ending bracket".to_owned(),
                "breath" => "breath mark".to_owned(),
                name if name.starts_with('v') => format!("ending bracket {}", &name[1..]),
                name => format!("sign {name}"),
            };
            self.signs.push((mark.sure, place, None, name));
        }
    }

    pub(super) fn lone_tie(&mut self, event: &Event) {
        self.ties.push((event.place, event.id));
    }

    /// A mark that nothing goes with and that is not in the piece.
    pub(super) fn left_out(&mut self, place: Place, system: usize, mark: &Beside) {
        self.left_out.push(OfMark::new(place, system, mark));
        self.silent.push((system, mark.number));
    }

    /// Nothing is asked of these marks by themselves.
    pub(super) fn silent(&mut self, marks: Option<(usize, u32)>) {
        self.silent.extend(marks);
    }

    /// A mark that nothing goes with and that stays.
    pub(super) fn lone_sign(&mut self, place: Place, system: usize, mark: &Beside) {
        self.lone.push(OfMark::new(place, system, mark));
    }

    /// The ends of a bracket that is left out are asked about no more, neither as ends nor as doubtful marks (system, number).
    pub(super) fn bracket_left_out(&mut self, ends: [Place; 2], end: Option<(usize, u32)>) {
        self.open
            .retain(|(place, what, _)| *what != BRACKET || !ends.contains(place));
        self.signs
            .retain(|(_, place, id, what)| id.is_some() || !what.contains(BRACKET) || !ends.contains(place));
        self.silent(end);
    }

    /// Marks with which nothing goes, to be asked about as marks; those of which nothing else is asked.
    pub(super) fn of_marks(&self) -> OfMarks {
        OfMarks {
            lone: self
                .lone
                .iter()
                .map(|mark| {
                    let said = format!("{}, but {}", said::beside(mark.name), mark.why());
                    (mark.system, mark.number, said)
                })
                .collect(),
            silent: self.silent.clone(),
        }
    }

    pub(super) fn open(&mut self, place: Place, what: &'static str, no_start: bool) {
        self.open.push((place, what, no_start));
    }

    /// What has one end only, as places to look at.
    pub(super) fn one_ends(&self, builder: &Builder<'_>) -> Vec<OneEnd> {
        let at = |place: Place| {
            let events = builder.part.events.iter();
            let here = events.filter(|event| event.place == place && !event.is_grace());
            here.map(|event| event.id).next()
        };
        let ties = self.ties.iter().map(|(place, id)| OneEnd {
            place: *place,
            element: Some(*id),
            what: "tie that leads to no note of the same pitch".to_owned(),
            left_out: None,
        });
        let open = self.open.iter().map(|(place, what, no_start)| OneEnd {
            place: *place,
            element: at(*place),
            what: if *no_start {
                format!("end of {} whose beginning was not seen", with_article(what))
            } else {
                format!("beginning of {} whose end was not seen", with_article(what))
            },
            left_out: None,
        });
        let left_out = self.left_out.iter().map(|mark| OneEnd {
            place: mark.place,
            element: at(mark.place),
            what: format!(
                "something like {} that was left out: {}",
                with_article(&said::beside(mark.name)),
                mark.why()
            ),
            left_out: Some((mark.system, mark.number)),
        });
        ties.chain(open).chain(left_out).collect()
    }

    fn label(&self, bar: BarIndex) -> String {
        let at = self.labels.partition_point(|(index, _)| *index <= bar);
        self.labels
            .get(at.saturating_sub(1))
            .map_or_else(String::new, |(_, label)| label.clone())
    }

    fn at(&self, place: Place, finding: Finding) -> Finding {
        finding
            .at_bar(place.bar, self.label(place.bar))
            .at_offset(place.offset)
    }

    /// All findings: what everything hangs on first, then by bar, then single signs from the most doubtful.
    pub(super) fn finish(mut self, builder: &Builder<'_>, second_voice: Option<BarIndex>) -> Vec<Finding> {
        let mut out = std::mem::take(&mut self.first);
        if builder.part.metres.is_empty() {
            out.push(Finding::new(
                Severity::Caution,
                "no-metre",
                "no time signature was read; the commonest length of the bars was taken for the metre",
                "look at the beginning of the piece",
            ));
        }
        out.append(&mut self.bars);
        for (place, id) in &self.ties {
            let finding = Finding::new(
                Severity::Caution,
                "lone-tie",
                "a tie from this note leads to no note of the same pitch and was left out",
                "look whether it is a slur, or whether one of the two notes was read wrongly",
            );
            out.push(self.at(*place, finding).about(*id));
        }
        for mark in &self.left_out {
            let said = said::beside(mark.name);
            let what = format!(
                "something like {} was seen here, but {}: it was left out",
                with_article(&said),
                mark.why()
            );
            let (kind, advice) = if mark.name.starts_with('v') {
                (
                    "ending-left-out",
                    "look whether an ending is printed here".to_owned(),
                )
            } else {
                ("sign-left-out", format!("look whether a {said} is printed here"))
            };
            out.push(self.at(mark.place, Finding::new(Severity::Caution, kind, what, advice)));
        }
        for mark in &self.lone {
            let said = said::beside(mark.name);
            let what = format!("a {said} stands here, but {}", mark.why());
            let advice = "look for what belongs to it on the page; without it, nothing is played differently";
            out.push(self.at(
                mark.place,
                Finding::new(Severity::Caution, "lone-sign", what, advice),
            ));
        }
        for (place, what, no_start) in &self.open {
            let said = if *no_start {
                format!("{} ends here, and its beginning was not seen", with_article(what))
            } else {
                format!("{} begins here, and its end was not seen", with_article(what))
            };
            out.push(self.at(
                *place,
                Finding::new(
                    Severity::Caution,
                    "open-end",
                    said,
                    "look for its other end on the page",
                ),
            ));
        }
        if let Some(bar) = second_voice {
            let finding = Finding::new(
                Severity::Problem,
                "second-voice",
                "from here on there is a second voice on the staff in places; only the upper one was read",
                "write the lower voice in by hand if it matters",
            );
            out.push(finding.at_bar(bar, self.label(bar)));
        }
        self.signs.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        for (sure, place, id, what) in self.signs.iter().take(MOST_SIGNS) {
            let said = format!("the {what} here is doubtful ({})", percent(*sure));
            let mut finding = self.at(
                *place,
                Finding::new(Severity::Caution, "doubtful-sign", said, "look at it on the page"),
            );
            finding.element = *id;
            out.push(finding);
        }
        if self.signs.len() > MOST_SIGNS {
            out.push(Finding::new(
                Severity::Caution,
                "more-doubtful-signs",
                format!("{} more signs are doubtful", self.signs.len() - MOST_SIGNS),
                "a better scan helps more than mending so many",
            ));
        }
        out.append(&mut self.words);
        out
    }
}

/// `a hairpin`, `an ending bracket`.
fn with_article(what: &str) -> String {
    let article = if what.starts_with(['a', 'e', 'i', 'o', 'u']) {
        "an"
    } else {
        "a"
    };
    format!("{article} {what}")
}

/// `82 % sure`.
fn percent(sure: f32) -> String {
    format!("{:.0} % sure", f64::from(sure.clamp(0.0, 0.99)) * 100.0)
}
