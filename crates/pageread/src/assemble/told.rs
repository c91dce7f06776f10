//! What should the player be told? Clefs first, then what doesn't add up, then single signs, the most doubtful first.

use super::builder::Builder;
use super::lengths::{Length, Short};
use super::look::OneEnd;
use crate::signs::Beside;
use notation::{BarIndex, Clef, Event, Finding, Id, KeySignature, Metre, Place, Severity};

/// A sign less sure than this is told by itself.
const DOUBTFUL: f32 = 0.75;
/// A clef less sure than this is asked about.
const DOUBTFUL_CLEF: f32 = 0.97;
/// At most so many single signs are told; the rest is a number.
const MOST_SIGNS: usize = 60;

/// Doubts gathered on the way.
#[derive(Clone, Debug, Default)]
pub(super) struct Told {
    first: Vec<Finding>,
    bars: Vec<Finding>,
    open: Vec<(Place, &'static str, bool)>,
    ties: Vec<(Place, Id)>,
    signs: Vec<(f32, Place, Option<Id>, String)>,
    labels: Vec<(BarIndex, String)>,
    unfit: Vec<Place>,
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

    pub(super) fn unfit_ending(&mut self, place: Place) {
        self.unfit.push(place);
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
        });
        let open = self.open.iter().map(|(place, what, no_start)| OneEnd {
            place: *place,
            element: at(*place),
            what: if *no_start {
                format!("end of a {what} whose beginning was not seen")
            } else {
                format!("beginning of a {what} whose end was not seen")
            },
        });
        let unfit = self.unfit.iter().map(|place| OneEnd {
            place: *place,
            element: at(*place),
            what: "something like an ending bracket that was left out".to_owned(),
        });
        ties.chain(open).chain(unfit).collect()
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
        for place in &self.unfit {
            let finding = Finding::new(
                Severity::Caution,
                "ending-left-out",
                "something like an ending bracket was seen here, but no repeat and no other ending goes with it: it was left out",
                "look whether an ending is printed here",
            );
            out.push(self.at(*place, finding));
        }
        for (place, what, no_start) in &self.open {
            let said = if *no_start {
                format!("a {what} ends here, and its beginning was not seen")
            } else {
                format!("a {what} begins here, and its end was not seen")
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

/// `82 % sure`.
fn percent(sure: f32) -> String {
    format!("{:.0} % sure", f64::from(sure.clamp(0.0, 0.99)) * 100.0)
}
