//! What does one note head say? Its pitch, its printed accidental, its shape; the syllables under the note.

use super::note::Fields;
use super::part::PartReader;
use crate::report::Why;
use crate::xml::El;
use notation::{Event, Head, HeadNote, IdKind, Lyric, Origin, Pitch, PrintedAccidental, Rational, Step};

impl PartReader<'_> {
    pub(super) fn head(&mut self, el: El<'_, '_>, fields: &Fields<'_, '_>) -> Head {
        let note = match fields.what {
            Some(what) if what.name() == "pitch" => self.pitch(what),
            Some(what) => HeadNote::Unpitched(self.display_pitch(what)),
            None => HeadNote::Unpitched(None),
        };
        let accidental = fields.accidental.map(|el| self.accidental(el, note));
        let id = self.score.piece.ids.give(IdKind::Head);
        if let Some(foreign) = el.attr("id") {
            let origin = Origin {
                foreign_id: Some(foreign.to_owned()),
                range: Some(el.range()),
                ..Origin::default()
            };
            self.score.piece.provenance.origins.insert(id, origin);
        }
        let notehead = fields.notehead;
        Head {
            id,
            note,
            staff: fields.staff.unwrap_or(1),
            accidental,
            tie_start: fields.tie_start,
            tie_stop: fields.tie_stop,
            let_ring: fields.let_ring,
            technical: Vec::new(),
            shape: notehead
                .map(El::text)
                .filter(|shape| !matches!(*shape, "normal" | ""))
                .map(str::to_owned),
            parentheses: notehead.is_some_and(|el| el.yes("parentheses")),
        }
    }

    fn pitch(&mut self, el: El<'_, '_>) -> HeadNote {
        let mut step: Option<Step> = None;
        let mut octave: Option<i8> = None;
        let mut alter = Rational::ZERO;
        for child in el.children() {
            match child.name() {
                "step" => step = super::attributes::one_letter(child.text()),
                "octave" => {
                    octave = child
                        .text()
                        .parse()
                        .ok()
                        .filter(|octave| (-1..=10).contains(octave))
                }
                "alter" => {
                    match Rational::parse(child.text()).filter(|alter| alter.abs() <= Rational::whole(12)) {
                        Some(value) => alter = value,
                        None => {
                            let shown: String = child.text().chars().take(30).collect();
                            self.caution(
                                "pitch-unclear",
                                format!("a note is altered by “{shown}”; that was ignored"),
                                "check its accidental on the page",
                            );
                        }
                    }
                }
                other => self.unread(other, "pitch", Why::Unknown),
            }
        }
        if let (Some(step), Some(octave)) = (step, octave) {
            return HeadNote::Pitch(Pitch { step, alter, octave });
        }
        let shown: Vec<String> = el
            .children()
            .map(|child| child.text().chars().take(10).collect())
            .collect();
        self.caution(
            "pitch-unclear",
            format!(
                "the pitch “{}” is none; the note was kept without one",
                shown.join(" ")
            ),
            "check this note against the page",
        );
        HeadNote::Unpitched(None)
    }

    fn display_pitch(&mut self, el: El<'_, '_>) -> Option<Pitch> {
        let step = el
            .child_text("display-step")
            .and_then(super::attributes::one_letter)?;
        let octave = el
            .child_text("display-octave")
            .and_then(|text| text.parse().ok())?;
        Some(Pitch {
            step,
            alter: Rational::ZERO,
            octave,
        })
    }

    fn accidental(&mut self, el: El<'_, '_>, note: HeadNote) -> PrintedAccidental {
        let sign = el.text();
        let alter = alter_of(sign);
        if let (Some(printed), HeadNote::Pitch(pitch)) = (alter, note)
            && printed != pitch.alter
        {
            self.caution(
                "accidental-contradicts",
                format!("a {sign} is printed before {pitch}, which it cannot make; the pitch was kept"),
                "check this note's accidental on the page",
            );
        }
        PrintedAccidental {
            sign: sign.chars().take(40).collect(),
            alter,
            cautionary: el.yes("cautionary"),
            editorial: el.yes("editorial"),
            parentheses: el.yes("parentheses") || el.yes("bracket"),
        }
    }

    pub(super) fn lyrics(&mut self, el: El<'_, '_>, event: &mut Event) {
        for lyric in el.children().filter(|child| child.name() == "lyric") {
            let line = lyric
                .attr("number")
                .or(lyric.attr("name"))
                .unwrap_or("1")
                .to_owned();
            let mut said = Lyric {
                line,
                text: String::new(),
                syllabic: String::new(),
                extend: false,
            };
            for child in lyric.children() {
                match child.name() {
                    "syllabic" => said.syllabic = child.text().to_owned(),
                    "text" => said.text.push_str(child.raw_text()),
                    // Two syllables on one note.
                    "elision" => said.text.push_str(if child.text().is_empty() {
                        "‿"
                    } else {
                        child.raw_text()
                    }),
                    "extend" => said.extend = true,
                    "laughing" | "humming" => said.text.push_str(&format!("[{}]", child.name())),
                    "footnote" => self.footnote(child),
                    // Line and paragraph ends of the poem, and editorial levels.
                    "end-line" | "end-paragraph" | "level" => {}
                    other => self.unread(other, "lyric", Why::Unknown),
                }
            }
            self.score.taken += 1;
            event.lyrics.push(said);
        }
    }
}

/// The alteration that a printed sign makes, for the signs whose meaning is fixed.
/// Source: MusicXML 4.0, accidental-value.
fn alter_of(sign: &str) -> Option<Rational> {
    let half = |n| Some(Rational::new(n, 2));
    match sign {
        "sharp" | "natural-sharp" => half(2),
        "natural" => half(0),
        "flat" | "natural-flat" => half(-2),
        "double-sharp" | "sharp-sharp" => half(4),
        "flat-flat" | "double-flat" => half(-4),
        "quarter-flat" => half(-1),
        "quarter-sharp" => half(1),
        "three-quarters-flat" => half(-3),
        "three-quarters-sharp" => half(3),
        "triple-sharp" => half(6),
        "triple-flat" => half(-6),
        _ => None,
    }
}
