//! What comes into force here? Divisions, keys, metres, clefs, transpositions, staves.

use super::part::PartReader;
use crate::report::Why;
use crate::xml::El;
use notation::{
    Change, Clef, ClefSign, IdKind, KeySignature, Metre, MetrePart, MetreSymbol, Rational, Severity, Step,
    Transposition,
};

impl PartReader<'_> {
    pub(super) fn attributes(&mut self, el: El<'_, '_>) {
        for child in el.children() {
            match child.name() {
                "divisions" => self.read_divisions(child),
                "key" => self.key(child),
                "time" => self.time(child),
                "staves" => self.part.staves = child.text().parse().unwrap_or(1).max(1),
                // Which part-symbol joins the staves, and the number of instruments: layout.
                "part-symbol" | "instruments" => {}
                "clef" => self.clef(child),
                "staff-details" => self.staff_details(child),
                "transpose" => self.transpose(child),
                "for-part" => {
                    self.score.piece.concert_pitch = true;
                    self.for_part(child);
                }
                "measure-style" => self.measure_style(child),
                // An instruction of the oldest MusicXML versions: words between attributes.
                "directive" => {
                    let text = child.raw_text().to_owned();
                    self.words_at(child, text);
                }
                "footnote" => self.footnote(child),
                "level" => self.unread("level", "attributes", Why::NoPlace),
                other => self.unread(other, "attributes", Why::Unknown),
            }
        }
    }

    fn read_divisions(&mut self, el: El<'_, '_>) {
        let most = Rational::whole(10_000_000);
        match Rational::parse(el.text()).filter(|d| d.is_positive() && *d <= most) {
            Some(divisions) => self.divisions = Some(divisions),
            None => {
                let shown: String = el.text().chars().take(30).collect();
                self.caution(
                    "divisions-unusable",
                    format!("a quarter note is to have “{shown}” divisions; that was ignored"),
                    "check the rhythm from here on against the page",
                );
            }
        }
    }

    /// The staff that a change is for; `None` for all.
    fn number(&mut self, el: El<'_, '_>) -> Option<u8> {
        let number = el.attr("number")?;
        match number.parse() {
            Ok(staff) if staff > 0 => Some(staff),
            _ => {
                self.caution(
                    "staff-unclear",
                    format!("a change is for staff “{number}”; it was taken for all staves"),
                    "",
                );
                None
            }
        }
    }

    fn change<T>(&mut self, el: El<'_, '_>, staff: Option<u8>, value: T) -> Change<T> {
        self.score.taken += 1;
        Change {
            id: self.id(IdKind::Change, el),
            place: self.place(),
            staff,
            value,
            printed: !el.no("print-object"),
        }
    }

    fn key(&mut self, el: El<'_, '_>) {
        let mut key = KeySignature::default();
        let mut step = None;
        for child in el.children() {
            match child.name() {
                "fifths" => {
                    key.fifths = child.text().parse().ok();
                    if key.fifths.is_none() {
                        self.caution(
                            "key-unclear",
                            format!("a key signature says “{}” fifths", child.text()),
                            "read the signature on the page",
                        );
                    }
                }
                "mode" => key.declared_mode = Some(child.text().to_owned()).filter(|mode| !mode.is_empty()),
                "key-step" => {
                    step = one_letter(child.text());
                    if step.is_none() {
                        self.caution(
                            "key-unclear",
                            format!("a key signature names the letter “{}”", child.text()),
                            "read the signature on the page",
                        );
                    }
                }
                "key-alter" => {
                    let alter = Rational::parse(child.text());
                    if let (Some(step), Some(alter)) = (step.take(), alter) {
                        key.listed.push((step, alter));
                    }
                }
                // Naturals that cancel, the shape of a listed accidental, and its octave: how it is drawn.
                "cancel" | "key-accidental" | "key-octave" => {}
                other => self.unread(other, "key", Why::Unknown),
            }
        }
        if key.fifths.is_none() && key.listed.is_empty() && el.child("fifths").is_some() {
            return;
        }
        let staff = self.number(el);
        let change = self.change(el, staff, key);
        self.part.keys.push(change);
    }

    fn time(&mut self, el: El<'_, '_>) {
        let mut metre = Metre {
            parts: Vec::new(),
            symbol: symbol(el.attr("symbol")),
        };
        let mut beats: Option<&str> = None;
        let mut clear = true;
        for child in el.children() {
            match child.name() {
                "beats" => beats = Some(child.text()),
                "beat-type" => {
                    let part = metre_part(beats.take().unwrap_or_default(), child.text());
                    clear &= part.is_some();
                    metre.parts.extend(part);
                }
                "senza-misura" => metre.symbol = MetreSymbol::Senza,
                "interchangeable" => self.interchangeable(child),
                other => self.unread(other, "time", Why::Unknown),
            }
        }
        if metre.symbol == MetreSymbol::Senza {
            metre.parts.clear();
        } else if !clear || metre.parts.is_empty() || beats.is_some() {
            let said: Vec<&str> = el.children().map(El::text).take(6).collect();
            self.caution(
                "metre-unclear",
                format!(
                    "the metre “{}” is not a fraction; it was left out",
                    said.join("/")
                ),
                "read the metre on the page",
            );
            return;
        }
        let staff = self.number(el);
        if staff.is_none_or(|staff| staff == 1) {
            let length = metre.length();
            if self.cursor.is_zero() {
                self.metre = length;
                self.next_metre = None;
            } else {
                self.next_metre = Some(length);
            }
        }
        let change = self.change(el, staff, metre);
        self.part.metres.push(change);
    }

    /// A second metre shown beside the first (3/4 (6/8)).
    fn interchangeable(&mut self, el: El<'_, '_>) {
        let fractions: Vec<String> = el
            .children()
            .filter(|child| child.name() == "beats")
            .zip(el.children().filter(|child| child.name() == "beat-type"))
            .map(|(beats, beat_type)| format!("{}/{}", beats.text(), beat_type.text()))
            .collect();
        self.add_sign(el, "interchangeable", fractions.join("+"), true);
    }

    fn clef(&mut self, el: El<'_, '_>) {
        let sign_text = el.child_text("sign").unwrap_or_default();
        let sign = match sign_text {
            "G" => ClefSign::G,
            "F" => ClefSign::F,
            "C" => ClefSign::C,
            "percussion" => ClefSign::Percussion,
            "TAB" => ClefSign::Tab,
            "jianpu" => ClefSign::Jianpu,
            "none" => ClefSign::None,
            other => {
                self.caution(
                    "clef-unclear",
                    format!("the clef “{other}” is not known; it was left out"),
                    "read the clef on the page",
                );
                return;
            }
        };
        // Source: MusicXML 4.0, <line>: default 2 for G, 4 for F, 3 for C, 5 for TAB.
        let usual = match sign {
            ClefSign::G => 2,
            ClefSign::F => 4,
            ClefSign::C => 3,
            ClefSign::Tab => 5,
            _ => 0,
        };
        let line = el
            .child_text("line")
            .and_then(|text| text.parse().ok())
            .unwrap_or(usual);
        let octave_change = el
            .child_text("clef-octave-change")
            .and_then(|text| text.parse().ok())
            .unwrap_or(0);
        for child in el.children() {
            if !matches!(child.name(), "sign" | "line" | "clef-octave-change") {
                self.unread(child.name(), "clef", Why::Unknown);
            }
        }
        let staff = self
            .number(el)
            .or(if self.part.staves > 1 { Some(1) } else { None });
        let change = self.change(
            el,
            staff,
            Clef {
                sign,
                line,
                octave_change,
            },
        );
        self.part.clefs.push(change);
    }

    fn staff_details(&mut self, el: El<'_, '_>) {
        let staff = self.number(el).unwrap_or(1);
        for child in el.children() {
            match child.name() {
                "staff-lines" => {
                    let lines: u8 = child.text().parse().unwrap_or(5);
                    self.part.staff_lines.retain(|(of, _)| *of != staff);
                    if lines != 5 {
                        self.part.staff_lines.push((staff, lines));
                    }
                }
                "staff-tuning" => {
                    let line = child.attr("line").unwrap_or_default();
                    let text = format!("{line}: {}", super::technical::tuning_text(child));
                    self.add_sign(child, "staff-tuning", text, false);
                }
                "capo" => self.add_sign(child, "capo", child.text().to_owned(), true),
                // How the staff is drawn.
                "staff-type" | "staff-size" | "line-detail" => {}
                other => self.unread(other, "staff-details", Why::Unknown),
            }
        }
    }

    /// What the player's part of a concert score will be. Source: MusicXML 4.0, `for-part`.
    fn for_part(&mut self, el: El<'_, '_>) {
        for child in el.children() {
            match child.name() {
                "part-transpose" if self.part.for_player.is_none() => {
                    self.part.for_player = self.transposition(child);
                }
                "part-transpose" | "part-clef" => self.unread(child.name(), "for-part", Why::NoPlace),
                other => self.unread(other, "for-part", Why::Unknown),
            }
        }
    }

    fn transpose(&mut self, el: El<'_, '_>) {
        let Some(transposition) = self.transposition(el) else {
            return;
        };
        let staff = self.number(el);
        let change = self.change(el, staff, transposition);
        self.part.transpositions.push(change);
    }

    fn transposition(&mut self, el: El<'_, '_>) -> Option<Transposition> {
        let chromatic_text = el.child_text("chromatic").unwrap_or("0");
        let chromatic = Rational::parse(chromatic_text).filter(|n| n.abs() <= Rational::whole(200));
        let Some(chromatic) = chromatic else {
            self.caution(
                "transposition-unclear",
                format!("a transposition by “{chromatic_text}” semitones was left out"),
                "tell which instrument the part is for",
            );
            return None;
        };
        let number = |name: &str| el.child_text(name).and_then(|text| text.parse::<i32>().ok());
        let octaves = number("octave-change").unwrap_or(0).clamp(-9, 9);
        let stated = number("diatonic").map(|n| n.clamp(-200, 200));
        let usual = steps_of(chromatic);
        let diatonic = match stated {
            Some(diatonic) if fits(diatonic, chromatic) => diatonic,
            Some(diatonic) => {
                self.caution(
                    "transposition-contradicts",
                    format!(
                        "the part is to sound {diatonic} letters but {chromatic} semitones from where it is written; {usual} letters were taken"
                    ),
                    "check the concert key",
                );
                usual
            }
            None => usual,
        };
        for child in el.children() {
            if !matches!(
                child.name(),
                "diatonic" | "chromatic" | "octave-change" | "double"
            ) {
                self.unread(child.name(), el.name(), Why::Unknown);
            }
        }
        if stated.is_none() && !chromatic.is_zero() {
            self.find(
                Severity::Note,
                "transposition-guessed",
                format!(
                    "the part sounds {chromatic} semitones from where it is written; by how many letters is not said, {usual} were taken"
                ),
                "",
            );
        }
        Some(Transposition {
            diatonic,
            chromatic,
            octaves,
            doubled: el.child("double").is_some(),
        })
    }
}

/// The letter of a step, upper case in the standard; lower case is let pass.
pub(super) fn one_letter(text: &str) -> Option<Step> {
    let mut chars = text.chars();
    let step = chars.next().and_then(Step::from_letter);
    if chars.next().is_none() { step } else { None }
}

fn symbol(text: Option<&str>) -> MetreSymbol {
    match text {
        Some("common") => MetreSymbol::Common,
        Some("cut") => MetreSymbol::Cut,
        Some("single-number") => MetreSymbol::SingleNumber,
        Some("note" | "dotted-note") => MetreSymbol::Note,
        _ => MetreSymbol::Numbers,
    }
}

fn metre_part(beats: &str, beat_type: &str) -> Option<MetrePart> {
    let groups: Option<Vec<u16>> = beats
        .split('+')
        .map(|group| group.trim().parse().ok().filter(|n| (1..=1_000).contains(n)))
        .collect();
    let beat_type = beat_type.parse().ok().filter(|n| (1..=1_024).contains(n))?;
    Some(MetrePart {
        groups: groups.filter(|groups| groups.len() <= 64)?,
        beat_type,
    })
}

/// Letters moved by the usual spelling of so many semitones (2 semitones are a step, 3 a minor third).
fn steps_of(chromatic: Rational) -> i32 {
    const STEPS: [i32; 12] = [0, 1, 1, 2, 2, 3, 3, 4, 5, 5, 6, 6];
    let semitones = i32::try_from(chromatic.abs().floor()).unwrap_or(0);
    let within = usize::try_from(semitones % 12).unwrap_or(0);
    let steps = STEPS[within] + 7 * (semitones / 12);
    if chromatic.is_negative() { -steps } else { steps }
}

/// True if an interval of so many letters can have so many semitones: at most doubly augmented or diminished.
fn fits(diatonic: i32, chromatic: Rational) -> bool {
    const MAJOR: [i32; 7] = [0, 2, 4, 5, 7, 9, 11];
    let usual = MAJOR[usize::try_from(diatonic.rem_euclid(7)).unwrap_or(0)] + 12 * diatonic.div_euclid(7);
    let away = (chromatic - Rational::whole(i64::from(usual))).abs();
    // Downwards the major scale counts from the other side: a minor second down is one letter, one semitone.
    away <= Rational::whole(2) && !(diatonic == 0 && chromatic.abs() > Rational::ONE)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: MusicXML 4.0 tutorial, transposing instruments: clarinet in B♭ −1/−2, in A −2/−3, horn in F −4/−7,
    /// alto saxophone −5/−9.
    #[test]
    fn letters_of_a_transposition() {
        for (chromatic, letters) in [
            (-2, -1),
            (-3, -2),
            (-7, -4),
            (-9, -5),
            (-14, -8),
            (3, 2),
            (0, 0),
            (12, 7),
        ] {
            assert_eq!(steps_of(Rational::whole(chromatic)), letters, "{chromatic}");
            assert!(fits(letters, Rational::whole(chromatic)), "{chromatic}");
        }
        assert!(!fits(0, Rational::whole(-2)));
        assert!(!fits(3, Rational::whole(-2)));
    }

    #[test]
    fn metres_in_numbers() {
        assert_eq!(metre_part("3 + 2", "8").map(|part| part.groups), Some(vec![3, 2]));
        assert_eq!(metre_part("0", "4"), None);
        assert_eq!(metre_part("3", "0"), None);
        assert_eq!(metre_part("2½", "4"), None);
    }
}
